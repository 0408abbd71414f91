"""Header pipes: the hot or cold pipe that joins the ends of many rows, stepped along its length, with its heat loss."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np

from components.friction import diameter_for_velocity, header_drop
from components.pipe_heat import cooling_time, header_conductance, outlet_enthalpy
from components.piping import (
    Insulation,
    Steel,
    insulation_volume,
    steel_mass,
    wall_thickness,
)
from loopnet.params import param
from loopnet.plant import Component, Equation, Term, Unknown

__all__ = ["HeaderPipe"]

VELOCITY = {"liquid": 2.2, "gas": 22.0}
"""Design velocity by phase [m/s]; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class HeaderPipe(Component):
    """Insulated header, its diameter stepped so that velocity stays while flow is given to, or collected from, rows.

    Its length grows with the field it serves. Sizing sets the diameter from the design velocity.
    """

    family: ClassVar[str] = "pipe"
    phases: ClassVar[dict[str, tuple[str, ...]]] = {"main": ("liquid", "gas")}

    serves: str = ""
    """Name of the field whose rows it joins; empty for a pipe of fixed length."""
    length_per_aperture: Any = param(0.0025, unit="1/m", low=0.0, high=10.0,
                                     source="row spacing over twice the aperture of a row, rows on both sides",
                                     doc="header length per aperture of the field it serves")
    runner: Any = param(100.0, unit="m", low=0.0, high=1e5, source="assumption", doc="length beside the header")
    parallel: Any = param(1.0, unit="-", low=1.0, high=100.0, source="user", doc="equal headers side by side, whole")
    velocity: Any = param(None, unit="m/s", low=0.05, high=80.0, optional=True, source="common practice, no source",
                          doc="design velocity; by phase of the medium where none is given")
    insulation: Insulation = field(default_factory=lambda: Insulation(thickness=0.15))
    steel: Steel = field(default_factory=Steel)

    def unknowns(self) -> Iterable[Unknown]:
        return (Unknown("diameter", "m", 3.0, low=0.0, hardware=True),)

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("energy", lambda v: v.main.outlet.h - self._outlet(v)),
            Equation("velocity", lambda v: v["diameter"] - diameter_for_velocity(
                v.main.m / self.parallel, v.main.inlet.rho, self._velocity(v)), when="sizing"),
            Equation("main.pressure", lambda v: v.main.inlet.p - v.main.outlet.p - v.once("drop", lambda: header_drop(
                v.main.m / self.parallel, v.main.inlet.rho, v.main.medium.mu(v.main.inlet.T), v["diameter"],
                self.length(v)))),
        )

    def _velocity(self, v: Any) -> float:
        return self.velocity if self.velocity is not None else VELOCITY[v.main.medium.phase]

    def length(self, v: Any) -> Any:
        """Length of each of the parallel headers [m]."""
        if not self.serves:
            return self.runner
        return self.runner + self.length_per_aperture * v.other(self.serves)["aperture"] / self.parallel

    def _conductance(self, v: Any) -> Any:
        """Of all headers together [W/K]."""
        return v.once("conductance", lambda: self.parallel * header_conductance(
            v.main.inlet.T, v.site("ambient"), v["diameter"] * 1.03, self.length(v), self.insulation, v.site("wind")))

    def _outlet(self, v: Any) -> Any:
        inlet = v.main.inlet
        return v.once("outlet", lambda: outlet_enthalpy(inlet.h, inlet.T, v.site("ambient"), self._conductance(v),
                                                        v.main.m, v.main.medium.cp(inlet.T), header=True))

    def terms(self, v: Any) -> Iterable[Term]:
        return (Term("pipe heat", "loss", -v.main.heat),)

    def warm_up(self, v: Any) -> tuple[float, float]:
        """Heat content above ambient [J] and the time in which the pipe cools [s], at the design point."""
        fluid, inlet = v.main.medium, v.main.inlet
        diameter, length = float(v["diameter"][0]) * 2 / 3, float(np.squeeze(self.length(v))) * self.parallel
        temperature, ambient = float(inlet.T[0]), float(v.site("ambient")[0])
        density = float(np.squeeze(inlet.rho))
        wall = float(wall_thickness(max(float(inlet.p[0]) - 1e5, 1e4), diameter, self.steel))
        heat = length * (density * np.pi / 4 * diameter**2 * float(fluid.cp(temperature))
                         + float(steel_mass(diameter, wall, self.steel)) * self.steel.cp) * (temperature - ambient)
        per_metre = float(np.squeeze(self._conductance(v))) / length
        return heat, float(cooling_time(per_metre, diameter, wall, density, float(fluid.cp(temperature)), self.steel))

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        diameter, length = float(v["diameter"][0]) * 2 / 3, float(np.squeeze(self.length(v))) * self.parallel
        fluid, inlet = v.main.medium, v.main.inlet
        wall = float(wall_thickness(max(float(inlet.p[0]) - 1e5, 1e4), diameter, self.steel))
        yield book.line("pipe.steel_erected" if fluid.phase != "gas" else "duct.steel", component=v.name, item="steel",
                        quantity=length * float(steel_mass(diameter, wall, self.steel)))
        yield book.line("insulation.mineral_wool", component=v.name, item="insulation",
                        quantity=length * float(insulation_volume(diameter, self.insulation)))
        if book[fluid.price_key].value > 0:
            yield book.line(fluid.price_key, component=v.name, item="medium inside",
                            quantity=length * np.pi / 4 * diameter**2 * float(np.squeeze(inlet.rho)))
