"""Tubes along the focus of a line, their loss from geometry: under evacuated glass (or glass that lost its vacuum),
bare, and in a box behind flat glass."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from components.receiver import ZERO_CELSIUS, Receiver
from components.receiver_gap import GASES, gap_conductance
from components.receiver_surface import (
    GRAVITY,
    PRANDTL_AIR,
    air_properties,
    cylinder_convection,
    fourth_powers,
    grey_exchange,
)
from components.receiver_table import TabledReceiver, balance
from loopnet.errors import ParameterError
from loopnet.params import param

__all__ = ["BareTube", "EvacuatedTube", "GlazedBox", "Tube"]

Array = NDArray[np.float64]
Floats = float | Array


@dataclass(frozen=True, kw_only=True)
class Tube(Receiver):
    """What all tubes share: their size, the width of mirror that each serves, and a surface whose emissivity may rise
    with temperature, e0 + e1 t + e2 t^2, t in degC."""

    aperture_width: Any = param(5.77, unit="m", low=0.05, high=50.0, source="Geyer et al., SolarPACES 2002 (memory)",
                                doc="width of mirror that one tube serves")
    outer_diameter: Any = param(0.070, unit="m", low=1e-3, high=1.0, source="common practice, no source",
                                doc="of the absorber tube")
    inner_diameter: Any = param(0.066, unit="m", low=1e-3, high=1.0, source="common practice, no source",
                                doc="of the absorber tube")
    emissivity: Any = param(0.062, unit="-", low=-0.2, high=1.0, source="NREL/TP-550-45633 (2009), memory",
                            doc="e0, at 0 degC")
    emissivity_linear: Any = param(0.0, unit="1/K", low=-0.01, high=0.01, source="NREL/TP-550-45633, memory", doc="e1")
    emissivity_square: Any = param(2e-7, unit="1/K**2", low=-1e-4, high=1e-4, source="NREL/TP-550-45633, memory",
                                   doc="e2")
    sky_drop: Any = param(0.0, unit="K", low=0.0, high=60.0, source="assumption",
                          doc="how much colder than the air the surroundings radiate; a clear sky 10 to 20 K")
    film: Any = param(2000.0, unit="W/m**2/K", low=1.0, high=1e6, source="common practice, no source", optional=True,
                      doc="oil in turbulent flow; less for gases")
    peak: Any = param(2.5, unit="-", low=1.0, high=20.0, source="common practice, no source",
                      doc="flux on the side that faces the mirror over the mean around the tube")

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.inner_diameter >= self.outer_diameter:
            raise ParameterError("the bore is not smaller than the tube", where=f"{type(self).__name__}.inner_diameter",
                                 got=f"{self.inner_diameter:g} m", allowed=f"below {self.outer_diameter:g} m",
                                 hint="outer diameter less two walls")

    def emissivity_at(self, temperature: Floats) -> Array:
        """Emissivity [-] of the surface at its temperature [K]."""
        t = np.asarray(temperature, float) - ZERO_CELSIUS
        return self.emissivity + t * (self.emissivity_linear + self.emissivity_square * t)

    @property
    def wall_concentration(self) -> float:
        """Collector aperture per area of the tube's inside [-]."""
        return float(self.aperture_width / (np.pi * self.inner_diameter))


def _outside(surface: Array, ambient: Array, wind: Array, sky: Array, diameter: float, emissivity: Floats) -> Array:
    """Heat that a horizontal cylinder gives to air and sky [W/m]."""
    air = cylinder_convection(surface, ambient, diameter, wind) * (surface - ambient)
    return np.pi * diameter * (air + emissivity * fourth_powers(surface, sky))


