"""The row: the tube that one flow passes through on its way along many devices, and what lies between them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import pi
from typing import Any

from components.boiling import boiling_drop
from components.friction import pressure_drop
from components.pipe_heat import conductance_per_metre
from components.piping import Insulation, Steel, insulation_volume, steel_mass
from loopnet.errors import ParameterError
from loopnet.params import Parameters, param

__all__ = ["Row"]

STEEL, WALL = Steel(), 3e-3
"""Steel of a row, and its wall [m]; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Row(Parameters):
    """The tube of one row: what makes pressure drop, and for small devices the pipe between them.

    `components.field_piping.FieldPiping` makes one from the size and spacing of devices.
    """

    aperture: Any = param(unit="m^2", low=0.1, high=1e7, source="user", doc="aperture that one tube serves")
    length: Any = param(unit="m", low=0.1, high=1e6, source="user", doc="length of the tube, there and back")
    pipe: Any = param(None, unit="m", low=0.0, high=1e6, optional=True, source="user",
                      doc="part of the length outside receivers; all of it where there is insulation, none if not")
    diameter: Any = param(0.066, unit="m", low=1e-3, high=3.0, source="common practice, no source",
                          doc="inner diameter")
    fittings: Any = param(40.0, unit="-", low=0.0, high=1e6, source="common practice, no source",
                          doc="loss coefficient of bends, ball joints and valves of one row, in velocity heads")
    joints: Any = param(0.0, unit="-", low=0.0, high=1e6, source="user", doc="flexible joints to be bought, per row")
    joint_length: Any = param(0.5, unit="m", low=0.0, high=20.0, source="assumption",
                              doc="insulated pipe that loses as much as one joint")
    valves: Any = param(0.0, unit="-", low=0.0, high=1e3, source="user", doc="valves to be bought, per row")
    insulation: Insulation | None = None
    """Insulation of the pipe between devices; None where the receiver itself is the tube."""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.pipe is not None and self.pipe > self.length:
            raise ParameterError("more pipe than the row is long", where="Row.pipe", got=f"{self.pipe:g} m",
                                 allowed=f"0 to {self.length:g} m", hint="length is receivers and pipe together")

    @property
    def outside(self) -> float:
        """Length outside receivers [m]."""
        if self.pipe is not None:
            return float(self.pipe)
        return 0.0 if self.insulation is None else float(self.length)

    @property
    def tube(self) -> float:
        """Length of the receivers [m]."""
        return float(self.length - self.outside) if self.pipe is not None else float(self.length)

    def drop(self, side: Any, flow: Any) -> Any:
        """Pressure drop [Pa] along a row with this flow [kg/s] of the side's medium, which may boil on its way."""
        fluid, inlet, outlet = side.medium, side.inlet, side.outlet
        if fluid.phase == "steam":
            return boiling_drop(fluid, flow, inlet.h, outlet.h, inlet.p, self.diameter, self.length,
                                minor=self.fittings)
        middle = 0.5 * (inlet.T + outlet.T)
        density = fluid.rho(middle, inlet.p) if fluid.phase == "gas" else fluid.rho(middle)
        return pressure_drop(flow, density, fluid.mu(middle), self.diameter, self.length, minor=self.fittings)

    def conductance(self, temperature: Any, ambient: Any, wind: Any) -> Any:
        """Of the pipe and joints outside receivers, per aperture [W/K per m2], at its temperature [K]."""
        if self.insulation is None:
            return 0.0
        per_metre = conductance_per_metre(temperature, ambient, self.diameter * 1.06, self.insulation, wind)
        return per_metre * (self.outside + self.joints * self.joint_length) / self.aperture

    def loss(self, temperature: Any, ambient: Any, wind: Any) -> Any:
        """Heat loss per aperture [W/m2] of the pipe between devices, at its temperature [K]."""
        return self.conductance(temperature, ambient, wind) * (temperature - ambient)

    def hold(self, temperature: Any, ambient: Any, wind: Any, aperture: Any) -> Any:
        """Heat that keeps the pipes of a field of some aperture [m2] at a temperature [K] at night [W].

        What the receivers lose then is theirs to say; off sun it is their own loss at that temperature.
        """
        return self.loss(temperature, ambient, wind) * aperture

    def heat_capacity(self, fluid: Any, temperature: float, pressure: float | None = None) -> float:
        """Of the filled tube, per aperture [J/K per m2]; a medium that boils is taken at its pressure [Pa]."""
        density, cp = _held(fluid, temperature, pressure)
        per_metre = pi / 4 * self.diameter**2 * density * cp + float(steel_mass(self.diameter, WALL, STEEL)) * STEEL.cp
        return float(per_metre * self.length / self.aperture)

    def findings(self, temperature: Any, ambient: Any, where: str = "row") -> list[str]:
        """Warnings at medium and ambient temperatures [K]: insulation beyond what its conductivity was fitted to."""
        return [] if self.insulation is None else self.insulation.findings(temperature, ambient, where)

    def costs(self, book: Any, component: str, fluid: Any, temperature: float, aperture: float,
              pressure: float | None = None) -> Iterable[Any]:
        """Cost lines of all rows of a field: pipes between devices, joints, valves, and the medium in them."""
        rows = aperture / self.aperture
        if self.insulation is not None:
            yield book.line("duct.steel", component=component, item="pipes between devices",
                            quantity=rows * self.outside * float(steel_mass(self.diameter, 2.5e-3, STEEL)))
            yield book.line(self.insulation.price, component=component, item="insulation between devices",
                            quantity=rows * self.outside * float(insulation_volume(self.diameter, self.insulation)))
        for key, item, each in (("pipe.flexible_joint", "flexible joints", self.joints),
                                ("pipe.valve", "valves of rows", self.valves)):
            if each > 0:  # priced by bore
                yield book.line(key, component=component, item=item, quantity=rows * each * self.diameter)
        if book[fluid.price_key].value > 0:
            volume = rows * self.length * pi / 4 * self.diameter**2
            yield book.line(fluid.price_key, component=component, item="medium in rows",
                            quantity=volume * _held(fluid, temperature, pressure)[0])


def _held(fluid: Any, temperature: float, pressure: float | None) -> tuple[float, float]:
    """Density [kg/m3] and heat capacity [J/kgK] of what stands in a tube; boiling water is reckoned as liquid."""
    if fluid.phase != "steam" or pressure is None:
        return float(fluid.rho(temperature, pressure)), float(fluid.cp(temperature, pressure))
    cooler = min(temperature, float(fluid.T_sat(pressure)) - 1.0)
    return float(fluid.rho(cooler, pressure)), float(fluid.cp(cooler, pressure))
