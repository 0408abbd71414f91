"""What a rule may know about a stretch of weather: heat that comes, heat that each load draws, what it delivers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

__all__ = ["Asks", "Code", "Loads", "Outlook", "yesterday"]


class Asks(Protocol):
    """What the march asks of dispatch."""

    def load(self, hour: int, held: float, sunny: bool, running: bool) -> float:
        """Load [-] for one step: its number, time for which the store could carry full load [s], whether the field
        brings heat, whether the turbine ran through the step before."""


@dataclass(frozen=True)
class Code:
    """A rule in numbers, for a march that is compiled.

    Attributes
    ----------
    kind : int
        0: full load above `reserve`, in proportion below, starts from `restart` on; 1: what sun and store carry
        through the step, in steps that are `lit`.
    levels : tuple of float
        Loads, ascending [-].
    reserve, restart : float
        Heat over that of full load [s].
    lit : array of bool, shape (hours,)
        Steps in which the turbine may run.
    brought : array, shape (hours,)
        Heat that the field brings [W].
    """

    kind: int
    levels: tuple[float, ...]
    reserve: float = 0.0
    restart: float = 0.0
    lit: np.ndarray | None = None
    brought: np.ndarray | None = None


@dataclass(frozen=True)
class Loads:
    """A rule made ready for one stretch of weather.

    `said` is what the result should tell about it; `code` is the same in numbers, for rules that have it.
    """

    ask: Callable[[int, float, bool, bool], float]
    said: tuple[str, ...] = ()
    code: Code | None = None

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
            0 for stopped, else one of the levels of the rule [-].
        """
        return self.ask(hour, held, sunny, running)


@dataclass(frozen=True)
class Outlook:
    """A stretch of weather as dispatch sees it; heat and power as at the design temperatures of the store.

    Attributes
    ----------
    hour : array, shape (hours,)
        Hours from 1 January to the start of each step, in the site's standard time [h].
    dt : float
        Length of a step [s].
    brought : array, shape (hours,)
        Heat that the field brings to the store, what warms the field taken off [W].
    levels : tuple of float
        Loads that may be asked for, ascending [-].
    drawn, delivered : array, shape (levels, hours)
        Heat that each load draws, and what it sends out of the gate: net electricity, or heat to a user [W].
    full : float
        Heat drawn at full load at the design point [W].
    capacity : float
        Heat in a full store [J].
    leak : float
        Share of what it holds that a store loses in a step [-].
    start : float
        Heat of a start of the turbine [J].
    rated : float
        Delivery at the design point [W].
    ready : float
        Share of each step for which field and turbine are in order [-].
    trial : callable
        `Loads` -> what leaves the gate in each step when the exact march follows them [W], shape (hours,).
    """

    hour: np.ndarray
    dt: float
    brought: np.ndarray
    levels: tuple[float, ...]
    drawn: np.ndarray
    delivered: np.ndarray
    full: float
    capacity: float
    leak: float
    start: float
    rated: float
    ready: float
    trial: Callable[[Any], np.ndarray]

    def __len__(self) -> int:
        return len(self.hour)

    @property
    def day(self) -> int:
        """Steps in a day."""
        return max(1, round(86400.0 / self.dt))

    def heat_to_come(self, foresight: str, now: int, ahead: int) -> np.ndarray:
        """Heat that the field is expected to bring in the coming steps.

        Parameters
        ----------
        foresight : str
            "perfect": as it will come; "yesterday": each hour as the same hour of the last 24 that are over. Before
            there is a yesterday nothing is expected.
        now : int
            Step about to begin [-].
        ahead : int
            Number of steps wanted, fewer at the end of the stretch [-].

        Returns
        -------
        array, shape (ahead,)
            Heat [W].
        """
        end = min(len(self), now + ahead)
        return self.brought[now:end] if foresight == "perfect" else yesterday(self.brought, now, end, self.day)


def yesterday(series: np.ndarray, now: int, end: int, day: int) -> np.ndarray:
    """Forecast by persistence: each step as in the last 24 hours that are over.

    Parameters
    ----------
    series : array, shape (hours,)
        What was and will be, in any unit [W]; only what lies before `now` is read.
    now, end : int
        First step of the forecast, and the one after its last [-].
    day : int
        Steps in a day [-].

    Returns
    -------
    array, shape (end - now,)
        Forecast, zero where there was no yesterday [W].

    Examples
    --------
    >>> yesterday(np.array([1.0, 2.0, 3.0, 4.0, 9.0, 9.0, 9.0]), 4, 7, 3)
    array([2., 3., 4.])
    """
    back = now - day + np.arange(end - now) % day
    return np.where(back >= 0, series[np.maximum(back, 0)], 0.0)
