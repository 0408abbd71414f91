"""Dust between two washings and mirrors that grow old: what is left on average, exactly, and how often one washes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.errors import ParameterError
from loopnet.params import Parameters, param

__all__ = ["DAYS_A_YEAR", "Ageing", "Soiling", "mean_left"]

Array = NDArray[np.float64]
Floats = float | Array
DAYS_A_YEAR = 365.25


def mean_left(rate: Floats, interval: Floats) -> Array:
    """Mean over an interval of what is left when each unit of time takes the same part: (1 - q^T) / (-T ln q).

    Parameters
    ----------
    rate : float or array, any shape
        Part lost per time, 1 - q [-].
    interval : float or array, same shape
        Length T in the same times [-].

    Returns
    -------
    array, same shape
        Mean [-]; near 1 - rate T / 2 while that is near 1.

    Examples
    --------
    A quarter of a percent a day, washed every twenty days:

    >>> print(round(float(mean_left(0.0025, 20.0)), 5), mean_left(0.0, 20.0))
    0.97538 1.0
    """
    x = -np.log1p(-np.asarray(rate, float)) * interval
    safe = np.where(x > 1e-12, x, 1.0)
    return np.where(x > 1e-12, -np.expm1(-safe) / safe, 1.0)


@dataclass(frozen=True, kw_only=True)
class Soiling(Parameters):
    """Dust settles at a daily rate and is washed off at intervals; a wash does not bring back all.

    Dust may carry quartz; washing crews work between hot pipes and focused light: local rules decide.

    >>> dusty = Soiling(rate="0.25 %/day", interval="12 day")
    >>> print(round(dusty.mean, 4), round(dusty.washes, 2))
    0.9654 30.44
    """

    rate: Any = param(0.0025, unit="1/day", low=0.0, high=0.2, doc="reflectance lost per day",
                      source="second-hand: 0.25 % a day in dry zones (a vendor's article)")
    interval: Any = param(12.0, unit="day", low=0.1, high=3650.0, source="from memory: every one to two weeks",
                          doc="from wash to wash")
    washed: Any = param(0.98, unit="-", low=0.1, high=1.0, doc="cleanliness just after a wash",
                        source="assumption, so that the mean lies within 0.95 to 0.97 (from memory)")

    @property
    def mean(self) -> float:
        """Mean cleanliness over the time between two washes [-]."""
        return float(self.washed * mean_left(self.rate, self.interval))

    @property
    def washes(self) -> float:
        """Washes a year [-]."""
        return float(DAYS_A_YEAR / self.interval)


@dataclass(frozen=True, kw_only=True)
class Ageing(Parameters):
    """Reflectance decays from year to year until the reflector is bought again.

    >>> film = Ageing(decay="1.5 %/year", life="6 year")
    >>> print(round(film.mean, 4))
    0.956
    """

    decay: Any = param(0.0, unit="1/year", low=0.0, high=0.5, source="glass: little, taken as none; assumption",
                       doc="reflectance lost per year")
    life: Any = param(None, unit="year", low=0.05, high=100.0, source="user", optional=True,
                      doc="years until the reflector is bought again; none: as the price book says")

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.decay and self.life is None:
            raise ParameterError("a mean needs to know how long the mirror decays", where="Ageing.life", got="none",
                                 allowed="0.05 to 100 year", hint='life="10 year"')

    @property
    def mean(self) -> float:
        """Mean over the reflector's life of its reflectance, over that when new [-]."""
        return 1.0 if self.life is None else float(mean_left(self.decay, self.life))
