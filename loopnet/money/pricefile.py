"""Reading a price book from TOML: the shipped one, and a user's own laid over it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import fields, replace
from difflib import get_close_matches
from functools import lru_cache
from importlib.resources import files
from os import PathLike
from pathlib import Path
from typing import Any

from loopnet.errors import DataError, LoopnetError, ParameterError
from loopnet.money.book import PriceBook
from loopnet.money.prices import UNITS, Price

__all__ = ["price_book"]

_FIELDS = {item.name for item in fields(Price)} - {"key"}
_HEADS = ("book", "index", "exchange")
_SHORT = re.compile(r"\s*([-+0-9.eE]+)\s+(\S+)\s*")


@lru_cache(maxsize=1)
def _shipped() -> PriceBook:
    name = "prices.toml"
    data = _parse((files("loopnet") / "data" / name).read_bytes(), name)
    head = data["book"]
    prices = {key: _price(key, entry, name) for key, entry in _entries(data, name)}
    return PriceBook(prices=prices, money_year=head["money_year"], indices=_tables(data, "index", name),
                     exchange=_tables(data, "exchange", name), title=head["title"])


def price_book(path: str | PathLike[str] | None = None, *, money_year: int | None = None) -> PriceBook:
    """The shipped price book, with a user's own file laid over it.

    A user's file is TOML and holds only what differs, either as text (``collector.trough = "120 USD/m2"``) or as a
    table with any fields of `Price`; a value always comes with its unit. A price given without a year is in the book's
    money. A key that the shipped book does not have is refused, so that a misspelt one is not silently ignored; an
    entry that is meant to be new says ``new = true`` and gives all of value, unit, year, status and source. Tables
    ``index.NAME`` and ``exchange.CURRENCY`` add years, ``book.money_year`` sets the year of the money.

    Parameters
    ----------
    path : path or None
        The user's file.
    money_year : int or None
        Year whose money costs are given in [year]; the file's or the shipped book's if None.

    Returns
    -------
    PriceBook
        The prices.

    Raises
    ------
    DataError
        If the file cannot be read, is not TOML, or an entry has no value or no unit.
    ParameterError
        If a key or field is unknown or a price is out of range.

    Examples
    --------
    >>> price_book()["medium.diphenyl_oil"]
    <Price medium.diphenyl_oil: 3.96 USD/kg (2.5 to 5), 2003, from memory>
    """
    book = _shipped()
    if path is not None:
        book = _laid_over(book, Path(path))
    return book if money_year is None else replace(book, money_year=money_year)


def _laid_over(book: PriceBook, path: Path) -> PriceBook:
    try:
        raw = path.read_bytes()
    except OSError as why:
        raise DataError(f"cannot read the price file ({why.strerror})", where=str(path), got="no readable file",
                        allowed="a TOML file of prices", hint="check the path") from None
    data, name = _parse(raw, str(path)), str(path)
    prices = dict(book.prices)
    for key, entry in _entries(data, name):
        prices[key] = _changed(book, key, dict(entry), name)
    head = data.get("book", {})
    year = head.get("money_year", book.money_year) if isinstance(head, dict) else head
    if not isinstance(year, int) or isinstance(year, bool):
        raise DataError("not a year", where=f"{name}: book.money_year", got=repr(year), allowed="a year such as 2023",
                        hint="[book] and below it money_year = 2023")
    index = _merged(book.indices, _tables(data, "index", name))
    exchange = _merged(book.exchange, _tables(data, "exchange", name))
    title = f"{book.title} with {path.name}"
    try:
        return PriceBook(prices=prices, money_year=year, indices=index, exchange=exchange, title=title)
    except LoopnetError as why:
        raise _placed(why, name) from None


def _changed(book: PriceBook, key: str, entry: dict[str, Any], name: str) -> Price:
    new = entry.pop("new", False)
    if key not in book:
        if new:
            return _price(key, entry, name)
        near = get_close_matches(key, list(book), n=3, cutoff=0.5)
        raise ParameterError("no such price in the shipped book", where=f"{name}: {key}", got=repr(key),
                             allowed="a key of the shipped book, or an entry with new = true",
                             hint=" or ".join(near) if near else "new = true, with value, unit, year, status, source")
    old = book[key]
    entry.setdefault("status", "user")
    entry.setdefault("source", f"user's file {Path(name).name}")
    if "value" in entry:
        unit = _need(entry, "unit", key, name)
        same = isinstance(unit, str) and _dimension(unit) == _dimension(old.unit) is not None
        if not same:
            usual = f"USD/{old.unit.partition('/')[2]}"
            raise ParameterError("a price per something else than in the shipped book", where=f"{name}: {key}.unit",
                                 got=repr(unit), allowed=f"{usual} or another unit of the same kind",
                                 hint=f'unit = "{usual}"')
        currency = unit.partition("/")[0]
        per = UNITS[unit.partition("/")[2].removesuffix("/y")][1] / UNITS[old.quantity_unit][1]
        sizes = {n: v / per for n in ("reference", "smallest", "largest") if (v := getattr(old, n)) is not None}
        # the user's money is the book's own unless they give a year; the old range does not speak of their price
        kept = {"year": book.money_year, "index": None if "year" not in entry else old.index, "currency": currency,
                "exponent": old.exponent, "life": old.life, "doc": old.doc,
                **(sizes if old.exponent != 1.0 else {})}
        return _price(key, {**kept, **entry}, name)
    kept = {n: getattr(old, n) for n in _FIELDS}
    return _price(key, {**kept, **entry}, name)


def _dimension(unit: str) -> tuple[str, bool] | None:
    per = unit.partition("/")[2]
    known = UNITS.get(per.removesuffix("/y"))
    return None if known is None else (known[0], per.endswith("/y"))


def _price(key: str, entry: dict[str, Any], name: str) -> Price:
    unknown = sorted(set(entry) - _FIELDS)
    if unknown:
        near = get_close_matches(unknown[0], list(_FIELDS), n=2, cutoff=0.5)
        raise ParameterError("a price has no such field", where=f"{name}: {key}", got=", ".join(unknown),
                             allowed=", ".join(sorted(_FIELDS)), hint=" or ".join(near) if near else "leave it out")
    for wanted in ("value", "unit", "year", "status", "source"):
        _need(entry, wanted, key, name)
    try:
        return Price(key=key, **entry)
    except LoopnetError as why:
        raise _placed(why, name) from None


def _need(entry: dict[str, Any], wanted: str, key: str, name: str) -> Any:
    if wanted not in entry:
        example = {"unit": '"USD/m2"', "value": "12.5", "year": "2023", "status": '"assumption"'}.get(wanted, '"..."')
        raise DataError(f"an entry without {wanted}", where=f"{name}: {key}", got=", ".join(sorted(entry)) or "nothing",
                        allowed=f"{wanted} = {example}", hint=f"add {wanted} = {example}")
    return entry[wanted]


def _placed(why: LoopnetError, name: str) -> LoopnetError:
    return type(why)(why.what, where=f"{name}: {why.where}", got=why.got, allowed=why.allowed, hint=why.hint)


def _parse(raw: bytes, name: str) -> dict[str, Any]:
    try:
        return tomllib.loads(raw.decode("utf-8-sig"))
    except UnicodeDecodeError as why:
        raise DataError("the price file is not UTF-8 text", where=name, got=f"byte {raw[why.start]:#x} at {why.start}",
                        allowed="UTF-8 text", hint="save the file as UTF-8") from None
    except tomllib.TOMLDecodeError as why:
        raise DataError("the price file is not valid TOML", where=name, got=str(why), allowed="TOML",
                        hint='a line such as collector.trough = "120 USD/m2"') from None


def _entries(data: dict[str, Any], name: str) -> Iterator[tuple[str, dict[str, Any]]]:
    def walk(node: dict[str, Any], path: tuple[str, ...]) -> Iterator[tuple[str, dict[str, Any]]]:
        for word, inner in node.items():
            if not path and word in _HEADS:
                continue
            key = ".".join((*path, word))
            if isinstance(inner, str):
                yield key, _short(inner, key, name)
            elif not isinstance(inner, dict):
                raise DataError("a bare number has no unit", where=f"{name}: {key}", got=repr(inner),
                                allowed="text with a unit, or a table", hint=f'{key} = "{inner} USD/m2"')
            elif not inner:
                raise DataError("an empty entry", where=f"{name}: {key}", got="nothing", allowed="fields of a price",
                                hint=f'{key} = "120 USD/m2", or leave it out')
            elif any(k in _FIELDS and not isinstance(v, dict) for k, v in inner.items()):
                yield key, inner
            else:
                yield from walk(inner, (*path, word))
    yield from walk(data, ())


def _short(text: str, key: str, name: str) -> dict[str, Any]:
    match = _SHORT.fullmatch(text)
    try:
        if match:
            return {"value": float(match[1]), "unit": match[2]}
    except ValueError:
        pass
    raise DataError("cannot read this as a price", where=f"{name}: {key}", got=repr(text),
                    allowed='a number and a unit, such as "120 USD/m2"', hint=f'{key} = "120 USD/m2"')


def _tables(data: dict[str, Any], head: str, name: str) -> dict[str, dict[int, float]]:
    out: dict[str, dict[int, float]] = {}
    for table, years in data.get(head, {}).items():
        values = {k: v for k, v in years.items() if k != "source"} if isinstance(years, dict) else {"": years}
        for year, value in values.items():
            if not year.isdecimal() or isinstance(value, bool) or not isinstance(value, (int, float)) or value <= 0:
                raise DataError("not a year with a positive number", where=f"{name}: {head}.{table}",
                                got=f"{year} = {value!r}", allowed="lines such as 2023 = 797.9",
                                hint="correct this line")
        out[table] = {int(year): float(value) for year, value in values.items()}
    return out


def _merged(old: Any, new: dict[str, dict[int, float]]) -> dict[str, dict[int, float]]:
    return {name: {**old.get(name, {}), **new.get(name, {})} for name in {**old, **new}}
