"""The catalogue: collectors and receivers by name, from TOML files in which every figure says where it comes from."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from difflib import get_close_matches
from functools import lru_cache
from importlib import import_module
from importlib.resources import files
from types import MappingProxyType
from typing import Any, get_type_hints

from components.collector import Collector
from components.receiver import Receiver
from loopnet.errors import DataError, LoopnetError, ParameterError
from loopnet.params import Parameters

__all__ = ["STATUSES", "Entry", "Figure", "collector", "collectors", "entry", "receiver", "receivers"]

STATUSES = ("seen", "second-hand", "from memory", "common practice", "assumption", "computed")
"""How well a figure is known; the words of the price book, and "computed" for what follows from other figures."""


@dataclass(frozen=True)
class Figure:
    """One number of the catalogue: its name within the entry, its value as written, status and source."""

    name: str
    value: Any
    status: str
    source: str


@dataclass(frozen=True)
class Entry:
    """One collector or receiver of the catalogue, made, with its figures.

    >>> entry("receiver", "evacuated_tube")
    <Entry evacuated_tube: TubeLoss, 3 figures>
    """

    name: str
    title: str
    made: Any
    figures: tuple[Figure, ...]

    def to_frame(self) -> Any:
        """A DataFrame with a row per figure: name, value, status, source."""
        import pandas as pd

        return pd.DataFrame([vars(figure) for figure in self.figures])

    def __repr__(self) -> str:
        return f"<Entry {self.name}: {type(self.made).__name__}, {len(self.figures)} figures>"

    def _repr_html_(self) -> str:
        from html import escape

        return f"<p><b>{escape(self.name)}</b>: {escape(self.title)}</p>{self.to_frame().to_html(index=False)}"


def collectors() -> tuple[str, ...]:
    """Names of the collectors in the catalogue.

    >>> "trough" in collectors()
    True
    """
    return tuple(_read("collector"))


def receivers() -> tuple[str, ...]:
    """Names of the receivers in the catalogue.

    >>> "salt_tower" in receivers()
    True
    """
    return tuple(_read("receiver"))


def collector(name: str, **changes: Any) -> Collector:
    """A collector of the catalogue.

    Parameters
    ----------
    name : str
        One of `collectors`.
    **changes
        Fields of `Collector` that shall be other than there.

    Returns
    -------
    Collector
        The collector.

    Raises
    ------
    ParameterError
        If there is no such collector or field, or a value is out of range.

    Examples
    --------
    >>> round(collector("trough").efficiency(), 2), round(collector("trough", reflectance=0.88).efficiency(), 2)
    (0.75, 0.7)
    """
    made: Collector = _changed(entry("collector", name).made, name, changes)
    return made


def receiver(name: str, **changes: Any) -> Receiver:
    """A receiver of the catalogue.

    Parameters
    ----------
    name : str
        One of `receivers`.
    **changes
        Fields of its class that shall be other than there.

    Returns
    -------
    Receiver
        The receiver.

    Raises
    ------
    ParameterError
        If there is no such receiver or field, or a value is out of range.

    Examples
    --------
    >>> print(round(float(receiver("evacuated_tube")(673.15, 298.15)), 1))
    37.9
    """
    made: Receiver = _changed(entry("receiver", name).made, name, changes)
    return made


def entry(kind: str, name: str) -> Entry:
    """A collector or receiver with the source and status of its figures.

    Parameters
    ----------
    kind : str
        ``"collector"`` or ``"receiver"``.
    name : str
        Its name.

    Returns
    -------
    Entry
        With the object made and its figures.

    Raises
    ------
    ParameterError
        If there is none of that name.
    DataError
        If its entry is not sound.

    Examples
    --------
    >>> [figure.status for figure in entry("collector", "light_trough").figures if figure.name == "reflectance"]
    ['assumption']
    """
    table = _read(kind)
    if name not in table:
        near = get_close_matches(str(name), list(table), n=3, cutoff=0.5)
        raise ParameterError(f"no such {kind}", where=f"{kind}()", got=repr(name), allowed=", ".join(table),
                             hint=" or ".join(near) if near else "one of the allowed names")
    return _entry(kind, name)


def _changed(made: Any, name: str, changes: Mapping[str, Any]) -> Any:
    known = [item.name for item in fields(made)]
    for word in changes:
        if word not in known:
            near = get_close_matches(word, known, n=2, cutoff=0.5)
            raise ParameterError(f"{type(made).__name__} has no such parameter", where=name, got=repr(word),
                                 allowed=", ".join(known), hint=" or ".join(near) if near else "leave it out")
    return replace(made, **changes) if changes else made


# -- reading -----------------------------------------------------------------------------------------------------------


@lru_cache(maxsize=2)
def _read(kind: str) -> Mapping[str, Any]:
    raw = (files("components") / "data" / f"{kind}s.toml").read_text(encoding="utf-8")
    return MappingProxyType(tomllib.loads(raw))


@lru_cache(maxsize=256)
def _entry(kind: str, name: str) -> Entry:
    table, where = dict(_read(kind)[name]), f"{kind}s.toml: {name}"
    title = str(table.pop("title"))
    base: type[Parameters] = Collector if kind == "collector" else Receiver
    made = _make({"class": "collector.Collector", **table} if kind == "collector" else table, base, where)
    return Entry(name, title, made, tuple(_figures(table)))


def _make(table: Mapping[str, Any], base: type[Parameters], where: str) -> Any:
    """An object of the class that a table names, from its figures and inner tables."""
    kind = _class(table, base, where)
    hints = get_type_hints(kind)
    given = {word: _value(value, hints.get(word), f"{where}.{word}") for word, value in table.items()
             if word != "class"}
    try:
        return kind(**given)
    except TypeError as why:
        raise DataError(f"does not fit its class ({why})", where=where, got=", ".join(given),
                        allowed=", ".join(item.name for item in fields(kind)), hint="the fields of the class") from None
    except LoopnetError as why:
        raise type(why)(why.what, where=f"{where}: {why.where}", got=why.got, allowed=why.allowed,
                        hint=why.hint) from None


def _value(value: Any, hint: Any, where: str) -> Any:
    """What a word of a table stands for: a choice, a figure, or the object of an inner table, of its field's kind."""
    if _plain(value):
        return value
    if isinstance(value, dict) and "class" in value:
        return _make(value, hint if isinstance(hint, type) and issubclass(hint, Parameters) else Parameters, where)
    figure = _figure(value, where).value
    return tuple(figure) if isinstance(figure, list) else figure


