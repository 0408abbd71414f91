"""A bench test as a table: CSV or data frame with units in its headings becomes columns in SI, with their rows;
what cannot be used is refused by row and column."""

from __future__ import annotations

import csv
import os
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from loopnet.errors import DataError, ParameterError
from loopnet.site.source import row_text
from loopnet.units import show, to_si

__all__ = ["COLUMNS", "BenchData", "Column", "read_bench"]

Array = NDArray[np.float64]


class Column(NamedTuple):
    """A quantity that a bench test may hold: SI unit(s), range [SI], other headings for it, an example."""

    units: tuple[str, ...]
    low: float
    high: float
    also: tuple[str, ...]
    example: str


COLUMNS = {
    "dni": Column(("W/m^2",), -20.0, 1500.0, ("direct normal", "direct sun", "beam"), "dni [W/m2]"),
    "ambient": Column(("K",), 213.0, 335.0, ("air", "outside"), "ambient [degC]"),
    "wind": Column(("m/s",), 0.0, 60.0, ("wind speed",), "wind [m/s]"),
    "inlet": Column(("K",), 213.0, 1500.0, ("in", "inlet temperature"), "inlet [degC]"),
    "outlet": Column(("K",), 213.0, 1500.0, ("out", "outlet temperature"), "outlet [degC]"),
    "flow": Column(("kg/s", "m^3/s"), 1e-7, 1e4, ("flow rate",), "flow [L/min]"),
    "boiled": Column(("kg/s", "m^3/s"), 0.0, 10.0, ("boiled away", "water boiled away", "boil-off"), "boiled [kg/h]"),
    "feed": Column(("K",), 273.15, 400.0, ("feed temperature", "feed water"), "feed [degC]"),
    "pressure": Column(("Pa",), 1e3, 2e7, ("absolute pressure",), "pressure [bar]"),
    "incidence": Column(("rad",), 0.0, 1.5534, ("incidence angle", "angle"), "incidence [deg]"),
    "efficiency": Column(("-",), -2.0, 1.0, (), "efficiency [%]"),
}
"""Columns by name. Ranges only keep out slips of the pen; common practice, no source."""

FACTS = ("collector", "aperture", "medium", "heat capacity", "density", "altitude", "pressure", "content")
"""What lines such as ``# aperture: 12 m2`` above the table may say; other comment lines are kept as notes."""

_HEAD = re.compile(r"\s*([^\[\]()]*?)\s*(?:[\[(]\s*(.*?)\s*[\])])?\s*")
_CLOCK = re.compile(r"\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?")
_UNITS = {"c": "degC", "f": "degF", "lpm": "L/min", "l/min": "L/min", "lph": "L/h", "percent": "%", "": "-"}
MOST_BYTES = 100_000_000


@dataclass(frozen=True, kw_only=True, eq=False)
class BenchData:
    """A bench test in SI: `time` [s from the first row] and columns of COLUMNS, all of shape (rows,).

    `rows` are those of the file, counted from 1, comments and headings included; `facts` what its comments say. A flow
    measured as a volume is the column `flow volume` or `boiled volume` [m3/s] in place of `flow` or `boiled` [kg/s].
    """

    name: str
    time: Array
    columns: Mapping[str, Array]
    rows: NDArray[np.int64]
    facts: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for item in (self.time, self.rows, *self.columns.values()):
            item.setflags(write=False)
        object.__setattr__(self, "columns", MappingProxyType(dict(self.columns)))
        object.__setattr__(self, "facts", MappingProxyType(dict(self.facts)))

    def __len__(self) -> int:
        return len(self.rows)

    def __reduce__(self) -> tuple[Any, ...]:
        return _again, (self.name, self.time, dict(self.columns), self.rows, dict(self.facts), self.notes)

    def error(self, what: str, *, rows: Iterable[int] = (), column: str = "", got: str = "", allowed: str = "",
              hint: str = "") -> DataError:
        """An error that names the file, its rows and the column; to be raised by the caller.

        Parameters
        ----------
        what : str
            What is wrong.
        rows : iterable of int
            Rows of the file.
        column, got, allowed, hint : str
            The facts.

        Returns
        -------
        DataError
        """
        return _error(self.name, what, list(rows), column, got, allowed, hint)

    def to_frame(self) -> pd.DataFrame:
        """The columns in SI, indexed by the rows of the file."""
        return pd.DataFrame({"time": self.time, **self.columns}, index=pd.Index(self.rows, name="row"))


def _again(name: str, time: Array, columns: dict[str, Array], rows: Any, facts: dict[str, str],
           notes: tuple[str, ...]) -> BenchData:
    return BenchData(name=name, time=time, columns=columns, rows=rows, facts=facts, notes=notes)


def _error(name: str, what: str, rows: Sequence[int] = (), column: str = "", got: str = "", allowed: str = "",
           hint: str = "") -> DataError:
    where = ", ".join(part for part in (name, row_text(rows), f"column {column!r}" if column else "") if part)
    return DataError(what, where=where, got=got, allowed=allowed, hint=hint)


