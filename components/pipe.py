"""Header pipes: the hot or cold pipe that joins the ends of many rows, stepped along its length, with its heat loss."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from math import pi
from typing import Any, ClassVar

import numpy as np

from components.economic_pipe import PipeDuty, PipeMoney, optimal_pipe
from components.field_piping import FieldPiping
from components.friction import diameter_for_velocity
from components.legs import Leg, Stuff, conductances, drop, lost_share, stuff
from components.piping import Insulation, Steel
from loopnet.errors import ParameterError
from loopnet.params import param
from loopnet.plant import Component, Equation, Term, Unknown

__all__ = ["HeaderPipe"]

VELOCITY = {"liquid": 2.2, "gas": 22.0, "steam": 30.0}
"""Design velocity by phase [m/s]; common practice, no source."""
DENSE = 200.0
"""Above this density [kg/m3] whatever flows is taken for a liquid: feedwater on its way to rows in which it boils."""
PER_APERTURE, RUNNER = 0.0025, 100.0
"""Header per aperture [1/m] and runner [m] where neither layout nor number is given; assumptions."""
TAPS = 50.0
"""Rows along a header whose layout is not told [-]; assumption."""


@dataclass(frozen=True, kw_only=True)
class HeaderPipe(Component):
    """Insulated header, its diameter stepped so that velocity stays while flow is given to, or collected from, rows.

    Its length grows with the field it serves. Sizing sets the diameter from the design velocity. `layout` tells where
    it runs; without one it is a runner and a header, or several of them side by side.
    """

    family: ClassVar[str] = "pipe"
    phases: ClassVar[dict[str, tuple[str, ...]]] = {"main": ("liquid", "gas", "steam")}

    serves: str = ""
    """Name of the field whose rows it joins; empty for a pipe of fixed length."""
    layout: FieldPiping | None = None
    """Of the field it serves: runner, main header and branch headers; it takes the place of the three
    numbers that follow."""
    length_per_aperture: Any = param(None, unit="1/m", low=0.0, high=10.0, optional=True,
                                     source="row spacing over twice the aperture of a row, rows on both sides",
                                     doc="header length per aperture of the field it serves; 0.0025 if left out")
    runner: Any = param(None, unit="m", low=0.0, high=1e5, optional=True, source="assumption",
                        doc="length beside the header; 100 m if left out")
    parallel: Any = param(None, unit="-", low=1.0, high=100.0, optional=True, source="user",
                          doc="equal headers side by side, whole; 1 if left out")
    velocity: Any = param(None, unit="m/s", low=0.05, high=80.0, optional=True, source="common practice, no source",
                          doc="design velocity; by phase of the medium where none is given")
    insulation: Insulation = field(default_factory=lambda: Insulation(thickness=0.15))
    """Of the whole header."""
    steel: Steel = field(default_factory=Steel)
    """Of its wall."""

    def unknowns(self) -> Iterable[Unknown]:
        return (Unknown("diameter", "m", 3.0, low=0.0, hardware=True),)

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("energy", lambda v: v.main.outlet.h - self._outlet(v)),
            Equation("velocity", lambda v: v["diameter"] - self._bore(v), when="sizing"),
            Equation("main.pressure", lambda v: v.main.inlet.p - v.main.outlet.p - v.once("drop", lambda: drop(
                self.legs(v), v.main.m, v.main.inlet.rho, v.main.inlet.mu, self._whole(v)))),
        )

    def _velocity(self, v: Any) -> Any:
        if self.velocity is not None:
            return self.velocity
        return np.where(v.main.inlet.rho > DENSE, VELOCITY["liquid"], VELOCITY[v.main.medium.phase])

    @property
    def _count(self) -> float:
        return 1.0 if self.parallel is None else float(self.parallel)

    def _bore(self, v: Any) -> Any:
        """Inner diameter at the large end [m]: when sizing, of the flow itself, so that no far guess of it misleads."""
        if not v.sizing:
            return v["diameter"]
        return diameter_for_velocity(v.main.m / self._count, v.main.inlet.rho, self._velocity(v))

    def _whole(self, v: Any) -> Any:
        """Inner diameter of one pipe for the whole flow [m]."""
        return self._bore(v) * self._count**0.5

    def legs(self, v: Any) -> list[Leg]:
        """Stages from the large end to the farthest row."""
        aperture = v.other(self.serves)["aperture"] if self.serves else 0.0
        if self.layout is not None:
            return self.layout.legs(aperture)
        runner = Leg("runner", self._count, RUNNER if self.runner is None else self.runner)
        if not self.serves:
            return [runner]
        per = PER_APERTURE if self.length_per_aperture is None else self.length_per_aperture
        return [runner, Leg("header", self._count, per * aperture / self._count, taps=TAPS)]

    def _conductances(self, v: Any) -> Any:
        """Of each stage, all its pipes together [W/K]."""
        return v.once("conductance", lambda: conductances(
            self.legs(v), v.main.inlet.T, v.site("ambient"), self._whole(v), self.insulation, v.site("wind")))

    def _outlet(self, v: Any) -> Any:
        def enthalpy() -> Any:
            inlet = v.main.inlet
            cp = inlet.cp
            lost = lost_share(self.legs(v), self._conductances(v), v.main.m * cp)
            return inlet.h - cp * (inlet.T - v.site("ambient")) * lost

        return v.once("outlet", enthalpy)

    def check(self, media: dict[str, Any]) -> None:
        if self.layout is not None and not self.serves:
            raise ParameterError("a layout is that of a field", where="HeaderPipe.layout", got="no field named",
                                 allowed="serves with layout", hint='serves="field"')

        told = [n for n in ("length_per_aperture", "runner", "parallel") if getattr(self, n) is not None]
        if self.layout is not None and told:
            raise ParameterError("the layout already says where the header runs", where=f"HeaderPipe.{told[0]}",
                                 got=f"{getattr(self, told[0]):g}", allowed="layout, or numbers, not both",
                                 hint=f"change the layout, or leave out {', '.join(told)}")

    def findings(self, v: Any) -> Iterable[str]:
        return self.insulation.findings(v.main.inlet.T, v.site("ambient"), v.name)

    def hold(self, v: Any, temperature: Any) -> Any:
        """Heat that keeps the filled pipe at a temperature [K] while nothing flows [W], at the air of a view.

        Each stage is taken at that temperature all along: what trace heating or a trickle of flow has to supply.
        """
        legs, ambient = self.legs(v), v.site("ambient")
        each = conductances(legs, temperature, ambient, self._whole(v), self.insulation, v.site("wind"))
        return sum(each) * (temperature - ambient)

    def terms(self, v: Any) -> Iterable[Term]:
        return (Term("pipe heat", "loss", -v.main.heat),)

    def optimised(self, v: Any, money: PipeMoney) -> HeaderPipe:
        """The same header with the insulation and the velocity at which its sized self costs least in a year.

        `v` views the sized design point; put the header back into the drawing and size again.
        """
        inlet = v.main.inlet
        flow, density, temperature = float(v.main.m[0]), float(np.squeeze(inlet.rho)), float(inlet.T[0])
        legs = [Leg(leg.name, *(None if x is None else float(np.squeeze(x)) for x in (leg.count, leg.length, leg.taps)))
                for leg in self.legs(v)]
        duty = PipeDuty(flow=flow, density=density, viscosity=float(np.squeeze(inlet.mu)), temperature=temperature,
                        gauge=max(float(inlet.p[0]) - 1e5, 0.0))
        whole, thickness = optimal_pipe(duty, money, insulation=self.insulation, steel=self.steel, legs=legs)
        return replace(self, insulation=replace(self.insulation, thickness=thickness),
                       velocity=flow / (density * pi / 4.0 * whole**2))

    def _stuff(self, v: Any) -> Stuff:
        """Steel, insulation and contents at the design point."""
        gauge = max(float(v.main.inlet.p[0]) - 1e5, 1e4)
        return stuff(self.legs(v), float(np.squeeze(self._whole(v))), self.insulation, self.steel, gauge)

    def warm_up(self, v: Any) -> tuple[float, float, float]:
        """Heat content above ambient [J], the time in which the pipe cools [s], and its temperature [K], at the
        design point."""
        made, inlet = self._stuff(v), v.main.inlet
        temperature = float(inlet.T[0])
        content = (made.inside * float(np.squeeze(inlet.rho)) * float(np.squeeze(inlet.cp))
                   + made.steel * self.steel.cp)
        conductance = float(np.squeeze(sum(self._conductances(v))))
        return content * (temperature - float(v.site("ambient")[0])), content / conductance, temperature

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        made, fluid = self._stuff(v), v.main.medium
        yield book.line("pipe.steel_erected" if fluid.phase != "gas" else "duct.steel", component=v.name, item="steel",
                        quantity=made.steel)
        yield book.line(self.insulation.price, component=v.name, item="insulation", quantity=made.insulation)
        if book[fluid.price_key].value > 0:
            yield book.line(fluid.price_key, component=v.name, item="medium inside",
                            quantity=made.inside * float(np.squeeze(v.main.inlet.rho)))
