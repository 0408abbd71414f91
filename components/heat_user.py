"""A user of process heat: takes heat from a loop at what it brings and sends it back at a set temperature."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from components.back_up import BackUp, GasBoiler, wanted_and_served
from components.cycle_heat import user_exchange
from components.transfer import lmtd
from loopnet.errors import ParameterError
from loopnet.params import check_range, param
from loopnet.plant import Component, Equation, HeatExchange, Term, Unknown

__all__ = ["LEAST_SHARE", "HeatUser", "share_of_year"]

LEAST_SHARE = 0.02
"""Least share of the demand that a profile may ask for [-]: circuits are solved in every hour, none stands still."""
MONTH_ENDS = (31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365)  # days


def share_of_year(hour: Any, day: tuple[float, ...] = (), month: tuple[float, ...] = ()) -> Any:
    """Share of the demand in each hour of a year, from a share for each hour of the day and for each month.

    Parameters
    ----------
    hour : ndarray, shape (n,)
        Hours from 1 January 00:00, by the clock of the weather [h].
    day : tuple of float
        24 shares, from midnight on [-]; empty for a level day.
    month : tuple of float
        12 shares, from January on [-]; empty for a level year. Leap days count as March.

    Returns
    -------
    ndarray, shape (n,)
        Product of the two [-].

    Examples
    --------
    >>> work = (0.1,) * 6 + (1.0,) * 16 + (0.1,) * 2
    >>> share_of_year(np.array([3.0, 12.5, 24.0 * 40 + 7]), work, (0.5,) + (1.0,) * 11).tolist()
    [0.05, 0.5, 1.0]
    """
    hour = np.asarray(hour, dtype=float)
    out = np.ones(hour.shape)
    if day:
        out = out * np.asarray(day)[np.floor(hour % 24.0).astype(int)]
    if month:
        out = out * np.asarray(month)[np.minimum(np.searchsorted(MONTH_ENDS, hour / 24.0, side="right"), 11)]
    return out


@dataclass(frozen=True, kw_only=True)
class HeatUser(Component):
    """Kiln, dryer, boiler house or town that takes heat from a loop.

    The flow is controlled so that the medium leaves at `back`; the year asks for a share of what is wanted. That is the
    design demand, or where `day` or `month` is given the share of it by the clock.
    """

    family: ClassVar[str] = "user"
    heats: ClassVar[str] = "what is heated"
    """What takes the heat, for pictures."""

    demand: Any = param("10 MW", unit="W", low=1.0, high=5e9, source="user", doc="heat at the design point")
    back: Any = param(unit="K", low=250.0, high=1400.0, source="user", doc="temperature at which the medium leaves")
    drop: Any = param("0.1 bar", unit="Pa", low=0.0, high=3e6, source="common practice, no source",
                      doc="pressure drop at the design point")
    minimum_load: Any = param(0.1, unit="-", low=0.01, high=1.0, source="assumption", doc="least share of the demand")
    start_hours: Any = param(0.0, unit="s", low=0.0, high=36000.0, source="assumption", doc="heat of a start, as time")
    price: str = "exchanger.shell_tube"
    u: Any = param(500.0, unit="W/m^2/K", low=5.0, high=6000.0, source="common practice, no source",
                   doc="overall coefficient, for the area at 30 K mean difference")
    day: tuple[float, ...] = ()
    """Share of the demand in each of the 24 hours of a day; empty for a level one."""
    month: tuple[float, ...] = ()
    """Share of the demand in each of the 12 months; empty for a level year."""

    back_up: GasBoiler | None = None
    """A gas boiler that gives what the plant does not; None for a user that goes without."""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.back_up is not None and not isinstance(self.back_up, GasBoiler):
            raise ParameterError("this is no boiler", where=f"{type(self).__name__}.back_up",
                                 got=repr(self.back_up)[:40], allowed="GasBoiler, or None", hint="back_up=GasBoiler()")
        for name, count in (("day", 24), ("month", 12)):
            where, shares = f"{type(self).__name__}.{name}", tuple(getattr(self, name))
            object.__setattr__(self, name, shares)
            if shares and len(shares) != count:
                raise ParameterError("wrong number of shares", where=where, got=str(len(shares)),
                                     allowed=f"{count}, or none", hint=f"{name}=(1.0,) * {count}")
            for share in shares:
                check_range(float(share), where=where, unit="-", low=LEAST_SHARE, high=1.0,
                            hint=f"{LEAST_SHARE} for hours in which nothing is wanted")

    @property
    def varies(self) -> bool:
        """Whether what is wanted changes through the year."""
        return bool(self.day or self.month)

    def wanted_share(self, site: Mapping[str, Any]) -> Any:
        """What is wanted over the demand of the design point [-], from the hour of the year and the air."""
        if "hour" not in site:  # the design point
            return np.ones(np.shape(site["ambient"]))
        return share_of_year(site["hour"], self.day, self.month)

    def prepare(self, site: Mapping[str, Any]) -> dict[str, Any]:
        return {"wanted": self.wanted_share(site)} if self.varies else {}

    def backed_up(self, name: str, year: Any, weather: Any) -> BackUp | None:
        if self.back_up is None:
            return None
        return BackUp(name, self.back_up, *wanted_and_served(self, year, weather), year.step)

    def unknowns(self) -> Iterable[Unknown]:
        return (Unknown("heat", "W", float(self.demand), low=0.0),)

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("heat", lambda v: v["heat"] + v.main.heat),
            Equation("back", lambda v: v.main.outlet.T - self.back),
            Equation("demand", lambda v: v["heat"] - self.demand, when="sizing"),
            Equation("load", lambda v: v["heat"] - v.given("load") * self.wanted(v), when="rating", role="load"),
            Equation("main.pressure", lambda v: v.main.inlet.p - v.main.outlet.p - self.drop * v.main.ratio**2),
        )

    def wanted(self, v: Any) -> Any:
        """Heat that is wanted now [W]."""
        return self.demand * v.given("wanted") if self.varies else self.demand

    def load(self, v: Any) -> Any:
        """Heat to the user over what is wanted [-]."""
        return v["heat"] / self.wanted(v)

    def terms(self, v: Any) -> Iterable[Term]:
        return (Term("heat to user", "user", v["heat"]),)

    def givens(self, v: Any) -> dict[str, tuple[float, float]]:
        return {"load": (self.minimum_load, 1.0)}

    def check(self, media: dict[str, Any]) -> None:
        media["main"].check(self.guess()["main.outlet"], where="return of the heat user")

    def guess(self) -> dict[str, float]:
        return {"main.outlet": self.back}

    def ends(self, v: Any) -> tuple[Any, Any] | None:
        """Temperature differences at the hot and the cold end of the user's exchanger [K]; None where not known."""
        return None

    def heated(self, v: Any) -> tuple[Any, Any] | None:
        """What is heated: shares of the heat from the cold end [-] and temperatures there [K]; None where not known."""
        return None

    def exchanges(self, v: Any) -> Iterable[HeatExchange]:
        heated = self.heated(v)
        return () if heated is None else (user_exchange(self, v, heated),)

    def differences(self, v: Any) -> dict[str, Any]:
        ends = self.ends(v)
        return {} if ends is None else dict(zip(("hot end", "cold end"), ends, strict=True))

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        ends = self.ends(v)
        mean = 30.0 if ends is None else float(np.squeeze(lmtd(*ends)))
        area = float(np.squeeze(v["heat"])) / (self.u * mean)
        return (book.line(self.price, quantity=area, component=v.name, item="heat exchanger of the user"),)