def _class(table: Mapping[str, Any], base: type[Parameters], where: str) -> type[Any]:
    path = str(table.get("class", ""))
    module, _, word = path.rpartition(".")
    found = None
    if module.isidentifier() and word.isidentifier():
        try:
            found = getattr(import_module(f"components.{module}"), word, None)
        except ModuleNotFoundError:
            found = None
    if not (isinstance(found, type) and issubclass(found, base)):
        raise DataError("names no class", where=f"{where}.class", got=repr(path),
                        allowed=f"module.Class of a {base.__name__}", hint='class = "tracking.OneAxis"')
    return found


def _plain(value: Any) -> bool:
    """Whether a value is a word or a choice, which needs no source."""
    return isinstance(value, (str, bool))


def _figure(table: Any, where: str) -> Figure:
    """A number with its source; the numbers of a table are one figure."""
    if not isinstance(table, dict):
        raise DataError("a figure without status and source", where=where, got=repr(table),
                        allowed='{ value = ..., status = "...", source = "..." }', hint="add status and source")
    for word in ("value", "status", "source"):
        if not str(table.get(word, "")).strip():
            raise DataError(f"a figure without {word}", where=where, got=", ".join(table), allowed=f'{word} = "..."',
                            hint=f"add {word}" if word != "value" else "add value, or class for an inner table")
    if table["status"] not in STATUSES:
        raise DataError("not a known status", where=where, got=repr(table["status"]), allowed=", ".join(STATUSES),
                        hint="one of these words")
    return Figure(where.rpartition(".")[2], table["value"], table["status"], table["source"])


def _figures(table: Mapping[str, Any], prefix: str = "") -> Iterator[Figure]:
    for word, value in table.items():
        if _plain(value):
            continue
        if "class" in value:
            yield from _figures(value, f"{prefix}{word}.")
        else:
            yield replace(_figure(value, word), name=prefix + word)
