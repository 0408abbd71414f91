"""Receivers that mirrors aim at: a cavity with its opening, and a cylinder of salt tubes in the open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from components.receiver import Receiver
from components.receiver_surface import (
    cavity_convection,
    cavity_emissivity,
    fourth_powers,
    opening_wind,
    salt_cylinder_convection,
)
from loopnet.errors import ParameterError
from loopnet.params import param

__all__ = ["Cavity", "SaltCylinder"]

Array = NDArray[np.float64]
Floats = float | Array


@dataclass(frozen=True, kw_only=True)
class Cavity(Receiver):
    """Walls, or tubes before them, behind an opening: for steam, air or oil, on a tower or in a dish.

    Loss per opening: effective emissivity sigma (T^4 - Ts^4); free convection inside, which falls as the opening turns
    down; wind across the opening; insulation behind the walls. A wall of one temperature is assumed. The wind term is
    that of a plate, and a gust along the axis of a small cavity can do more.

    >>> level, down = (Cavity(down=angle) for angle in (0.0, np.pi / 2))
    >>> bool(level(973.15, 298.15) > down(973.15, 298.15))
    True
    """

    concentration: Any = param(700.0, unit="-", low=1.0, high=46000.0, source="common practice, no source",
                               doc="collector aperture per opening")
    inside: Any = param(4.0, unit="-", low=1.0, high=100.0, source="user", doc="area of the walls per opening")
    heated: Any = param(None, unit="-", low=0.05, high=100.0, source="user", optional=True,
                        doc="area where the medium is behind the wall, per opening; none: all of the walls")
    opening: Any = param(1.0, unit="m", low=0.02, high=50.0, source="user", doc="diameter or side of the opening")
    depth: Any = param(1.5, unit="m", low=0.02, high=80.0, source="user", doc="diameter or height of the inside")
    down: Any = param(0.0, unit="rad", low=0.0, high=1.5708, source="user",
                      doc="how far the opening looks below the horizon, mean of the hours")
    emissivity: Any = param(0.85, unit="-", low=0.01, high=1.0, source="oxidised or painted metal, from memory",
                            doc="of the walls at long waves")
    wall_absorptance: Any = param(0.90, unit="-", low=0.1, high=1.0, source="oxidised or painted metal, from memory",
                                  doc="light that the wall keeps where it falls")
    shell: Any = param(0.4, unit="W/m**2/K", low=0.0, high=20.0, source="common practice, no source",
                       doc="through the insulation, per area of the walls")
    sky_drop: Any = param(0.0, unit="K", low=0.0, high=60.0, source="assumption",
                          doc="how much colder than the air the surroundings radiate")

    validity = (273.15, 1373.15)
    """Medium [K]: tests behind the free convection went to 700 to 1000 degC walls (memory)."""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.opening > self.depth:
            raise ParameterError("opening is larger than the inside", where=f"{type(self).__name__}.opening",
                                 got=f"{self.opening:g} m", allowed=f"to {self.depth:g} m", hint="a deeper cavity")

    @property
    def absorptance(self) -> float:
        """Part of the light through the opening that stays inside [-], for the optics."""
        return float(cavity_emissivity(self.wall_absorptance, self.inside))

    @property
    def wall_concentration(self) -> float:
        """Collector aperture per area of heated wall [-]."""
        return float(self.concentration / (self.inside if self.heated is None else self.heated))

    def per_opening(self, surface: Floats, ambient: Floats, wind: Floats) -> Array:
        """Loss per area of the opening [W/m2] at wall and ambient temperature [K] and wind [m/s]."""
        hot, cold = np.asarray(surface, float), np.asarray(ambient, float)
        radiation = cavity_emissivity(self.emissivity, self.inside) * fourth_powers(hot, cold - self.sky_drop)
        free = cavity_convection(hot, cold, self.opening, self.depth, self.down)
        through = (free + self.shell) * self.inside + opening_wind(hot, cold, self.opening, wind)
        return radiation + through * (hot - cold)

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats = 0.0, dni: Floats = 0.0) -> Array:
        """Loss [W/m2 of aperture] at medium temperature and ambient [K], wind [m/s], direct sun [W/m2]."""
        surface = np.asarray(temperature, float) + self.rise * np.asarray(dni)
        return self.per_opening(surface, ambient, wind) / self.concentration


@dataclass(frozen=True, kw_only=True)
class SaltCylinder(Receiver):
    """Panels of tubes around a cylinder in the open, salt inside: the receiver of salt towers.

    Loss per mantle: emissivity sigma (T^4 - Ts^4) + h (T - Ta), h mixed from free convection and wind over rough
    tubes. What salt and paint stand is watched: film at 600 degC or so (the medium says), flux 0.8 to 1.2 MW/m2.

    >>> tower = SaltCylinder()
    >>> round(float(tower(753.15, 293.15, 2.0)))  # W per m2 of mirror at 480 degC
    27
    """

    concentration: Any = param(820.0, unit="-", low=10.0, high=5000.0, source="81 400 m2 of mirrors over 99 m2 "
                               "(SAND2002-0120, memory)", doc="collector aperture per area of the mantle")
    diameter: Any = param(5.1, unit="m", low=0.5, high=40.0, source="SAND2002-0120 (2002), memory",
                          doc="of the cylinder of tubes")
    tube: Any = param(0.021, unit="m", low=0.005, high=0.1, source="SAND2002-0120 (2002), memory",
                      doc="outer diameter of the tubes")
    emissivity: Any = param(0.88, unit="-", low=0.01, high=1.0, source="black paint, from memory",
                            doc="of the walls at long waves")
    absorptance: Any = param(0.95, unit="-", low=0.1, high=1.0, source="black paint, from memory",
                             doc="light that the tubes keep")
    sky_drop: Any = param(0.0, unit="K", low=0.0, high=60.0, source="assumption",
                          doc="how much colder than the air the surroundings radiate")
    rise: Any = param(0.06, unit="K*m**2/W", low=0.0, high=1.0, source="430 kW/m2 over 7 kW/m2K of salt and wall",
                      doc="how much hotter the tubes are than the salt, per direct sun")
    film: Any = param(9000.0, unit="W/m**2/K", low=1.0, high=1e6, source="common practice, no source", optional=True,
                      doc="salt at 3 to 4 m/s in a tube of 20 mm")
    wall: Any = param(6e-5, unit="K*m**2/W", low=0.0, high=1e-2, source="1.25 mm of steel of 20 W/mK",
                      doc="resistance of a tube's wall, its thickness over its conductivity")
    peak: Any = param(1.6, unit="-", low=1.0, high=20.0, source="common practice, no source",
                      doc="highest flux over the mean one")
    peak_at_outlet: Any = param(1.0, unit="-", low=0.0, high=20.0, source="assumption", optional=True,
                                doc="flux where the salt is hottest over the mean: it enters where light is brightest")
    flux_limit: Any = param(0.85e6, unit="W/m**2", low=1e3, high=1e8, source="SAND2001-2100 (2001), memory",
                            optional=True)
    surface_limit: Any = param(923.15, unit="K", low=300.0, high=2500.0, source="stainless steel tubes, common "
                               "practice, no source", optional=True)

    validity = (293.15, 873.15)
    """Medium [K]: walls to 650 degC in the tests behind the correlations (memory)."""

    @property
    def wall_concentration(self) -> float:
        """Collector aperture per area of the mantle [-]; the lit side of a tube has pi/2 of it, the flux falls so."""
        return float(self.concentration)

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats = 0.0, dni: Floats = 0.0) -> Array:
        """Loss [W/m2 of aperture] at medium temperature and ambient [K], wind [m/s], direct sun [W/m2]."""
        hot, cold = np.asarray(temperature, float) + self.rise * np.asarray(dni), np.asarray(ambient, float)
        mixed = salt_cylinder_convection(hot, cold, self.diameter, self.tube, wind)
        radiation = self.emissivity * fourth_powers(hot, cold - self.sky_drop)
        return (radiation + mixed * (hot - cold)) / self.concentration

    def findings(self, temperature: Floats, absorbed: Floats, medium: Any) -> list[str]:
        """Warnings at outlet temperatures [K] and absorbed heat [W/m2 of aperture]; see `Receiver.findings`."""
        found = super().findings(temperature, absorbed, medium)
        if 0.5 * self.tube / self.diameter > 900e-5:
            found.append(f"tubes of {self.tube * 1e3:.0f} mm are coarse for a cylinder of {self.diameter:g} m: wind "
                         "correlations end at a roughness of 0.9 %, whose value is used")
        return found
