"""One price from one TOML entry: what must be there, what may, and what is said when it is wrong."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import fields
from difflib import get_close_matches
from typing import Any

from loopnet.errors import DataError, LoopnetError, ParameterError
from loopnet.money.prices import Price

__all__ = ["FIELDS", "need", "parse", "placed", "price_of", "refuse_unknown", "short", "walk"]

FIELDS = {item.name for item in fields(Price)} - {"key"}
"""Fields that an entry may have."""
_SHORT = re.compile(r"\s*([-+0-9.eE]+)\s+(\S+)\s*")


def parse(raw: bytes, name: str) -> dict[str, Any]:
    """The tables of a TOML file; refused by name where it is not one."""
    try:
        return tomllib.loads(raw.decode("utf-8-sig"))
    except UnicodeDecodeError as why:
        raise DataError("the price file is not UTF-8 text", where=name, got=f"byte {raw[why.start]:#x} at {why.start}",
                        allowed="UTF-8 text", hint="save the file as UTF-8") from None
    except tomllib.TOMLDecodeError as why:
        raise DataError("the price file is not valid TOML", where=name, got=str(why), allowed="TOML",
                        hint='a line such as collector.trough = "120 USD/m2"') from None


def walk(data: Mapping[str, Any], name: str, skip: tuple[str, ...] = ()) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every price entry of nested tables with its dotted key; tables named in `skip` at the top are left out."""

    def down(node: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[tuple[str, dict[str, Any]]]:
        for word, inner in node.items():
            if not path and word in skip:
                continue
            key = ".".join((*path, word))
            if isinstance(inner, str):
                yield key, short(inner, key, name)
            elif not isinstance(inner, Mapping):
                raise DataError("a bare number has no unit", where=f"{name}: {key}", got=repr(inner),
                                allowed="text with a unit, or a table", hint=f'{key} = "{inner} USD/m2"')
            elif not inner:
                raise DataError("an empty entry", where=f"{name}: {key}", got="nothing", allowed="fields of a price",
                                hint=f'{key} = "120 USD/m2", or leave it out')
            elif any(k in FIELDS and not isinstance(v, Mapping) for k, v in inner.items()):
                yield key, dict(inner)
            else:
                yield from down(inner, (*path, word))

    yield from down(data, ())


def short(text: str, key: str, name: str) -> dict[str, Any]:
    """Fields of a price written as one text, ``"120 USD/m2"``."""
    match = _SHORT.fullmatch(text)
    try:
        if match:
            return {"value": float(match[1]), "unit": match[2]}
    except ValueError:
        pass
    raise DataError("cannot read this as a price", where=f"{name}: {key}", got=repr(text),
                    allowed='a number and a unit, such as "120 USD/m2"', hint=f'{key} = "120 USD/m2"')


def price_of(key: str, entry: Mapping[str, Any], name: str) -> Price:
    """The price that an entry describes in full."""
    refuse_unknown(entry, FIELDS, f"{name}: {key}", "a price has no such field")
    for wanted in ("value", "unit", "year", "status", "source"):
        need(entry, wanted, key, name)
    try:
        return Price(key=key, **entry)
    except LoopnetError as why:
        raise placed(why, name) from None


def refuse_unknown(entry: Mapping[str, Any], known: set[str], where: str, what: str) -> None:
    """Refuse words that mean nothing, with those they may have been meant for."""
    unknown = sorted(set(entry) - known)
    if unknown:
        near = get_close_matches(unknown[0], sorted(known), n=2, cutoff=0.5)
        raise ParameterError(what, where=where, got=", ".join(unknown), allowed=", ".join(sorted(known)),
                             hint=" or ".join(near) if near else "leave it out")


def need(entry: Mapping[str, Any], wanted: str, key: str, name: str) -> Any:
    """A field that must be there."""
    if wanted not in entry:
        example = {"unit": '"USD/m2"', "value": "12.5", "year": "2023", "status": '"assumption"'}.get(wanted, '"..."')
        raise DataError(f"an entry without {wanted}", where=f"{name}: {key}", got=", ".join(sorted(entry)) or "nothing",
                        allowed=f"{wanted} = {example}", hint=f"add {wanted} = {example}")
    return entry[wanted]


def placed(why: LoopnetError, name: str) -> LoopnetError:
    """The same error, with the file it arose in."""
    return type(why)(why.what, where=f"{name}: {why.where}", got=why.got, allowed=why.allowed, hint=why.hint)
