"""Time stamps of a weather file become starts of equal intervals; what is missing, double or out of order is named."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.site.source import Source

__all__ = ["Intervals", "Stamps", "Whole", "to_intervals"]

Whole = NDArray[np.int64]

TYPICAL_YEAR, TYPICAL_LEAP_YEAR = 2001, 2000
"""Years that a typical year (months from several years) is moved to: without and with 29 February."""


@dataclass(frozen=True)
class Stamps:
    """Time stamps as written, shape (n,) each, checked when made.

    `hours` are the first and last hour of a day that the format writes; `ends` tells whether a stamp is the end of its
    interval (EPW, TMY3) or a moment in it (NSRDB style).
    """

    body: Source
    year: Whole
    month: Whole
    day: Whole
    hour: Whole
    minute: Whole
    hours: tuple[int, int]
    ends: bool

    def __post_init__(self) -> None:
        ranges = {"year": (1800, 2200), "month": (1, 12), "hour": self.hours, "minute": (0, 60 if self.ends else 59)}
        for label, (first, last) in ranges.items():
            values = getattr(self, label)
            _within(self.body, label, values, first, np.full(values.size, last))
        _within(self.body, "day", self.day, 1, _month_length(self.year, self.month))


def _within(body: Source, label: str, values: Whole, low: int, high: Whole) -> None:
    wrong = np.flatnonzero((values < low) | (values > high))
    if wrong.size:
        at = wrong[0]
        raise body.error("there is no such time", rows=[body.rows[at]], column=label, got=str(values[at]),
                         allowed=f"{low} to {high[at]}", hint="repair the time stamp of this row")


def _month_length(year: Whole, month: Whole) -> Whole:
    first = _month_start(year, month)
    return ((first + 1).astype("M8[D]") - first.astype("M8[D]")).astype(np.int64)


def _month_start(year: Whole, month: Whole) -> NDArray[Any]:
    return (year - 1970).astype("M8[Y]").astype("M8[M]") + (month - 1).astype("m8[M]")


@dataclass(frozen=True)
class Intervals:
    """Starts [datetime64 s, standard time], length [s], moment of the sun's position after the start [s], notes."""

    times: NDArray[Any]
    step: int
    centre: float
    notes: tuple[str, ...]


def to_intervals(stamps: Stamps, partial: bool) -> Intervals:
    """Turn stamps into starts of intervals.

    Parameters
    ----------
    stamps : Stamps
        As written in the file.
    partial : bool
        Whether less than a calendar year will do. Holes are refused all the same.

    Returns
    -------
    Intervals
        A typical year is moved to `TYPICAL_YEAR`; a year of measurements keeps its dates, with or without 29 February.

    Raises
    ------
    DataError
        If rows are missing, double or out of order, or the length of the interval does not divide an hour.
    """
    body, rows = stamps.body, np.array(stamps.body.rows)
    starts, step, centre, notes = _ended(stamps) if stamps.ends else _moments(stamps)
    years = starts.astype("M8[Y]").astype(int) + 1970
    turn = np.flatnonzero(np.diff(years))
    new_year = (starts[turn + 1].astype("M8[M]").astype(int) % 12 == 0) & (
        starts[turn].astype("M8[M]").astype(int) % 12 == 11)
    if turn.size and not new_year.all():
        starts, note = _one_year(starts)
        notes = (*notes, note)
    _order(body, rows, starts, stamps, step)
    notes += _holes(body, rows, starts, stamps, step)
    if not partial:
        _whole_year(body, rows, starts, stamps, step)
    return Intervals(starts, step, centre, notes)


def _ended(stamps: Stamps) -> tuple[NDArray[Any], int, float, tuple[str, ...]]:
    """Stamps at the end of the interval, hours 1 to 24; the minute counts only where an hour has several rows."""
    days = _month_start(stamps.year, stamps.month).astype("M8[D]") + (stamps.day - 1).astype("m8[D]")
    clock = days.astype("M8[s]") + (stamps.hour * 3600).astype("m8[s]")
    share = max(1, round(np.median(np.unique(clock, return_counts=True)[1])))
    step = 3600 // share
    if 3600 % share:
        raise stamps.body.error("the rows of an hour do not divide it", got=f"{share} rows an hour",
                                allowed="intervals that divide an hour: 60, 30, 15, 10, 5 minutes",
                                hint="average the data to whole hours")
    if stamps.hours[0] == 1 and share > 1:  # EPW: the minute counts from the start of the hour's number
        clock = clock + (stamps.minute * 60 - 3600).astype("m8[s]")
    elif share > 1:
        clock = clock + (stamps.minute * 60).astype("m8[s]")
    return clock - np.timedelta64(step, "s"), step, step / 2, ()


