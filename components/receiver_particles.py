"""A curtain of particles that falls through the light in a cavity: how much light it stops, and what it loses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from components.receiver_row import OfTemperature, kinks_of, mean_net
from components.receiver_surface import (
    GRAVITY,
    cavity_convection,
    cavity_emissivity,
    fourth_powers,
    opening_wind,
)
from components.receiver_tower import Cavity
from loopnet.params import param

__all__ = ["FallingCurtain", "curtain_transmission"]

Array = NDArray[np.float64]
Floats = float | Array

_CP_AIR = 1100.0  # [J/kgK] at 400 degC


def curtain_transmission(line_flow: Floats, speed: Floats, grain: Floats, density: Floats) -> Array:
    """Part of the light that passes a falling curtain, exp(-3 m' / (2 rho d v)): shadows of spheres, Beer's law.

    Parameters
    ----------
    line_flow : float or array, shape (points,)
        Mass flow per width of the curtain [kg/s/m].
    speed : float or array, shape (points,)
        Speed of fall [m/s].
    grain, density : float or array, shape (points,)
        Diameter [m] and density [kg/m3] of a grain.

    Returns
    -------
    array, shape (points,)
        Transmission [-].

    Examples
    --------
    Twice the flow passes the square of it.

    >>> curtain_transmission(np.array([1.0, 2.0]), 4.0, 300e-6, 3300.0).round(4)
    array([0.6847, 0.4688])
    """
    return np.exp(-1.5 * np.asarray(line_flow) / (np.asarray(density) * np.asarray(grain) * np.asarray(speed)))


@dataclass(frozen=True, kw_only=True)
class FallingCurtain(Cavity):
    """Particles fall behind the opening of a cavity, before a back wall that takes what light passes them.

    With the transmission t of the curtain and light Q at the opening, the back wall, insulated, has T_b^4 =
    (1 - t) T^4 + t Ts^4 + t Q / sigma; the opening radiates e ((1 - t^2) sigma (T^4 - Ts^4) + t^2 Q). Falling grains
    stir the air (`stir` times the free convection of a cavity) and carry air out (`entrained`, in `net`).
    Hot sand flows and burns, light blinds; dust of quartz harms lungs: local rules.

    >>> curtain = FallingCurtain(line_flow=20.0)
    >>> round(float(curtain.transmission), 4)
    0.0912
    """

    concentration: Any = param(1000.0, unit="-", low=1.0, high=46000.0, source="common practice, no source",
                               doc="collector aperture per opening")
    inside: Any = param(3.0, unit="-", low=1.0, high=100.0, source="assumption", doc="area of the walls per opening")
    opening: Any = param(8.0, unit="m", low=0.02, high=50.0, source="user", doc="height of the opening")
    depth: Any = param(12.0, unit="m", low=0.02, high=80.0, source="user", doc="height of the inside")
    down: Any = param(0.4, unit="rad", low=0.0, high=1.5708, source="assumption",
                      doc="how far the opening looks below the horizon")
    emissivity: Any = param(0.85, unit="-", low=0.01, high=1.0, source="sintered bauxite, from memory",
                            doc="of the curtain and the wall; sand is paler")
    wall_absorptance: Any = param(0.90, unit="-", low=0.1, high=1.0, source="sintered bauxite, above 0.90, seen",
                                  doc="of the particles")
    back_absorptance: Any = param(0.6, unit="-", low=0.05, high=1.0, source="assumption", doc="of the wall behind")
    line_flow: Any = param(20.0, unit="kg/s/m", low=0.1, high=500.0, source="user",
                           doc="design flow per width of the curtain")
    grain: Any = param(350e-6, unit="m", low=1e-5, high=5e-3, source="common practice, no source",
                       doc="diameter of a particle")
    grain_density: Any = param(3300.0, unit="kg/m**3", low=500.0, high=8000.0, source="sintered bauxite, from memory",
                               doc="density of a particle")
    light: Any = param(0.6, unit="-", low=0.0, high=1.0, source="common practice, no source",
                       doc="light at the opening over direct sun on the mirrors")
    stir: Any = param(2.0, unit="-", low=0.0, high=20.0, source="assumption",
                      doc="convection over that of a cavity with still walls")
    entrained: Any = param(0.01, unit="-", low=0.0, high=1.0, source="assumption",
                           doc="air that grains draw in and lose again, kg per kg of them")

    @property
    def transmission(self) -> float:
        """Part of the light that passes the curtain [-], at the speed half way down."""
        return float(curtain_transmission(self.line_flow, np.sqrt(GRAVITY * self.depth), self.grain,
                                          self.grain_density))

    @property
    def absorptance(self) -> float:
        """Part of the light through the opening that stays inside [-], for the optics."""
        t, curtain, back = self.transmission, self.wall_absorptance, self.back_absorptance
        once = (1.0 - t) * curtain + t * (back + (1.0 - back) * (1.0 - t) * curtain)
        return float(cavity_emissivity(once, self.inside))

    @property
    def wall_concentration(self) -> float:
        """No wall stands between light and particles [-]."""
        return 0.0

    def per_opening(self, surface: Floats, ambient: Floats, wind: Floats, light: Floats = 0.0) -> Array:
        """Loss per opening [W/m2] at curtain and ambient temperature [K], wind [m/s] and light there [W/m2]."""
        hot, cold = np.asarray(surface, float), np.asarray(ambient, float)
        t2 = self.transmission**2
        black = (1.0 - t2) * fourth_powers(hot, cold - self.sky_drop) + t2 * np.asarray(light)
        free = self.stir * cavity_convection(hot, cold, self.opening, self.depth, self.down)
        through = (free + self.shell) * self.inside + opening_wind(hot, cold, self.opening, wind)
        return cavity_emissivity(self.emissivity, self.inside) * black + through * (hot - cold)

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats = 0.0, dni: Floats = 0.0) -> Array:
        """Loss [W/m2 of aperture] at medium temperature and ambient [K], wind [m/s], direct sun [W/m2]."""
        sun = np.asarray(dni, float)
        light = self.light * sun * self.concentration
        return self.per_opening(np.asarray(temperature) + self.rise * sun, ambient, wind, light) / self.concentration

    def net(self, h_in: Floats, h_out: Floats, absorbed: Floats, loss: OfTemperature, medium: Any,
            ambient: Floats, pressure: Floats | None = None) -> Array:
        """Net heat per aperture [W/m2] of the particles between two enthalpies [J/kg], less the air they heat."""
        row = mean_net(h_in, h_out, absorbed, loss, lambda h: medium.T(h, pressure), kinks_of(medium, pressure))
        middle = 0.5 * (np.asarray(medium.T(h_in, pressure)) + np.asarray(medium.T(h_out, pressure)))
        rise = np.asarray(h_out, float) - np.asarray(h_in, float)
        return row * rise / (rise + self.entrained * _CP_AIR * (middle - np.asarray(ambient)))

    def findings(self, temperature: Floats, absorbed: Floats, medium: Any) -> list[str]:
        """Warnings at outlet temperatures [K] and absorbed heat [W/m2 of aperture]; see `Receiver.findings`."""
        found = super().findings(temperature, absorbed, medium)
        if self.transmission > 0.3:
            found.append(f"{self.transmission:.0%} of the light passes the curtain and heats the wall behind: more "
                         "flow per width, finer grains or a shorter fall")
        return found
