"""The row: the tube that one flow passes through on its way along many devices, and what lies between them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from components.friction import pressure_drop
from components.pipe_heat import conductance_per_metre
from components.piping import Insulation, Steel, insulation_volume, steel_mass
from loopnet.params import Parameters, param

__all__ = ["Row"]


@dataclass(frozen=True, kw_only=True)
class Row(Parameters):
    """The tube of one row: what makes pressure drop, and for small devices the pipe between them."""

    aperture: Any = param(unit="m^2", low=0.1, high=1e6, source="user", doc="aperture that one tube serves")
    length: Any = param(unit="m", low=0.1, high=1e5, source="user", doc="length of the tube, there and back")
    diameter: Any = param(0.066, unit="m", low=1e-3, high=3.0, source="common practice, no source",
                          doc="inner diameter")
    fittings: Any = param(40.0, unit="-", low=0.0, high=1e4, source="common practice, no source",
                          doc="loss coefficient of bends, ball joints and valves of one row, in velocity heads")
    insulation: Insulation | None = None
    """Insulation of the pipe between devices; None where the receiver itself is the tube."""

    def drop(self, side: Any, flow: Any) -> Any:
        """Pressure drop [Pa] along a row with this flow [kg/s] of the side's medium."""
        fluid = side.medium
        middle = 0.5 * (side.inlet.T + side.outlet.T)
        density = fluid.rho(middle, side.inlet.p) if fluid.phase == "gas" else fluid.rho(middle)
        return pressure_drop(flow, density, fluid.mu(middle), self.diameter, self.length, minor=self.fittings)

    def loss(self, temperature: Any, ambient: Any, wind: Any) -> Any:
        """Heat loss per aperture [W/m2] of the pipe between devices, at its temperature [K]."""
        if self.insulation is None:
            return 0.0
        per_metre = conductance_per_metre(temperature, ambient, self.diameter * 1.06, self.insulation, wind)
        return per_metre * (temperature - ambient) * self.length / self.aperture

    def heat_capacity(self, fluid: Any, temperature: float) -> float:
        """Of the filled tube, per aperture [J/K per m2]."""
        volume = np.pi / 4 * self.diameter**2
        steel = np.pi * self.diameter * 3e-3 * 7850.0 * 550.0
        per_metre = volume * float(fluid.rho(temperature)) * float(fluid.cp(temperature)) + steel
        return float(per_metre * self.length / self.aperture)

    def costs(self, book: Any, component: str, fluid: Any, temperature: float, aperture: float) -> Iterable[Any]:
        """Cost lines of all rows of a field: the pipes between devices and the medium in them."""
        length = aperture / self.aperture * self.length
        if self.insulation is not None:
            yield book.line("duct.steel", component=component, item="pipes between devices",
                            quantity=length * float(steel_mass(self.diameter, 2.5e-3, Steel())))
            yield book.line("insulation.mineral_wool", component=component, item="insulation between devices",
                            quantity=length * float(insulation_volume(self.diameter, self.insulation)))
        if book[fluid.price_key].value > 0:
            volume = length * np.pi / 4 * self.diameter**2
            yield book.line(fluid.price_key, component=component, item="medium in rows",
                            quantity=volume * float(fluid.rho(temperature)))