def _moments(stamps: Stamps) -> tuple[NDArray[Any], int, float, tuple[str, ...]]:
    """Stamps within the interval: those in its middle are means, those on its start are values of that moment."""
    days = _month_start(stamps.year, stamps.month).astype("M8[D]") + (stamps.day - 1).astype("m8[D]")
    clock = days.astype("M8[s]") + (stamps.hour * 3600 + stamps.minute * 60).astype("m8[s]")
    gaps = np.diff(clock).astype(int)
    gaps = gaps[gaps > 0]
    step = int(np.median(gaps)) if gaps.size else 3600
    if step < 60 or step > 3600 or 3600 % step:
        raise stamps.body.error("the time step does not divide an hour", got=f"{step / 60:g} minutes",
                                allowed="60, 30, 15, 10, 5 minutes", hint="bring the data to whole hours")
    phase = (stamps.minute * 60) % step
    offset = int(np.bincount(phase).argmax())
    if (phase != offset).any():
        at = int(np.flatnonzero(phase != offset)[0])
        raise stamps.body.error("this stamp does not fit into the steps of the others", rows=[stamps.body.rows[at]],
                                column="minute", got=str(stamps.minute[at]), hint="repair the time stamp of this row",
                                allowed=f"minutes that are {offset // 60} more than a multiple of {step // 60}")
    note = () if offset else (f"stamps lie on the start of each {step // 60}-minute step: taken as values of that "
                              "moment, with the sun where it stands then",)
    return clock - np.timedelta64(offset, "s"), step, float(offset), note


def _one_year(starts: NDArray[Any]) -> tuple[NDArray[Any], str]:
    """A typical year, its months from several years, moved to one year."""
    months = starts.astype("M8[M]")
    into = starts - months.astype("M8[s]")
    number = months.astype(int) % 12
    leap = bool(((number == 1) & (into >= np.timedelta64(28, "D"))).any())
    year = TYPICAL_LEAP_YEAR if leap else TYPICAL_YEAR
    moved = _month_start(np.full(starts.size, year), number + 1).astype("M8[s]") + into
    years = np.unique(months.astype("M8[Y]").astype(int) + 1970)
    return moved, (f"typical year, months from {years.size} years ({years[0]} to {years[-1]}): "
                   f"its sun is that of {year}")


def _label(start: Any, stamps: Stamps, step: int) -> str:
    """A start as the file would write it."""
    day = start.astype("M8[D]")
    minutes = int((start - day.astype("M8[s]")).astype(int)) // 60
    minutes += step // 60 if stamps.ends else int(np.bincount((stamps.minute * 60) % step).argmax()) // 60
    return f"{day} {minutes // 60:02d}:{minutes % 60:02d}"


def _order(body: Source, rows: Whole, starts: NDArray[Any], stamps: Stamps, step: int) -> None:
    unique, _, count = np.unique(starts, return_index=True, return_counts=True)
    if unique.size < starts.size:
        time = unique[count > 1][0]
        same = rows[np.flatnonzero(starts == time)]
        raise body.error(f"{_label(time, stamps, step)} is there {same.size} times", rows=list(same),
                         got=f"{starts.size - unique.size} double rows in all", allowed="each interval once",
                         hint="remove the double rows, or split files of several places")
    back = np.flatnonzero(np.diff(starts) < np.timedelta64(0, "s"))
    if back.size:
        at = back[0]
        raise body.error("the rows are not in the order of time", rows=[rows[at], rows[at + 1]],
                         got=f"{_label(starts[at], stamps, step)}, then {_label(starts[at + 1], stamps, step)}",
                         allowed="rising times", hint="sort the rows by time")


def _holes(body: Source, rows: Whole, starts: NDArray[Any], stamps: Stamps, step: int) -> tuple[str, ...]:
    notes: tuple[str, ...] = ()
    gaps = np.diff(starts).astype(int)
    missing = gaps // step - 1
    for at in np.flatnonzero(missing):
        lost = starts[at] + np.timedelta64(step, "s")
        day = lost.astype("M8[D]")
        if missing[at] * step == 86400 and str(day)[5:] == "02-29" and lost == day.astype("M8[s]"):
            notes += (f"row {rows[at + 1]}: {day} is left out of this leap year; the sun follows the real dates",)
            continue
        last = starts[at + 1] - np.timedelta64(step, "s")
        several = f" to {_label(last, stamps, step)}" if last > lost else ""
        raise body.error(f"{_label(lost, stamps, step)}{several} is missing", rows=[rows[at + 1]],
                         got=f"{starts.size} rows, {missing.sum()} missing between them",
                         allowed=f"every {step // 60} minutes", hint="add the missing rows; leave cells blank where "
                         "there is no value, short gaps are then filled")
    return notes


def _whole_year(body: Source, rows: Whole, starts: NDArray[Any], stamps: Stamps, step: int) -> None:
    year = starts[0].astype("M8[Y]")
    first, last = year.astype("M8[s]"), (year + 1).astype("M8[s]") - np.timedelta64(step, "s")
    days = int(((year + 1).astype("M8[D]") - year.astype("M8[D]")).astype(int))
    want = f"{days * 86400 // step} rows from {_label(first, stamps, step)} to {_label(last, stamps, step)}"
    hint = "add the missing rows, or allow less than a year with partial=True"
    if starts[0] != first:
        raise body.error(f"{_label(first, stamps, step)} is missing", rows=[rows[0]],
                         got=f"{starts.size} rows from {_label(starts[0], stamps, step)}", allowed=want, hint=hint)
    if starts[-1] != last:
        late = starts[-1] > last
        raise body.error("more than one calendar year" if late else
                         f"{_label(starts[-1] + np.timedelta64(step, 's'), stamps, step)} is missing",
                         rows=[rows[-1] if late else rows[-1] + 1],
                         got=f"{starts.size} rows up to {_label(starts[-1], stamps, step)}", allowed=want,
                         hint="one calendar year a file" if late else hint)
