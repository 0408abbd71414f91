"""A user of process heat: takes heat from a loop at what it brings and sends it back at a set temperature."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from loopnet.params import param
from loopnet.plant import Component, Equation, Term, Unknown

__all__ = ["HeatUser"]


@dataclass(frozen=True, kw_only=True)
class HeatUser(Component):
    """Kiln, dryer, boiler house or town that takes heat from a loop.

    The flow is controlled so that the medium leaves at `back`; the year asks for a share of the design demand.
    """

    family: ClassVar[str] = "user"

    demand: Any = param("10 MW", unit="W", low=1.0, high=5e9, source="user", doc="heat at the design point")
    back: Any = param(unit="K", low=250.0, high=1400.0, source="user", doc="temperature at which the medium leaves")
    drop: Any = param("0.1 bar", unit="Pa", low=0.0, high=3e6, source="common practice, no source",
                      doc="pressure drop at the design point")
    minimum_load: Any = param(0.1, unit="-", low=0.01, high=1.0, source="assumption", doc="least share of the demand")
    start_hours: Any = param(0.0, unit="s", low=0.0, high=36000.0, source="assumption", doc="heat of a start, as time")
    price: str = "exchanger.shell_tube"
    u: Any = param(500.0, unit="W/m^2/K", low=5.0, high=6000.0, source="common practice, no source",
                   doc="overall coefficient, for the area at 30 K mean difference")

    def unknowns(self) -> Iterable[Unknown]:
        return (Unknown("heat", "W", float(self.demand), low=0.0),)

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("heat", lambda v: v["heat"] + v.main.heat),
            Equation("back", lambda v: v.main.outlet.T - self.back),
            Equation("demand", lambda v: v["heat"] - self.demand, when="sizing"),
            Equation("load", lambda v: v["heat"] - v.given("load") * self.demand, when="rating", role="load"),
            Equation("main.pressure", lambda v: v.main.inlet.p - v.main.outlet.p - self.drop * v.main.ratio**2),
        )

    def load(self, v: Any) -> Any:
        """Heat to the user over the demand [-]."""
        return v["heat"] / self.demand

    def terms(self, v: Any) -> Iterable[Term]:
        return (Term("heat to user", "user", v["heat"]),)

    def givens(self, v: Any) -> dict[str, tuple[float, float]]:
        return {"load": (self.minimum_load, 1.0)}

    def check(self, media: dict[str, Any]) -> None:
        media["main"].check(self.back, where="return of the heat user")

    def guess(self) -> dict[str, float]:
        return {"main.outlet": self.back}

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        area = float(np.squeeze(v["heat"])) / (self.u * 30.0)
        return (book.line(self.price, quantity=area, component=v.name, item="heat exchanger of the user"),)
