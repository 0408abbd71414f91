"""Dispatch: which load the turbine is asked for, from what the store holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from loopnet.params import Parameters, check_range, param

__all__ = ["RoundTheClock"]


@dataclass(frozen=True, kw_only=True)
class RoundTheClock(Parameters):
    """Run day and night as long as there is heat; near the end of the store slow down rather than stop.

    Above `reserve` hours of heat the turbine runs at full load; below, its load falls in steps, in proportion, to the
    minimum load, which is held until the store is empty. A stopped turbine starts when the store holds
    `restart` hours.

    >>> rule = RoundTheClock(reserve="2 hour", restart="1 hour", minimum=0.25)
    >>> rule.levels
    (0.25, 0.5, 0.75, 1.0)
    >>> rule.load(3 * 3600.0, False, True), rule.load(3600.0, False, True), rule.load(1800.0, False, False)
    (1.0, 0.5, 0.0)
    """

    reserve: Any = param("2 hour", unit="s", low=0.0, high=3.6e5, source="assumption", doc="heat left when slowing")
    restart: Any = param("2 hour", unit="s", low=0.0, high=3.6e5, source="assumption", doc="heat needed to start")
    minimum: Any = param(0.25, unit="-", low=0.0, high=1.0, source="common practice, no source", doc="least load")

    steps: int = 4
    """Number of loads at which the turbine is run, full and minimum load among them."""

    def __post_init__(self) -> None:
        super().__post_init__()
        check_range(float(self.steps), where="RoundTheClock.steps", unit="-", low=2, high=50)

    @property
    def levels(self) -> tuple[float, ...]:
        """Loads that may be asked for, ascending [-]."""
        steps = self.steps if self.minimum < 1.0 else 1
        return (*(self.minimum + (1.0 - self.minimum) * i / (steps - 1) for i in range(steps - 1)), 1.0)

    def load(self, held: float, sunny: bool, running: bool) -> float:
        """Load [-] for the coming hour.

        Parameters
        ----------
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
        return self.levels[int(held / self.reserve * (len(self.levels) - 1))]