def read_bench(source: str | os.PathLike[str] | pd.DataFrame) -> BenchData:
    """Read a bench test; every heading but that of the time carries its unit, as in ``flow [L/min]``.

    Parameters
    ----------
    source : path or pandas DataFrame
        A CSV file in UTF-8 (cells parted by comma, semicolon or tab, decimal points, comment lines beginning with #),
        or a table with the same headings. The time is a date with clock time, a clock time, or a number with a unit.

    Returns
    -------
    BenchData
        Columns in SI. Columns that are not known are left out with a note.

    Raises
    ------
    DataError
        If a file, heading, unit or cell cannot be used; names the file, its row, its column and what to try.

    Examples
    --------
    >>> table = pd.DataFrame({"time [min]": [0, 10], "dni [W/m2]": [900, 910], "ambient [degC]": [20, 21],
    ...                       "boiled [kg/h]": [0.8, 0.82]})
    >>> read_bench(table).columns["ambient"]
    array([293.15, 294.15])
    """
    if isinstance(source, BenchData):
        return source
    if isinstance(source, pd.DataFrame):
        cells = [[str(x) for x in row] for row in source.itertuples(index=False)]
        return _table("table", [str(c) for c in source.columns], cells, list(range(1, len(cells) + 1)), {}, [])
    name, lines = _lines(source)
    facts: dict[str, str] = {}
    notes: list[str] = []
    numbered = []
    for row, line in enumerate(lines, 1):
        text = line.strip()
        if text.startswith("#"):
            key, colon, value = text.lstrip("# ").partition(":")
            said = colon and key.strip().lower() in FACTS
            if said:
                facts[key.strip().lower()] = value.strip()
            elif text.lstrip("# "):
                near = get_close_matches(key.strip().lower(), FACTS, n=1, cutoff=0.8) if colon else []
                notes.append(text.lstrip("# ") + (f" (not understood; did you mean {near[0]!r}?)" if near else ""))
        elif text.strip(",;\t "):
            numbered.append((row, line))
    if len(numbered) < 2:
        raise _error(name, "no table of measurements", got=f"{len(numbered)} lines that are not comments",
                     allowed="a line of headings and one line a measurement", hint=_example())
    heading = numbered[0][1]
    parted = max((";", "\t", ","), key=heading.count)
    rows = [row for row, _ in numbered]
    try:  # line by line, so that a stray quotation mark spoils its own row only
        table = [next(csv.reader([line], delimiter=parted, skipinitialspace=True)) for _, line in numbered]
    except csv.Error as why:
        raise _error(name, f"this is not a table ({why})", got=f"{len(rows)} lines", allowed="rows of cells",
                     hint=_example()) from None
    heads = [h.strip() for h in table[0]]
    for row, found in zip(rows[1:], table[1:], strict=True):
        if len(found) != len(heads):
            raise _error(name, "this row has another number of cells than the headings", [row],
                         got=f"{len(found)} cells", allowed=f"{len(heads)} cells",
                         hint="decimal points in place of decimal commas" if parted == "," and len(found) > len(heads)
                         else "a value in every column, and no more")
    return _table(name, heads, table[1:], rows[1:], facts, notes)


def _lines(source: str | os.PathLike[str]) -> tuple[str, list[str]]:
    path = Path(source)
    if not path.is_file():
        raise _error(str(path), "no such file" if not path.exists() else "this is not a file", got=str(path),
                     allowed="a CSV file of measurements",
                     hint="check the path; it is taken from the folder you are in")
    try:
        data = path.read_bytes() if path.stat().st_size <= MOST_BYTES else b"\0"
        return path.name, data.decode("utf-8-sig").splitlines() if b"\0" not in data else []
    except UnicodeDecodeError as why:
        raise _error(path.name, "the file is not UTF-8 text", [data.count(b"\n", 0, why.start) + 1],
                     got=f"byte 0x{data[why.start]:02x}", allowed="UTF-8",
                     hint="save it again as 'CSV UTF-8', or write degC and m2 in place of special signs") from None
    except OSError as why:
        raise _error(path.name, f"the file cannot be read ({why.strerror})", got=str(path),
                     allowed="a file that you may read", hint="another path") from None


def _example() -> str:
    return "headings such as: time [min], dni [W/m2], ambient [degC], inlet [degC], outlet [degC], flow [L/min]"


