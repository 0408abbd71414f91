"""Three ways in which weather is written down: EPW, TMY3 and NSRDB-style CSV; told apart by content, read by pvlib."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.site.hours import Stamps, Whole
from loopnet.site.source import FORMATS, Source

__all__ = ["Table", "parse"]

Array = NDArray[np.float64]

@dataclass(frozen=True)
class Table:
    """What a file says, in the units of the file but pressure in Pa; shape (n,) each.

    `columns` may lack ``dew_point`` or ``pressure``, and may have ``humidity`` [%]. `labels` are the file's names of
    the columns, `codes` its marks for a missing value.
    """

    kind: str
    place: dict[str, Any]
    columns: dict[str, Array]
    labels: dict[str, str]
    codes: Mapping[str, tuple[float, ...]]
    stamps: Stamps


def parse(source: Source) -> Table:
    """Recognise the format from the first lines and read the table.

    Parameters
    ----------
    source : Source
        Lines of the file.

    Returns
    -------
    Table
        Stamps and columns.

    Raises
    ------
    DataError
        If the format is not one of the three, or a header, a row or a cell is not as its format says.
    """
    first = source.lines[0].lower()
    second = source.lines[1].lower() if len(source.lines) > 1 else ""
    third = source.lines[2].lower() if len(source.lines) > 2 else ""
    if first.startswith("location,"):
        return _epw(source)
    if second.startswith("date ("):
        return _tmy3(source)
    if third.startswith("year,") or ("latitude" in first and "time zone" in first):
        return _nsrdb(source)
    raise source.error("not a weather format that is known here", rows=source.rows[:1],
                       got=repr(source.lines[0][:60]), allowed=FORMATS,
                       hint="keep the header lines as the source delivered them")


_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?|nan|na|n/a|null|[+-]?inf(inity)?", re.IGNORECASE)

# --- pieces that the three share --------------------------------------------------------------------------------------


def _cells(line: str) -> list[str]:
    return next(csv.reader([line])) if '"' in line else line.split(",")


def _body(source: Source, headers: int, allowed: Sequence[int]) -> Source:
    """The data rows, all with the same allowed number of values."""
    body = replace(source, lines=source.lines[headers:], rows=source.rows[headers:])
    if not body.lines:
        raise source.error("the file ends after its headers", rows=source.rows[-1:], got="no row of data",
                           allowed="a full year of rows", hint="fetch the file again; it seems truncated")
    wanted = len(_cells(body.lines[0])) if len(allowed) > 1 else allowed[0]
    wanted = wanted if wanted in allowed else max(allowed)
    for line, row in zip(body.lines, body.rows, strict=True):
        found = line.count(",") + 1 if '"' not in line else len(_cells(line))
        if found != wanted:
            last = row == body.rows[-1] and found < wanted
            raise source.error("the last row breaks off: the file is truncated" if last
                               else "wrong number of values in a row", rows=[row], got=f"{found} values",
                               allowed=f"{wanted} values, as the headers say",
                               hint="fetch the file again" if last else "look for a lost or an extra comma in this row")
    return body


def _header_number(source: Source, row: int, cells: Sequence[str], place: int, label: str) -> float:
    text = cells[place].strip() if place < len(cells) else ""
    try:
        return float(text)
    except ValueError:
        raise source.error("the header lacks a number", rows=[row], column=label, got=repr(text),
                           allowed=f"a number for {label}", hint="keep the header line as the source delivered it"
                           ) from None


def _whole(body: Source, cells: Sequence[str], label: str) -> Whole:
    """Whole numbers of a time column; the first cell that is none is named."""
    try:
        values = np.array(cells, float)
        if ((values == np.round(values)) & (np.abs(values) < 1e6)).all():
            return values.astype(np.int64)
    except ValueError:
        pass
    for text, row in zip(cells, body.rows, strict=True):
        if not re.fullmatch(r"\s*[+-]?\d{1,6}(\.0*)?\s*", text):
            raise body.error("this is not a whole number", rows=[row], column=label, got=repr(text),
                             allowed="a whole number", hint="repair the time stamp of this row")
    raise body.error("these are not whole numbers", column=label, hint="repair the time stamps")


def _read(body: Source, reader: Callable[[io.StringIO], Any], head: str, wanted: dict[str, tuple[str, str, int]]
          ) -> dict[str, Array]:
    """Let pvlib read the body; `wanted` maps our column to pvlib's name, the file's label and its position.

    `head` is a plain header: the place is read here, since pvlib takes only whole hours of zone and metres of height.
    """
    import pandas as pd

    try:
        data, _ = reader(io.StringIO(head + "\n".join(body.lines) + "\n"))
    except (ValueError, TypeError, KeyError, IndexError, AttributeError, OverflowError) as why:
        _blame(body, wanted)
        raise body.error(f"the table cannot be read ({why})", rows=[body.rows[0]], allowed=FORMATS,
                         hint="compare the first rows of data with the column headers") from None
    out: dict[str, Array] = {}
    for key, (name, label, _place) in wanted.items():
        if not pd.api.types.is_numeric_dtype(data[name]):
            _blame(body, wanted)
            raise body.error("the column holds text", column=label, allowed="numbers", hint="look for stray characters")
        out[key] = data[name].to_numpy(float)
        if out[key].size != len(body.lines):
            raise body.error("rows were lost while reading", column=label, got=f"{out[key].size} rows",
                             allowed=f"{len(body.lines)} rows", hint="look for quotation marks left open")
    return out


def _pascal(millibar: Array) -> Array:
    """Pressure in Pa; marks for a missing value (negative, or above any pressure) stay outside the range."""
    return np.round(millibar * 100.0, 3)


def _codes(marks: tuple[float, ...]) -> dict[str, tuple[float, ...]]:
    """The same marks for every column; those of the pressure went through `_pascal`."""
    return {key: (*marks, *(100 * mark for mark in marks)) if key == "pressure" else marks for key in NSRDB_COLUMNS}


def _blame(body: Source, wanted: dict[str, tuple[str, str, int]]) -> None:
    for line, row in zip(body.lines, body.rows, strict=True):
        cells = _cells(line)
        for _name, label, place in wanted.values():
            text = cells[place].strip() if place < len(cells) else ""
            if text and not _NUMBER.fullmatch(text):
                raise body.error("text where a number is expected", rows=[row], column=label, got=repr(text),
                                 allowed="a number, or a blank for a missing value",
                                 hint="repair this cell or leave it blank")


# --- EPW ------------------------------------------------------------------------------------------------------------

EPW_HEADERS, EPW_LEAST, EPW_MOST = 8, 22, 35
EPW_COLUMNS = {"ambient": ("temp_air", "dry bulb", 6), "dew_point": ("temp_dew", "dew point", 7),
               "humidity": ("relative_humidity", "relative humidity", 8),
               "pressure": ("atmospheric_pressure", "pressure", 9), "ghi": ("ghi", "global horizontal", 13),
               "dni": ("dni", "direct normal", 14), "dhi": ("dhi", "diffuse horizontal", 15),
               "wind": ("wind_speed", "wind speed", 21)}
EPW_CODES = {"ambient": (99.9,), "dew_point": (99.9,), "humidity": (999.0,), "pressure": (999999.0,),
             "ghi": (9999.0,), "dni": (9999.0,), "dhi": (9999.0,), "wind": (999.0,)}
"""Marks for a missing value. EnergyPlus Auxiliary Programs, "EnergyPlus Weather File (EPW) Data Dictionary"."""


def _epw(source: Source) -> Table:
    from pvlib.iotools import read_epw

    heads = [line.split(",")[0].strip().upper() for line in source.lines[:EPW_HEADERS]]
    if len(heads) < EPW_HEADERS or heads[-1] != "DATA PERIODS":
        raise source.error("the header of an EPW file has eight lines, the last DATA PERIODS",
                           rows=source.rows[len(heads) - 1:len(heads)], got=heads[-1][:30], allowed="DATA PERIODS",
                           hint="fetch the file again; it seems truncated or edited")
    cells, row = _cells(source.lines[0]), source.rows[0]
    place = {"name": ", ".join(c.strip() for c in cells[1:4] if c.strip(" -")), **{
        key: _header_number(source, row, cells, at, key)
        for key, at in (("latitude", 6), ("longitude", 7), ("timezone", 8), ("altitude", 9))}}
    body = _body(source, EPW_HEADERS, range(EPW_LEAST, EPW_MOST + 1))
    stamps = list(zip(*(line.split(",", 5)[:5] for line in body.lines), strict=True))
    year, month, day, hour, minute = (_whole(body, cells, label) for cells, label in zip(
        stamps, ("year", "month", "day", "hour", "minute"), strict=True))
    marks = Stamps(body, year, month, day, hour, minute, hours=(1, 24), ends=True)
    wanted = {key: (name, f"{label} ({at + 1})", at) for key, (name, label, at) in EPW_COLUMNS.items()}
    columns = _read(body, read_epw, "LOCATION,,,,,,0,0,0,0\n" + "-\n" * (EPW_HEADERS - 1), wanted)
    return Table("EPW", place, columns, {key: item[1] for key, item in wanted.items()}, EPW_CODES, marks)


# --- TMY3 -----------------------------------------------------------------------------------------------------------

TMY3_COLUMNS = {"dni": "DNI (W/m^2)", "ghi": "GHI (W/m^2)", "dhi": "DHI (W/m^2)", "ambient": "Dry-bulb (C)",
                "dew_point": "Dew-point (C)", "humidity": "RHum (%)", "pressure": "Pressure (mbar)",
                "wind": "Wspd (m/s)"}
TMY3_TIMES = ("Date (MM/DD/YYYY)", "Time (HH:MM)")
TMY3_CODES = (-9900.0, -99.0, 9999.0)
"""Marks for a missing value. Wilcox and Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156 (-9900);
the others from memory."""


def _tmy3(source: Source) -> Table:
    from pvlib.iotools import read_tmy3
    from pvlib.iotools.tmy import VARIABLE_MAP

    cells, row = _cells(source.lines[0]), source.rows[0]
    place = {"name": ", ".join(c.strip() for c in cells[1:3] if c.strip()), **{
        key: _header_number(source, row, cells, at, key)
        for key, at in (("timezone", 3), ("latitude", 4), ("longitude", 5), ("altitude", 6))}}
    head = [cell.strip() for cell in _cells(source.lines[1])]
    at = _columns(source, source.rows[1], head, TMY3_TIMES + tuple(
        label for key, label in TMY3_COLUMNS.items() if key not in ("humidity", "pressure")))
    body = _body(source, 2, (len(head),))
    split = [_cells(line) for line in body.lines]
    date, clock = TMY3_TIMES
    month, day, year = _pattern(body, [line[at[date]] for line in split], r"(\d{1,2})/(\d{1,2})/(\d{4})", date)
    hour, minute = _pattern(body, [line[at[clock]] for line in split], r"(\d{1,2}):(\d{2})", clock)
    wanted = {key: (VARIABLE_MAP[label], label, at[label]) for key, label in TMY3_COLUMNS.items() if label in at}
    marks = Stamps(body, year, month, day, hour, minute, hours=(0, 24), ends=True)
    columns = _read(body, read_tmy3, "0,,,0,0,0,0\n" + ",".join(head) + "\n", wanted)
    if "pressure" in columns:
        columns["pressure"] = _pascal(columns["pressure"])
    return Table("TMY3", place, columns, {key: item[1] for key, item in wanted.items()},
                 _codes(TMY3_CODES), marks)


def _pattern(body: Source, cells: Sequence[str], pattern: str, label: str) -> list[Whole]:
    groups = []
    for text, row in zip(cells, body.rows, strict=True):
        match = re.fullmatch(pattern, text)
        if not match:
            raise body.error("this is not a time stamp", rows=[row], column=label, got=repr(text),
                             allowed=label[label.find("(") + 1:-1], hint="repair the time stamp of this row")
        groups.append([int(part) for part in match.groups()])
    return list(np.array(groups, np.int64).T)


def _columns(source: Source, row: int, head: Sequence[str], wanted: Sequence[str]) -> dict[str, int]:
    """Positions of the columns; a missing one is refused with the nearest name that is there."""
    import difflib

    lost = [label for label in wanted if label not in head]
    if lost:
        close = difflib.get_close_matches(lost[0], [label for label in head if label not in wanted], n=1)
        raise source.error("a column is missing", rows=[row], column=lost[0],
                           got=", ".join(label for label in head if label)[:120], allowed=", ".join(wanted),
                           hint=f"rename {close[0]!r} to {lost[0]!r}, if that is what it holds" if close
                           else "fetch the file again with this column")
    twice = [label for label in wanted if list(head).count(label) > 1]
    if twice:
        raise source.error("a column is there twice", rows=[row], column=twice[0], got=f"{len(head)} columns",
                           allowed="each column once", hint="remove one of them")
    return {label: place for place, label in enumerate(head) if label}


# --- NSRDB style ----------------------------------------------------------------------------------------------------

NSRDB_COLUMNS = {"dni": "DNI", "ghi": "GHI", "dhi": "DHI", "ambient": "Temperature", "dew_point": "Dew Point",
                 "humidity": "Relative Humidity", "pressure": "Pressure", "wind": "Wind Speed"}
NSRDB_TIMES = ("Year", "Month", "Day", "Hour", "Minute")
NSRDB_CODES = (-9999.0, -999.0, 9999.0)
"""Marks for a missing value: common practice, no source."""


def _nsrdb(source: Source) -> Table:
    from pvlib.iotools import read_nsrdb_psm4
    from pvlib.iotools.psm4 import VARIABLE_MAP

    if len(source.lines) < 3:
        raise source.error("the file ends within its headers", rows=source.rows[-1:], got=f"{len(source.lines)} lines",
                           allowed="two lines of site data, then column names", hint="fetch the file again")
    names = [cell.strip().lower() for cell in _cells(source.lines[0])]
    values = _cells(source.lines[1])
    number = {key: _header_number(source, source.rows[1], values, names.index(label) if label in names else len(values),
                                  label.title())
              for key, label in (("latitude", "latitude"), ("longitude", "longitude"), ("timezone", "time zone"),
                                 ("altitude", "elevation"))}
    said = dict(zip(names, (value.strip() for value in values), strict=False))
    title = [said.get(key, "").strip("-") for key in ("city", "state", "country")]
    name = ", ".join(part for part in title if part) or " ".join(
        part for part in (said.get("source", ""), said.get("location id", "")) if part) or "site"
    head = [cell.strip() for cell in _cells(source.lines[2])]
    while head and not head[-1]:
        head.pop()
    humid = "Dew Point" if "Dew Point" in head or "Relative Humidity" not in head else "Relative Humidity"
    at = _columns(source, source.rows[2], head, (*NSRDB_TIMES, "DNI", "GHI", "DHI", "Temperature", humid, "Wind Speed"))
    spare = re.compile(rf"^((?:[^,]*,){{{len(head) - 1}}}[^,]*),+$")  # spreadsheets add blank columns at the right
    body = _body(replace(source, lines=tuple(spare.sub(r"\1", line) for line in source.lines)), 3, (len(head),))
    split = [_cells(line) for line in body.lines]
    year, month, day, hour, minute = (_whole(body, [line[at[label]] for line in split], label) for label in NSRDB_TIMES)
    wanted = {key: (VARIABLE_MAP[label], label, at[label]) for key, label in NSRDB_COLUMNS.items() if label in at}
    marks = Stamps(body, year, month, day, hour, minute, hours=(0, 23), ends=False)
    plain = [label.lower() if label in ("Cloud Type", "Fill Flag") else label for label in head]  # may be blank
    columns = _read(body, read_nsrdb_psm4, "Local Time Zone,Time Zone,Latitude,Longitude,Elevation\n0,0,0,0,0\n"
                    + ",".join(f'"{label}"' if "," in label else label for label in plain) + "\n", wanted)
    if "pressure" in columns and said.get("pressure units", "mbar").lower() not in ("pa", "pascal"):
        columns["pressure"] = _pascal(columns["pressure"])
    return Table("NSRDB-style CSV", {"name": name, **number}, columns, {key: item[1] for key, item in wanted.items()},
                 _codes(NSRDB_CODES), marks)
