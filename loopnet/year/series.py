"""Prices and demands from a file: 24 values, one for each hour of the day, or 8760, one for each hour of the year."""

from __future__ import annotations

import csv
import os
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from loopnet.errors import DataError, ParameterError
from loopnet.params import check_range
from loopnet.units import to_si

__all__ = ["Series", "read_series", "series_of"]

LENGTHS = {24: "hour of the day", 8760: "hour of the year"}
HINT = ("a heading such as 'hour, demand [%]' or 'hour, price [USD/MWh]' above 24 lines, one for each hour of the day, "
        "or 8760, one for each hour of the year; lines that begin with # are comments")
_UNIT = re.compile(r"\[(.*)\]")


@dataclass(frozen=True)
class Series:
    """Values of each hour of the day (24) or of the year (8760), in SI; `name` is what reports call it.

    >>> Series(np.arange(24.0), "made").over(np.array([0.5, 25.0]))
    array([0., 1.])
    """

    values: np.ndarray = field(repr=False)
    name: str = "given values"

    def over(self, hour: np.ndarray) -> np.ndarray:
        """Values for steps.

        Parameters
        ----------
        hour : array, shape (steps,)
            Hours from 1 January 00:00 to the start of each step [h].

        Returns
        -------
        array, shape (steps,)
            As `values`; a year goes on as it began [SI].
        """
        return self.values[np.floor(np.asarray(hour) + 1e-9).astype(int) % len(self.values)]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Series) and self.name == other.name and np.array_equal(self.values, other.values)

    def __hash__(self) -> int:
        return hash((self.name, self.values.tobytes()))


def series_of(given: Any, *, where: str, unit: str, low: float, high: float) -> Series:
    """A series from what a user gives: a `Series`, a path, or 24 or 8760 numbers.

    Parameters
    ----------
    given : Series, path or sequence of float
        Numbers are in `unit` [SI].
    where : str
        Name for messages.
    unit : str
        SI unit; "-" for none.
    low, high : float
        Allowed range, ends included [in `unit`].

    Returns
    -------
    Series

    Raises
    ------
    DataError
        If a file cannot be read.
    ParameterError
        If there are not 24 or 8760 numbers, or one is out of range.

    Examples
    --------
    >>> series_of([0.5] * 24, where="demand", unit="-", low=0.0, high=1.0).values.sum()
    np.float64(12.0)
    """
    if isinstance(given, (str, os.PathLike)):
        return read_series(given, unit=unit, low=low, high=high)
    name = given.name if isinstance(given, Series) else "given values"
    numbers = given.values if isinstance(given, Series) else given
    try:
        values = np.array(numbers, dtype=float)
    except (TypeError, ValueError):
        raise ParameterError("not a series of numbers", where=where, got=repr(given)[:60],
                             allowed=f"24 or 8760 numbers in {unit}, or the path of a file", hint=HINT) from None
    if values.shape not in {(n,) for n in LENGTHS}:
        raise ParameterError("wrong number of values", where=where, got=f"shape {values.shape}",
                             allowed=" or ".join(f"{n} ({what})" for n, what in LENGTHS.items()))
    for i, value in enumerate(values.tolist()):
        check_range(value, where=f"{where}[{i}]", unit=unit, low=low, high=high)
    values.setflags(write=False)
    return Series(values, name)


def read_series(path: str | os.PathLike[str], *, unit: str, low: float, high: float) -> Series:
    """Read prices or demands from a CSV file.

    One line of headings, then a line an hour. The values stand in the last column, whose heading names their unit in
    brackets; a column before it, if any, counts the hours from 0 or from 1.

    Parameters
    ----------
    path : path
        The file.
    unit : str
        SI unit wanted; "-" for none.
    low, high : float
        Allowed range, ends included [in `unit`].

    Returns
    -------
    Series
        In `unit`, named after the file.

    Raises
    ------
    DataError
        Naming file, line, what was found, what is allowed and what to try.
    """
    lines = _lines(path)
    (first, heading), rows = lines[0], lines[1:]
    factor = _factor(heading[-1], unit, f"{path}, line {first}")
    columns = len(heading)
    if columns not in (1, 2):
        raise DataError("one or two columns are read", where=f"{path}, line {first}", got=f"{columns} columns",
                        allowed="hour and value, or value alone", hint=HINT)
    if len(rows) not in LENGTHS:
        raise DataError("wrong number of hours", where=str(path), got=f"{len(rows)} lines below the headings",
                        allowed=" or ".join(f"{n} ({what})" for n, what in LENGTHS.items()), hint=HINT)
    shift = 0.0
    values = np.empty(len(rows))
    for i, (number, row) in enumerate(rows):
        where = f"{path}, line {number}"
        if len(row) != columns:
            raise DataError("a line of another length than the headings", where=where, got=f"{len(row)} columns",
                            allowed=f"{columns} columns", hint="a point as decimal sign, a comma between columns")
        numbers = [_number(text, where) for text in row]
        if columns == 2:
            shift = numbers[0] if i == 0 else shift
            if shift not in (0.0, 1.0) or numbers[0] != i + shift:
                raise DataError("hours are not in order", where=where, got=row[0],
                                allowed=f"{i + shift:g}" if i else "0 or 1 in the first line",
                                hint="one line for every hour, in order, none left out")
        values[i] = numbers[-1] * factor
        if not low <= values[i] <= high:
            ends = " to ".join(f"{end / factor:g}" for end in (low, high))
            raise DataError("out of range", where=where, got=row[-1], allowed=f"{ends}, {heading[-1]}",
                            hint="another unit in the heading, if the numbers are meant so")
    values.setflags(write=False)
    return Series(values, Path(path).name)


def _lines(path: str | os.PathLike[str]) -> list[tuple[int, list[str]]]:
    """Number and cells of every line that is neither empty nor a comment."""
    try:
        text = Path(path).read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as why:
        raise DataError("not a text file", where=str(path), got=f"byte {why.start} is no UTF-8", allowed="CSV in UTF-8",
                        hint="the sheet saved as CSV") from why
    except OSError as why:
        raise DataError("cannot read the file", where=str(path), got=why.strerror or str(why),
                        allowed="a file that you may read", hint="ls, to see whether it is there") from why
    rows = [(number, [cell.strip() for cell in next(csv.reader([line]))])
            for number, line in enumerate(text.splitlines(), 1) if line.strip() and not line.lstrip().startswith("#")]
    if not rows:
        raise DataError("the file holds nothing", where=str(path), got="no lines", allowed="24 or 8760 hours",
                        hint=HINT)
    return rows


def _factor(heading: str, unit: str, where: str) -> float:
    """What a number under a heading is multiplied with to be in SI."""
    found = _UNIT.search(heading)
    if found is None:
        raise DataError("the heading of the values names no unit", where=where, got=repr(heading),
                        allowed=f"a unit in brackets, one of {'a share' if unit == '-' else unit}", hint=HINT)
    text = found[1].strip()
    if unit == "-" and text in ("", "-"):
        return 1.0
    try:
        return to_si(f"1 {text}", unit)
    except ParameterError as why:
        raise DataError("the unit does not fit", where=where, got=f"[{text}]",
                        allowed="a share, [-] or [%]" if unit == "-" else f"a unit of {unit}", hint=HINT) from why


def _number(text: str, where: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = np.nan
    if not np.isfinite(value):
        raise DataError("not a finite number", where=where, got=repr(text), allowed="a number",
                        hint="fill the gap; a point as decimal sign")
    return value