def _table(name: str, heads: list[str], cells: list[list[str]], rows: list[int], facts: dict[str, str],
           notes: list[str]) -> BenchData:
    if not cells:
        raise _error(name, "no measurements", got="no rows", allowed="one row a measurement", hint=_example())
    known = {other: key for key, column in COLUMNS.items() for other in (key, *column.also)}
    columns: dict[str, Array] = {}
    time: Array | None = None
    for place, head in enumerate(heads):
        parts = _HEAD.fullmatch(head)
        label, unit = (parts[1].lower(), parts[2]) if parts else (head.lower(), None)
        texts = [line[place].strip() for line in cells]
        if label in ("time", "date", "clock") and time is None:
            time = _time(name, head, unit, texts, rows)
        elif (key := known.get(label)) is not None:
            if key in columns or f"{key} volume" in columns:
                raise _error(name, "this quantity stands there twice", column=head, allowed="one column of each",
                             hint="delete one of the two")
            volume, values = _column(name, key, head, unit, texts, rows)
            columns[f"{key} volume" if volume else key] = values
        else:
            near = get_close_matches(label, known, n=1, cutoff=0.7)
            notes.append(f"column {head!r} is not used" + (f"; did you mean {near[0]!r}?" if near else ""))
    if time is None:
        raise _error(name, "there is no column of the time", got=", ".join(heads), allowed="one column named time",
                     hint="a column 'time [min]', or dates with clock times under the heading 'time'")
    return BenchData(name=name, time=time, columns=columns, rows=np.array(rows, dtype=np.int64), facts=facts,
                     notes=tuple(notes))


def _scale(name: str, head: str, unit: str | None, wanted: tuple[str, ...], example: str) -> tuple[int, float, float]:
    """Which of the wanted SI units this one is, its factor and its offset."""
    if unit is None and wanted != ("-",):
        raise _error(name, "this heading has no unit", column=head, allowed=f"a unit in brackets, as in {example!r}",
                     hint=f"the heading {example!r}, if that is the unit")
    text = _UNITS.get((unit or "").strip().lower(), unit or "")
    for which, si in enumerate(wanted):
        try:
            zero = to_si(f"0 {text}" if text != "-" else "0", si)
            return which, to_si(f"1 {text}" if text != "-" else "1", si) - zero, zero
        except ParameterError:
            continue
    raise _error(name, "this unit is not known here", column=head, got=repr(unit), allowed=f"a unit of {wanted[0]}"
                 if len(wanted) == 1 else " or ".join(f"a unit of {si}" for si in wanted),
                 hint=f"a heading such as {example!r}")


def _number(name: str, head: str, text: str, row: int) -> float:
    try:
        value = float(text)
        if np.isfinite(value):
            return value
    except ValueError:
        pass
    comma = re.fullmatch(r"[-+]?\d+,\d+", text)
    missing = text.lower() in ("", "nan", "na", "n/a", "-", "null", "none", "inf", "-inf")
    raise _error(name, "a value is missing" if missing else "a decimal comma" if comma else "this is not a number",
                 [row], head, got=repr(text), allowed="a number with a decimal point",
                 hint="delete the row, if it was not measured" if missing
                 else f"{text.replace(',', '.')} with a decimal point" if comma else "a plain number, its unit above")


def _column(name: str, key: str, head: str, unit: str | None, texts: list[str], rows: list[int],
            ) -> tuple[bool, Array]:
    kind = COLUMNS[key]
    which, factor, offset = _scale(name, head, unit, kind.units, kind.example)
    values = np.array([_number(name, head, text, row) for text, row in zip(texts, rows, strict=True)])
    out = values * factor + offset
    bad = np.flatnonzero(~((kind.low <= out) & (out <= kind.high)))
    if bad.size:
        worst = int(bad[0])
        si = kind.units[which]
        raise _error(name, "outside what can be", [rows[i] for i in bad], head,
                     got=f"{texts[worst]} {unit or ''}".strip() + (f" in row {rows[worst]}" if bad.size > 1 else ""),
                     allowed=f"{show(kind.low, si)} to {show(kind.high, si)}",
                     hint="check the unit in the heading; delete rows in which a sensor failed")
    return which == 1, out


def _time(name: str, head: str, unit: str | None, texts: list[str], rows: list[int]) -> Array:
    """Seconds from the first row, which must increase."""
    if unit is not None:
        _, factor, _ = _scale(name, head, unit, ("s",), "time [min]")
        out = factor * np.array([_number(name, head, text, row) for text, row in zip(texts, rows, strict=True)])
    else:
        day = "2000-01-01 " if all(_CLOCK.fullmatch(text) for text in texts) else ""
        stamps = pd.to_datetime(pd.Series([day + text for text in texts]), errors="coerce", format="ISO8601")
        if stamps.isna().any():
            place = int(np.flatnonzero(stamps.isna())[0])
            raise _error(name, "cannot read this time", [rows[place]], head, got=repr(texts[place]),
                         allowed="2026-05-03 10:20, or 10:20, or a number under 'time [min]'",
                         hint="the year first: 2026-05-03 10:20")
        out = (stamps - stamps.iloc[0]).dt.total_seconds().to_numpy(dtype=float)
    back = np.flatnonzero(np.diff(out) <= 0)
    if back.size:
        place = int(back[0]) + 1
        raise _error(name, "the time does not go on", [rows[place]], head, got=repr(texts[place]),
                     allowed=f"later than {texts[place - 1]!r}",
                     hint="sort the rows; give dates if the test goes past midnight")
    return np.asarray(out - out[0])
