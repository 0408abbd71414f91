"""Dispatch: which load the turbine is asked for, from what the store holds, the sun and the hour of the day.

A rule names the loads it may ask for, its `levels`, which become nodes of the operating tables; `for_year` makes it
ready for a stretch of weather, and the march then asks it hour by hour.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace
from typing import Any, ClassVar

import numpy as np

from loopnet.params import Parameters, check_range, param
from loopnet.year.outlook import Code, Loads, Outlook

__all__ = ["EveningWindow", "FollowTheSun", "RoundTheClock", "Rule", "highest_level"]

LEAST = 0.25
"""Least load where neither the rule nor the turbine gives one [-]; common practice, no source."""


def highest_level(levels: tuple[float, ...], wanted: float) -> float:
    """The highest level that is not above what is wanted; 0 if all are.

    Parameters
    ----------
    levels : tuple of float
        Loads, ascending [-].
    wanted : float
        Load that heat suffices for [-].

    Returns
    -------
    float
        One of the levels, or 0 [-].

    Examples
    --------
    >>> highest_level((0.25, 0.5, 1.0), 0.8), highest_level((0.25, 0.5, 1.0), 0.2)
    (0.5, 0.0)
    """
    place = bisect_right(levels, wanted * (1 + 1e-12))
    return levels[place - 1] if place else 0.0


@dataclass(frozen=True, kw_only=True)
class Rule(Parameters):
    """Base of all rules: the levels of load, from the least to full load."""

    title: ClassVar[str] = ""

    minimum: Any = param(None, unit="-", low=0.0, high=1.0, source="the turbine's own", optional=True,
                         doc="least load; the turbine's own if not given")
    steps: int = 4
    """Number of loads at which the turbine is run, full and minimum load among them."""

    def __post_init__(self) -> None:
        super().__post_init__()
        check_range(float(self.steps), where=f"{type(self).__name__}.steps", unit="-", low=2, high=50)

    def __str__(self) -> str:
        return self.title

    @property
    def least(self) -> float:
        """Least load [-]."""
        return LEAST if self.minimum is None else float(self.minimum)

    @property
    def levels(self) -> tuple[float, ...]:
        """Loads that may be asked for, ascending [-]."""
        least = self.least
        steps = self.steps if least < 1.0 else 1
        return (*(least + (1.0 - least) * i / (steps - 1) for i in range(steps - 1)), 1.0)

    def fitted(self, minimum: float) -> Any:
        """The rule with the least load of a turbine, unless it has one of its own.

        Parameters
        ----------
        minimum : float
            Least load of the turbine [-].

        Returns
        -------
        Rule
        """
        return replace(self, minimum=minimum) if self.minimum is None else self

    def for_year(self, outlook: Outlook) -> Loads:
        """Make the rule ready for a stretch of weather.

        Parameters
        ----------
        outlook : Outlook

        Returns
        -------
        Loads
        """
        raise NotImplementedError


@dataclass(frozen=True, kw_only=True)
class RoundTheClock(Rule):
    """Run day and night as long as there is heat; near the end of the store slow down rather than stop.

    Above `reserve` hours of heat the turbine runs at full load; below, its load falls in steps, in proportion, to the
    minimum load, which is held until the store is empty. A stopped turbine starts when the store holds
    `restart` hours.

    >>> rule = RoundTheClock(reserve="2 hour", restart="1 hour", minimum=0.25)
    >>> rule.levels
    (0.25, 0.5, 0.75, 1.0)
    >>> [rule.load(0, held, False, running) for held, running in ((10800, True), (3600, True), (1800, False))]
    [1.0, 0.5, 0.0]
    """

    title: ClassVar[str] = "round the clock"

    reserve: Any = param("2 hour", unit="s", low=0.0, high=3.6e5, source="assumption", doc="heat left when slowing")
    restart: Any = param("2 hour", unit="s", low=0.0, high=3.6e5, source="assumption", doc="heat needed to start")

    def load(self, hour: int, held: float, sunny: bool, running: bool) -> float:
        """Load for one step.

        Parameters
        ----------
        hour : int
            Number of the step; all are alike [-].
        held : float
            Time for which the store could carry full load [s].
        sunny : bool
            Whether the field brings heat in this hour.
        running : bool
            Whether the turbine ran through the hour before.

        Returns
        -------
        float
            0 for stopped, else between minimum and one [-].
        """
        if not running and held < self.restart:
            return 0.0
        if held <= 0.0 and not sunny:
            return 0.0
        if held >= self.reserve:
            return 1.0
        levels = self.levels
        return levels[int(held / self.reserve * (len(levels) - 1))]

    def for_year(self, outlook: Outlook) -> Loads:
        return Loads(self.load, code=Code(0, self.levels, float(self.reserve), float(self.restart)))


@dataclass(frozen=True, kw_only=True)
class FollowTheSun(Rule):
    """Run while the sun shines, at the load that its heat carries; the store only smooths, and serves on for a while.

    In each step the load is the highest level that the heat of the field and what the store holds can carry through
    the step, so that clouds are bridged. After the field stops, the turbine serves from the store for `linger`.

    >>> print(FollowTheSun(linger="2 hour"))
    follow the sun, then on for 2 h
    """

    title: ClassVar[str] = "follow the sun"

    linger: Any = param("0 hour", unit="s", low=0.0, high=3.6e5, source="assumption",
                        doc="how long the turbine serves on after the field has stopped")

    def __str__(self) -> str:
        return self.title + (f", then on for {self.linger / 3600:g} h" if self.linger else "")

    def for_year(self, outlook: Outlook) -> Loads:
        brought, levels, dt, full = outlook.brought.tolist(), self.levels, outlook.dt, outlook.full
        steps = np.arange(len(outlook))
        last = np.maximum.accumulate(np.where(outlook.brought > 0.0, steps, -len(steps) - 10**9))
        shining = (steps - last) * dt <= self.linger + 1e-6
        lit = shining.tolist()

        def ask(hour: int, held: float, sunny: bool, running: bool) -> float:
            if not lit[hour] and not sunny:
                return 0.0
            return highest_level(levels, held / dt + brought[hour] / full)

        return Loads(ask, code=Code(1, levels, lit=shining, brought=outlook.brought))


@dataclass(frozen=True, kw_only=True)
class EveningWindow(Rule):
    """Keep the day's heat for a window of the evening, and run at full load in it as long as there is heat.

    Outside the window nothing runs, unless `overflow` lets the turbine take what a full store cannot. The window is
    in the site's standard time and may pass midnight; a step counts if its middle lies inside.

    >>> print(EveningWindow(start="18 hour", end="23 hour"))
    evening window, 18 to 23 h
    """

    title: ClassVar[str] = "evening window"

    start: Any = param("17 hour", unit="s", low=0.0, high=86400.0, source="assumption", doc="beginning of the window")
    end: Any = param("23 hour", unit="s", low=0.0, high=86400.0, source="assumption", doc="end of the window")
    overflow: bool = False
    """Whether the turbine runs outside the window rather than let a full store turn mirrors away."""

    def __str__(self) -> str:
        return (f"{self.title}, {self.start / 3600:g} to {self.end / 3600:g} h"
                + (", and what a full store cannot take" if self.overflow else ""))

    def within(self, hour: Any, dt: float) -> np.ndarray:
        """Which steps belong to the window.

        Parameters
        ----------
        hour : array, shape (hours,)
            Start of each step, counted from any midnight [h].
        dt : float
            Length of a step [s].

        Returns
        -------
        array of bool, shape (hours,)

        Examples
        --------
        >>> EveningWindow(start="22 hour", end="2 hour").within(np.arange(20, 28), 3600.0).astype(int)
        array([0, 0, 1, 1, 1, 1, 0, 0])
        """
        middle = (np.asarray(hour) * 3600.0 + dt / 2) % 86400.0
        if self.start <= self.end:
            return (middle >= self.start) & (middle < self.end)
        return (middle >= self.start) | (middle < self.end)

    def for_year(self, outlook: Outlook) -> Loads:
        inside, brought = self.within(outlook.hour, outlook.dt).tolist(), outlook.brought.tolist()
        levels, dt, full, capacity = self.levels, outlook.dt, outlook.full, outlook.capacity

        def ask(hour: int, held: float, sunny: bool, running: bool) -> float:
            if inside[hour]:
                return 1.0 if held > 0.0 or sunny else 0.0
            spare = held * full + brought[hour] * dt - capacity
            return highest_level(levels, spare / (full * dt)) if self.overflow and spare > 0.0 else 0.0

        return Loads(ask)
