"""How a plant is run, apart from its dispatch: outages, what is out of order, inertia of the turbine, standby power."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import numpy as np

from loopnet.errors import ParameterError
from loopnet.params import Parameters, check_range, param
from loopnet.year.outlook import Asks

__all__ = ["Operation", "Unhurried"]

_DAYS = re.compile(r"\s*(\d\d)-(\d\d)(?:\s+to\s+(\d\d)-(\d\d))?\s*")
_MONTHS = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


@dataclass(frozen=True, kw_only=True)
class Operation(Parameters):
    """Outages, availability, standby power, and how fast the turbine may change.

    `outages` are days on which the whole plant rests, the last included: "03-01 to 03-14" or "03-01". `ready` is the
    share of every step for which field and turbine are in order, faults spread evenly: an expectation. `standby` is
    taken round the clock by control, lighting, water treatment, instrument air and trace heating, which no component
    counts; plants that make no electricity take none.

    >>> Operation(outages=("03-01 to 03-14",), ready=0.96).resting(np.array([1415.0, 1416.0, 1752.0])).tolist()
    [False, True, False]
    """

    outages: tuple[str, ...] = ()
    ready: Any = param(1.0, unit="-", low=0.01, high=1.0, source="assumption: nothing fails",
                       doc="share of time in order")
    standby: Any = param(0.0055, unit="-", low=0.0, high=0.2, source="oil trough plants of the 1990s: 0.55 % of gross "
                         "rating in every hour (from memory)", doc="share of the gross power at the design point")
    least_up: Any = param(0.0, unit="s", low=0.0, high=8.64e5, source="assumption: none",
                          doc="least time from start to stop, while there is heat")
    least_down: Any = param(0.0, unit="s", low=0.0, high=8.64e5, source="assumption: none",
                            doc="least time from stop to start")
    ramp: int | None = None
    """Most levels by which the load changes from one step to the next, starts from the least level; None: any."""

    def __post_init__(self) -> None:
        super().__post_init__()
        if isinstance(self.outages, str):
            object.__setattr__(self, "outages", (self.outages,))
        for text in self.outages:
            _days(text)
        if self.ramp is not None:
            check_range(float(self.ramp), where="Operation.ramp", unit="-", low=1, high=50)

    def resting(self, hour: np.ndarray) -> np.ndarray:
        """Steps that lie in an outage.

        Parameters
        ----------
        hour : array, shape (hours,)
            Hours from 1 January to the start of each step; of a leap year the days after February are one off [h].

        Returns
        -------
        array of bool, shape (hours,)
        """
        day = np.floor(np.asarray(hour) / 24.0 + 1e-9).astype(int) % 365
        rests = np.zeros(len(day), dtype=bool)
        for first, last in map(_days, self.outages):
            rests |= (day >= first) & (day <= last) if first <= last else (day >= first) | (day <= last)
        return rests

    def hold(self, asks: Asks, levels: tuple[float, ...], dt: float, resting: np.ndarray) -> Asks:
        """Dispatch as the turbine can follow it.

        Parameters
        ----------
        asks : Asks
            A rule made ready.
        levels : tuple of float
            Loads that may be asked for, ascending [-].
        dt : float
            Length of a step [s].
        resting : array of bool, shape (hours,)
            Steps in which nothing runs.

        Returns
        -------
        Asks
            The rule itself where nothing holds it.
        """
        if not (resting.any() or self.least_up or self.least_down or self.ramp):
            return asks
        return Unhurried(asks, levels, round(self.least_up / dt), round(self.least_down / dt), self.ramp, resting)


def _days(text: str) -> tuple[int, int]:
    """First and last day of an outage, counted from 1 January as day 0."""
    found = _DAYS.fullmatch(text) if isinstance(text, str) else None
    days = []
    if found:
        for month, day in ((found[1], found[2]), (found[3] or found[1], found[4] or found[2])):
            m, d = int(month), int(day)
            if 1 <= m <= 12 and 1 <= d <= _MONTHS[m] - _MONTHS[m - 1]:
                days.append(int(_MONTHS[m - 1]) + d - 1)
    if len(days) != 2:
        raise ParameterError("cannot read these days", where="Operation.outages", got=repr(text),
                             allowed="month and day, one or two", hint='"03-01" or "03-01 to 03-14"')
    return days[0], days[1]


class Unhurried:
    """A rule behind a turbine with a least time on, a least time off and a ramp; made for one march.

    What it asks for is a level or nothing; a turbine without heat stops whatever the rule wants.
    """

    def __init__(self, asks: Asks, levels: tuple[float, ...], up: int, down: int, ramp: int | None,
                 resting: np.ndarray) -> None:
        self.asks, self.levels, self.up, self.down, self.ramp = asks, levels, up, down, ramp
        self.resting = resting.tolist()
        self.before, self.since = 0.0, 10**9

    def load(self, hour: int, held: float, sunny: bool, running: bool) -> float:
        """Load for one step.

        Parameters
        ----------
        hour : int
            Number of the step [-].
        held : float
            Time for which the store could carry full load [s].
        sunny, running : bool
            Whether the field brings heat, and whether the turbine ran through the step before.

        Returns
        -------
        float
            0 or one of the levels [-].
        """
        if self.before > 0.0 and not running:  # it ran dry within the step before
            self.before, self.since = 0.0, 1
        wanted = self.asks.load(hour, held, sunny, running)
        load = 0.0 if self.resting[hour] else self._followed(wanted, held > 0.0 or sunny)
        if (load > 0.0) == (self.before > 0.0):
            self.since += 1
        else:
            self.since = 1
        self.before = load
        return load

    def _followed(self, wanted: float, heat: bool) -> float:
        on = self.before > 0.0
        if on and wanted == 0.0:
            return self.levels[0] if heat and self.since < self.up else 0.0
        if not on and (wanted == 0.0 or self.since < self.down):
            return 0.0
        if self.ramp is None:
            return wanted
        was = self.levels.index(self.before) if on else -1
        goal = self.levels.index(wanted)
        return self.levels[max(min(goal, was + self.ramp), was - self.ramp, 0)]
