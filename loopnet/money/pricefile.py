"""Reading a price book: the shipped one, a user's own file laid over it, and single prices given in Python."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from difflib import get_close_matches
from functools import lru_cache
from importlib.resources import files
from os import PathLike
from pathlib import Path
from typing import Any

from loopnet.errors import DataError, LoopnetError, ParameterError
from loopnet.money.book import PriceBook
from loopnet.money.entry import FIELDS, need, parse, placed, price_of, refuse_unknown, walk
from loopnet.money.prices import UNITS, Price

__all__ = ["price_book"]

_HEADS = ("book", "index", "exchange")


@lru_cache(maxsize=1)
def _shipped() -> PriceBook:
    name = "prices.toml"
    data = parse((files("loopnet") / "data" / name).read_bytes(), name)
    head = data["book"]
    prices = {key: price_of(key, entry, name) for key, entry in walk(data, name, _HEADS)}
    return PriceBook(prices=prices, money_year=head["money_year"], indices=_tables(data, "index", name),
                     exchange=_tables(data, "exchange", name), title=f"{head['title']} {head['version']}",
                     version=head["version"])


def price_book(path: str | PathLike[str] | None = None, *, prices: Mapping[str, Any] | None = None,
               money_year: int | None = None) -> PriceBook:
    """The shipped price book, with a user's own prices laid over it.

    A user's file is TOML and holds only what differs, either as text (``collector.trough = "120 USD/m2"``) or as a
    table with any fields of `Price`; a value always comes with its unit. A price given without a year is in the book's
    money. A key that the shipped book does not have is refused, so that a misspelt one is not silently ignored; an
    entry that is meant to be new says ``new = true`` and gives all of value, unit, year, status and source. Tables
    ``index.NAME`` and ``exchange.CURRENCY`` add years. In the table ``book``, ``money_year`` sets the year of the
    money, ``version`` names the version of the shipped book the file was written beside, and ``materials`` names bills
    of materials (paths beside the file) whose sums become prices.

    Parameters
    ----------
    path : path or None
        The user's file.
    prices : mapping or None
        Single prices by key, written as in a file; they lie over those of the file.
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
    >>> price_book(prices={"collector.drive": "3 USD/m2"}).usd("collector.drive")
    3.0
    """
    book = _shipped()
    if path is not None:
        book = _with_file(book, Path(path))
    if prices is not None:
        book = _laid_over(book, prices, "prices", "given in Python")
    return book if money_year is None else replace(book, money_year=money_year)


def _with_file(book: PriceBook, path: Path) -> PriceBook:
    try:
        raw = path.read_bytes()
    except OSError as why:
        raise DataError(f"cannot read the price file ({why.strerror})", where=str(path), got="no readable file",
                        allowed="a TOML file of prices", hint="check the path") from None
    name = str(path)
    data = parse(raw, name)
    head = data.get("book", {})
    if not isinstance(head, dict):
        raise DataError("not a table", where=f"{name}: book", got=repr(head), allowed="[book] and lines below it",
                        hint="[book] and below it money_year = 2023")
    refuse_unknown(head, {"money_year", "title", "version", "materials"}, f"{name}: book", "the book has no such entry")
    year, version = _whole(head, "money_year", book.money_year, name), _whole(head, "version", book.version, name)
    notes = book.notes if version == book.version else (
        *book.notes, f"{path.name} was written beside version {version} of the price book; this is version "
                     f"{book.version}: see what changed in what it does not set")
    book = replace(book, notes=notes, title=f"{book.title} with {path.name}")
    book = _laid_over(book, data, name, f"user's file {path.name}", year)
    materials = head.get("materials", [])
    for item in [materials] if isinstance(materials, str) else materials:
        from loopnet.money.materialfile import bill_of_materials  # it reads its prices as this module does

        book = bill_of_materials(path.parent / item).into(book)
    return book


def _laid_over(book: PriceBook, data: Mapping[str, Any], name: str, source: str, year: int | None = None) -> PriceBook:
    prices = dict(book.prices)
    for key, entry in walk(data, name, _HEADS):
        prices[key] = _changed(book, key, entry, name, source)
    try:
        return replace(book, prices=prices, money_year=book.money_year if year is None else year,
                       indices=_merged(book.indices, _tables(data, "index", name)),
                       exchange=_merged(book.exchange, _tables(data, "exchange", name)))
    except LoopnetError as why:
        raise placed(why, name) from None


def _whole(head: dict[str, Any], word: str, usual: int, name: str) -> int:
    number = head.get(word, usual)
    if not isinstance(number, int) or isinstance(number, bool):
        raise DataError("not a year" if word == "money_year" else "not a version", where=f"{name}: book.{word}",
                        got=repr(number), allowed=f"a whole number such as {usual}",
                        hint=f"[book] and below it {word} = {usual}")
    return number


def _changed(book: PriceBook, key: str, entry: dict[str, Any], name: str, source: str) -> Price:
    new = entry.pop("new", False)
    if key not in book:
        if new:
            return price_of(key, entry, name)
        near = get_close_matches(key, list(book), n=3, cutoff=0.5)
        raise ParameterError("no such price in the shipped book", where=f"{name}: {key}", got=repr(key),
                             allowed="a key of the shipped book, or an entry with new = true",
                             hint=" or ".join(near) if near else "new = true, with value, unit, year, status, source")
    old = book[key]
    entry = {"status": "user", "source": source, **entry}
    if "value" not in entry:
        return price_of(key, {**{n: getattr(old, n) for n in FIELDS}, **entry}, name)
    unit = need(entry, "unit", key, name)
    if not isinstance(unit, str) or not _dimension(unit) == _dimension(old.unit) is not None:
        usual = f"USD/{old.unit.partition('/')[2]}"
        raise ParameterError("a price per something else than in the shipped book", where=f"{name}: {key}.unit",
                             got=repr(unit), allowed=f"{usual} or another unit of the same kind",
                             hint=f'unit = "{usual}"')
    currency = unit.partition("/")[0]
    per = UNITS[unit.partition("/")[2].removesuffix("/y")][1] / UNITS[old.quantity_unit][1]
    sizes = {n: v / per for n in ("reference", "smallest", "largest") if (v := getattr(old, n)) is not None}
    # the user's money is the book's own unless they give a year; the old range does not speak of their price
    kept = {"year": book.money_year, "index": None if "year" not in entry else old.index, "currency": currency,
            "exponent": old.exponent, "life": old.life, "renewed": old.renewed, "doc": old.doc,
            **(sizes if old.exponent != 1.0 else {})}
    return price_of(key, {**kept, **entry}, name)


def _dimension(unit: str) -> tuple[str, bool] | None:
    per = unit.partition("/")[2]
    known = UNITS.get(per.removesuffix("/y"))
    return None if known is None else (known[0], per.endswith("/y"))


def _tables(data: Mapping[str, Any], head: str, name: str) -> dict[str, dict[int, float]]:
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