@dataclass(frozen=True, kw_only=True)
class EvacuatedTube(Tube, TabledReceiver):
    """Absorber in an evacuated glass: radiation and thin gas to the glass, wind and sky around it.

    pi d e12 sigma (T^4 - Tg^4) + G_gas (T - Tg) = pi D (h (Tg - Ta) + eg sigma (Tg^4 - Ts^4)). A lost vacuum is air of
    1 atm (`gas_pressure=101325`), hydrogen from old oil some 10 to 100 Pa. Left out: the glass wall (1 K), sunlight
    that warms the glass, supports and bellows.

    >>> new = EvacuatedTube()
    >>> round(float(new.per_metre(673.15, 298.15, 0.0)))  # NREL/TP-550-45633: 222 W/m at 400 degC
    223
    """

    glass_diameter: Any = param(0.115, unit="m", low=2e-3, high=1.5, source="common practice, no source",
                                doc="outer, of the glass")
    glass_wall: Any = param(0.003, unit="m", low=1e-4, high=0.02, source="common practice, no source",
                            doc="thickness of the glass")
    glass_emissivity: Any = param(0.89, unit="-", low=0.1, high=1.0, source="borosilicate glass, from memory",
                                  doc="of the glass at long waves")
    gas: Literal["air", "hydrogen"] = "air"
    """What is left in the gap."""
    gas_pressure: Any = param(0.013, unit="Pa", low=1e-6, high=2e5, source="common practice, no source",
                              doc="in the gap; 0.013 Pa is the good vacuum of a new tube")

    validity = (273.15, 873.15)
    """Medium [K]: coatings of evacuated tubes are known to 600 degC at most."""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.gas not in GASES:
            raise ParameterError("no such gas", where="EvacuatedTube.gas", got=repr(self.gas),
                                 allowed=", ".join(GASES), hint="'air', with gas_pressure for how much is left")
        if self.glass_diameter - 2.0 * self.glass_wall <= self.outer_diameter:
            raise ParameterError("the glass does not go around the tube", where="EvacuatedTube.glass_diameter",
                                 got=f"{self.glass_diameter:g} m", hint="a larger glass",
                                 allowed=f"above {self.outer_diameter + 2 * self.glass_wall:g} m")

    def glass_temperature(self, temperature: Floats, ambient: Floats, wind: Floats) -> Array:
        """Temperature of the glass [K], at absorber and ambient [K] and wind [m/s]; solved, not tabulated."""
        hot, cold, v = np.broadcast_arrays(*(np.asarray(x, float) for x in (temperature, ambient, wind)))
        sky = cold - self.sky_drop
        return balance(lambda glass: self._to_glass(hot, glass) - _outside(
            glass, cold, v, sky, self.glass_diameter, self.glass_emissivity),
            np.minimum(hot, sky), np.maximum(hot, cold))

    def _to_glass(self, hot: Array, glass: Array) -> Array:
        d, inside = self.outer_diameter, self.glass_diameter - 2.0 * self.glass_wall
        factor = grey_exchange(self.emissivity_at(hot), self.glass_emissivity, d / inside)
        gas = gap_conductance(hot, glass, d, inside, self.gas, self.gas_pressure)
        return np.pi * d * factor * fourth_powers(hot, glass) + gas * (hot - glass)

    def per_metre(self, temperature: Floats, ambient: Floats, wind: Floats) -> Array:
        """Loss per metre of tube [W/m] at absorber and ambient [K] and wind [m/s]; solved, not tabulated."""
        return self._to_glass(np.asarray(temperature, float), self.glass_temperature(temperature, ambient, wind))

    def exact(self, temperature: Floats, ambient: Floats, wind: Floats) -> Array:
        """Loss [W/m2 of aperture] at absorber and ambient [K] and wind [m/s]."""
        return self.per_metre(temperature, ambient, wind) / self.aperture_width


@dataclass(frozen=True, kw_only=True)
class BareTube(Tube):
    """A tube in the open air: it radiates to the sky and the wind blows across it. Paint by default.

    >>> tube = BareTube(emissivity=0.9, aperture_width=5.0)
    >>> [round(float(tube(573.15, 298.15, wind))) for wind in (0.0, 5.0)]
    [329, 587]
    """

    emissivity: Any = param(0.9, unit="-", low=-0.2, high=1.0, source="black paint, from memory", doc="e0, at 0 degC")
    emissivity_square: Any = param(0.0, unit="1/K**2", low=-1e-4, high=1e-4, source="black paint", doc="e2")

    validity = (273.15, 923.15)
    """Medium [K]: paint and steel tubes stand 650 degC at most (common practice, no source)."""

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats = 0.0, dni: Floats = 0.0) -> Array:
        """Loss [W/m2 of aperture] at medium temperature and ambient [K], wind [m/s], direct sun [W/m2]."""
        hot, cold = np.asarray(temperature, float) + self.rise * np.asarray(dni), np.asarray(ambient, float)
        per_metre = _outside(hot, cold, np.asarray(wind, float), cold - self.sky_drop, self.outer_diameter,
                             self.emissivity_at(hot))
        return per_metre / self.aperture_width


