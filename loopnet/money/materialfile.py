"""Reading a bill of materials from TOML: the shipped example of Tamarisk Basin, or a builder's own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from importlib.resources import files
from os import PathLike
from pathlib import Path
from typing import Any

from loopnet.errors import DataError, LoopnetError
from loopnet.money.entry import FIELDS, need, parse, placed, price_of, refuse_unknown
from loopnet.money.materials import BillOfMaterials, Part

__all__ = ["bill_of_materials"]

_HEAD = {"title", "invented", "note", "aperture", "length", "pieces", "reference"}
_PART = {"key", "quantity", "waste", "learning"}


def bill_of_materials(path: str | PathLike[str]) -> BillOfMaterials:
    """Read a bill of materials from TOML.

    The table ``materials`` says what the collector is: title, aperture, length, pieces (how many are made), reference
    (number for which the prices hold), invented, note. Each table ``part.NAME`` is a line: key (the price of the book
    it belongs to), quantity in one collector, waste, learning, and the fields of a `Price`.

    Parameters
    ----------
    path : path or str
        The file, or the name of the shipped example, ``"tamarisk_trough"``.

    Returns
    -------
    BillOfMaterials
        The bill.

    Raises
    ------
    DataError
        If the file cannot be read, is not TOML, or a line lacks something.
    ParameterError
        If a field is unknown or a number is out of range.

    Examples
    --------
    >>> bill_of_materials("tamarisk_trough")
    <BillOfMaterials Tamarisk Basin trough: 9 parts, 12 m2, 20000 pieces>
    """
    if str(path) == "tamarisk_trough":
        name = "tamarisk_trough.toml"
        raw = (files("loopnet") / "data" / name).read_bytes()
    else:
        name = str(path)
        try:
            raw = Path(path).read_bytes()
        except OSError as why:
            raise DataError(f"cannot read the bill of materials ({why.strerror})", where=name, got="no readable file",
                            allowed="a TOML file with [materials] and [part.NAME]", hint="check the path") from None
    data = parse(raw, name)
    refuse_unknown(data, {"materials", "part"}, name, "a bill of materials has no such table")
    head, lines = (_table(data.get(word), f"{name}: {word}") for word in ("materials", "part"))
    refuse_unknown(head, _HEAD, f"{name}: materials", "a bill of materials has no such entry")
    for wanted in ("title", "aperture"):
        need(head, wanted, "materials", name)
    try:
        return BillOfMaterials(parts=tuple(_parts(lines, name)), **head)
    except LoopnetError as why:
        raise why if why.where.startswith(name) else placed(why, name) from None


def _table(item: Any, where: str) -> dict[str, Any]:
    if not isinstance(item, Mapping) or not item:
        raise DataError("a bill of materials lacks this table", where=where, got=repr(item), allowed="a table",
                        hint="[materials] with title and aperture; [part.rods] with key, quantity, value, unit, ...")
    return dict(item)


def _parts(lines: dict[str, Any], name: str) -> Iterable[Part]:
    for word, item in lines.items():
        where = f"part.{word}"
        line = _table(item, f"{name}: {where}")
        refuse_unknown(line, _PART | FIELDS, f"{name}: {where}", "a part has no such field")
        key, quantity = need(line, "key", where, name), need(line, "quantity", where, name)
        price = price_of(str(key), {k: v for k, v in line.items() if k in FIELDS}, name)
        try:
            yield Part(name=word, price=price, quantity=quantity,
                       **{k: line[k] for k in ("waste", "learning") if k in line})
        except LoopnetError as why:
            raise placed(why, f"{name}: {where}") from None