@dataclass(frozen=True, kw_only=True)
class GlazedBox(Tube, TabledReceiver):
    """Tubes side by side, or one with fins, in an insulated box behind flat glass; up or, over mirrors, down.

    Radiation between plates and the gap's air to the glass (Hollands' convection where the glass lies above, still
    air where it lies below), wind 2.8 + 3.0 v and sky outside it, the insulated back beside.
    """

    width: Any = param(0.3, unit="m", low=0.01, high=10.0, source="user", doc="of the lit absorber")
    tubes: Any = param(4.0, unit="-", low=1.0, high=1000.0, source="user", doc="how many, side by side")
    gap: Any = param(0.05, unit="m", low=1e-3, high=1.0, source="common practice, no source", doc="tubes to glass")
    glass_width: Any = param(0.4, unit="m", low=0.01, high=20.0, source="user", doc="width of the pane")
    glass_emissivity: Any = param(0.88, unit="-", low=0.1, high=1.0, source="window glass, from memory",
                                  doc="of the glass at long waves")
    back: Any = param(0.8, unit="W/m**2/K", low=0.0, high=50.0, source="common practice, no source",
                      doc="through the insulation of back and sides, per absorber area")
    facing: Literal["up", "down"] = "down"

    validity = (273.15, 823.15)
    """Medium [K]: correlations of flat plates and coatings in air (assumption)."""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.facing not in ("up", "down"):
            raise ParameterError("no such direction", where="GlazedBox.facing", got=repr(self.facing),
                                 allowed="'up', 'down'", hint="'down' for a box above mirrors")

    @property
    def wall_concentration(self) -> float:
        """Collector aperture per area of the tubes' inside [-]."""
        return float(self.aperture_width / (self.tubes * np.pi * self.inner_diameter))

    def _to_glass(self, hot: Array, glass: Array) -> Array:
        middle = 0.5 * (hot + glass)
        k, nu = air_properties(middle)
        nusselt: Any = 1.0
        if self.facing == "up":
            grashof = GRAVITY * np.maximum(hot - glass, 0.0) * self.gap**3 / (middle * nu**2)
            nusselt = _hollands(grashof)
        factor = grey_exchange(self.emissivity_at(hot), self.glass_emissivity)
        return self.width * (factor * fourth_powers(hot, glass) + nusselt * k / self.gap * (hot - glass))

    def exact(self, temperature: Floats, ambient: Floats, wind: Floats) -> Array:
        """Loss [W/m2 of aperture] at absorber and ambient [K] and wind [m/s]."""
        hot, cold, v = np.broadcast_arrays(*(np.asarray(x, float) for x in (temperature, ambient, wind)))
        sky = cold - self.sky_drop

        def out(glass: Array) -> Array:
            return self.glass_width * ((2.8 + 3.0 * v) * (glass - cold)
                                       + self.glass_emissivity * fourth_powers(glass, sky))

        glass = balance(lambda t: self._to_glass(hot, t) - out(t), np.minimum(hot, sky), np.maximum(hot, cold))
        return (self._to_glass(hot, glass) + self.back * self.width * (hot - cold)) / self.aperture_width


def _hollands(grashof: Array) -> Array:
    """Nusselt number of air between level plates, the lower one hot, by the correlation of `ht`."""
    from ht.conv_free_enclosed import Nu_Nusselt_Rayleigh_Hollands

    return np.asarray(np.vectorize(lambda gr: Nu_Nusselt_Rayleigh_Hollands(PRANDTL_AIR, gr), otypes=[float])(grashof))
