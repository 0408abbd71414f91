"""Receivers that heat air: an open porous front that sucks it in and part of what returns, and a window over one
under pressure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from components.receiver import Receiver
from components.receiver_row import OfTemperature, mean_net, return_air_factor
from components.receiver_surface import cavity_emissivity, fourth_powers, grey_exchange
from components.receiver_table import TabledReceiver, balance
from loopnet.params import param

__all__ = ["OpenVolumetric", "WindowedAir", "black_fraction"]

Array = NDArray[np.float64]
Floats = float | Array

_SECOND = 1.438776877e-2
"""Second radiation constant [m K], CODATA 2018."""


def black_fraction(wavelength: float, temperature: Floats) -> Array:
    """Part of black-body radiation at wavelengths below one.

    15/pi^4 sum exp(-n z)/n (z^3 + 3 z^2/n + 6 z/n^2 + 6/n^3), z = c2 / (lambda T), twelve terms.

    Parameters
    ----------
    wavelength : float
        The wavelength [m].
    temperature : float or array, shape (points,)
        Of the surface [K], up to some 12,000 um K over the wavelength.

    Returns
    -------
    array, shape (points,)
        Part [-].

    References
    ----------
    Incropera et al., 7th ed., table 12.2 (memory): 0.480877 at 4000 um K.

    Examples
    --------
    >>> round(float(black_fraction(4e-6, 1000.0)), 5)
    0.48086
    """
    z = _SECOND / (wavelength * np.maximum(np.asarray(temperature, float), 1.0))
    terms = (np.exp(-n * z) / n * (z**3 + 3.0 * z**2 / n + 6.0 * z / n**2 + 6.0 / n**3) for n in range(1, 13))
    return np.asarray(15.0 / np.pi**4 * sum(terms, np.zeros_like(z)))


@dataclass(frozen=True, kw_only=True)
class OpenVolumetric(Receiver):
    """A porous front in the open, through which a fan draws air: it radiates, wind sweeps it, and of the warm air that
    returns to it only `return_ratio` is drawn in again; ambient air makes up the rest.

    The front has one temperature, set by the outlet, so that the loss is that of the outlet and not of a row. Useful
    heat is (absorbed - loss) (h_out - h_return) / (h_out - h_mixed).
    """

    concentration: Any = param(700.0, unit="-", low=1.0, high=5000.0, source="common practice, no source",
                               doc="collector aperture per front")
    emissivity: Any = param(0.90, unit="-", low=0.01, high=1.0, source="silicon carbide, from memory",
                            doc="effective, of the front with its pores")
    absorptance: Any = param(0.94, unit="-", low=0.1, high=1.0, source="silicon carbide, from memory",
                             doc="light that the front keeps")
    front: Any = param(1.0, unit="-", low=0.3, high=1.5, source="assumption",
                       doc="front above ambient over hot air above ambient; below 1 if light goes deep")
    gusty: Any = param(1.0, unit="J/m**3/K", low=0.0, high=100.0, source="assumption",
                       doc="convection per wind speed [W/m2K per m/s]; still air is all drawn in")
    return_ratio: Any = param(0.46, unit="-", low=0.0, high=1.0, source="Hoffschmidt et al., J. Sol. Energy Eng. 125 "
                              "(2003) 87, seen", doc="part of the returned air that is drawn in again")
    sky_drop: Any = param(0.0, unit="K", low=0.0, high=60.0, source="assumption",
                          doc="how much colder than the air the surroundings radiate")
    flux_limit: Any = param(1.2e6, unit="W/m**2", low=1e3, high=1e8, source="tested to 0.9 MW/m2 (Hoffschmidt et al. "
                            "2003, seen); limit an assumption", optional=True)
    peak: Any = param(1.6, unit="-", low=1.0, high=20.0, source="common practice, no source",
                      doc="highest flux over the mean one")
    surface_limit: Any = param(1473.15, unit="K", low=300.0, high=2500.0, source="silicon carbide, from memory",
                               optional=True)

    validity = (473.15, 1123.15)
    """Hot air [K]: tested to 840 degC (Hoffschmidt et al. 2003, seen)."""

    @property
    def wall_concentration(self) -> float:
        """Collector aperture per front [-]."""
        return float(self.concentration)

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats = 0.0, dni: Floats = 0.0) -> Array:
        """Loss [W/m2 of aperture] at hot air and ambient [K], wind [m/s], direct sun [W/m2]."""
        cold = np.asarray(ambient, float)
        over = self.front * (np.asarray(temperature, float) - cold) + self.rise * np.asarray(dni)
        radiation = self.emissivity * fourth_powers(cold + over, cold - self.sky_drop)
        return (radiation + self.gusty * np.asarray(wind) * over) / self.concentration

    def net(self, h_in: Floats, h_out: Floats, absorbed: Floats, loss: OfTemperature, medium: Any,
            ambient: Floats, pressure: Floats | None = None) -> Array:
        """Net heat per aperture [W/m2] that the air takes up between return and outlet [J/kg]."""
        def at(h: Array) -> Any:
            return medium.T(h, pressure)

        air = return_air_factor(h_out, h_in, np.asarray(medium.h(ambient, pressure)), self.return_ratio)
        return air * mean_net(h_out, h_out, absorbed, loss, at)


@dataclass(frozen=True, kw_only=True)
class WindowedAir(TabledReceiver):
    """Air under pressure behind a quartz window: short waves leave through it, long ones heat it.

    The front radiates eps sigma T^4 F(lambda T) straight out; the rest is taken by the window, which gives it to wind
    and surroundings. What the incoming air takes from the window stays in the balance and is left out.
    A window under pressure can burst: shields, and licensed practice.
    """

    concentration: Any = param(1500.0, unit="-", low=10.0, high=10000.0, source="user",
                               doc="collector aperture per opening, after a secondary concentrator")
    inside: Any = param(3.0, unit="-", low=1.0, high=100.0, source="user", doc="area of the front per opening")
    emissivity: Any = param(0.90, unit="-", low=0.01, high=1.0, source="silicon carbide, from memory",
                            doc="of the front behind the window")
    wall_absorptance: Any = param(0.90, unit="-", low=0.1, high=1.0, source="silicon carbide, from memory",
                                  doc="light that the front keeps")
    window: Any = param(2.0, unit="-", low=1.0, high=10.0, source="assumption", doc="area of the dome per opening")
    window_emissivity: Any = param(0.90, unit="-", low=0.1, high=1.0, source="fused quartz at long waves, from memory",
                                   doc="of the window at long waves")
    transmittance: Any = param(0.92, unit="-", low=0.3, high=1.0, source="fused quartz, two surfaces, from memory",
                               doc="of the window for sunlight")
    cutoff: Any = param(3.8e-6, unit="m", low=2e-6, high=6e-6, source="fused quartz of some mm, from memory",
                        doc="wavelength up to which the window lets light through")
    shell: Any = param(0.5, unit="W/m**2/K", low=0.0, high=20.0, source="common practice, no source",
                       doc="through the insulation, per area of the front")
    sky_drop: Any = param(0.0, unit="K", low=0.0, high=60.0, source="assumption",
                          doc="how much colder than the air the surroundings radiate")
    window_limit: Any = param(1173.15, unit="K", low=500.0, high=1500.0, source="fused quartz, from memory",
                              doc="what the window stands for long")

    span: ClassVar[float] = 1200.0
    validity = (473.15, 1373.15)
    """Hot air [K] (assumption)."""

    @property
    def absorptance(self) -> float:
        """Part of the light at the opening that stays inside [-], for the optics."""
        return float(self.transmittance * cavity_emissivity(self.wall_absorptance, self.inside))

    @property
    def wall_concentration(self) -> float:
        """Collector aperture per front [-]."""
        return float(self.concentration / self.inside)

    def _long(self, temperature: Array) -> Array:
        """Black radiation at waves that the window stops [W/m2]."""
        return fourth_powers(temperature, 0.0) * (1.0 - black_fraction(self.cutoff, temperature))

    def window_temperature(self, temperature: Floats, ambient: Floats, wind: Floats) -> Array:
        """Temperature of the window [K] at front and ambient [K] and wind [m/s]; solved, not tabulated."""
        hot, cold, v = np.broadcast_arrays(*(np.asarray(x, float) for x in (temperature, ambient, wind)))
        sky = cold - self.sky_drop
        return balance(lambda t: self._to_window(hot, t) - self._outside(t, cold, v, sky), np.minimum(hot, sky),
                       np.maximum(hot, cold))

    def _to_window(self, hot: Array, window: Array) -> Array:
        """Long waves from front to window, per opening [W/m2]."""
        factor = grey_exchange(cavity_emissivity(self.emissivity, self.inside), self.window_emissivity,
                               1.0 / self.window)
        return factor * (self._long(hot) - self._long(window))

    def _outside(self, window: Array, cold: Array, wind: Array, sky: Array) -> Array:
        air = (2.8 + 3.0 * wind) * self.window * (window - cold)
        return air + self.window_emissivity * (self._long(window) - self._long(sky))

    def exact(self, temperature: Floats, ambient: Floats, wind: Floats) -> Array:
        """Loss [W/m2 of aperture] at front and ambient [K] and wind [m/s]."""
        hot, cold = np.asarray(temperature, float), np.asarray(ambient, float)
        short = fourth_powers(hot, cold - self.sky_drop) - self._long(hot) + self._long(cold - self.sky_drop)
        glass = self.window_temperature(hot, cold, wind)
        direct = cavity_emissivity(self.emissivity, self.inside) * self.transmittance * short
        return (direct + self._to_window(hot, glass) + self.shell * self.inside * (hot - cold)) / self.concentration

    def findings(self, temperature: Floats, absorbed: Floats, medium: Any) -> list[str]:
        """Warnings at outlet temperatures [K] and absorbed heat [W/m2 of aperture]; the window's at 20 degC, calm."""
        found = super().findings(temperature, absorbed, medium)
        window = float(np.max(self.window_temperature(np.max(temperature), 293.15, 0.0)))
        if window > self.window_limit:
            found.append(f"window reaches {window - 273.15:.0f} degC without cooling, above the "
                         f"{self.window_limit - 273.15:.0f} degC it stands: lead cold air along it, or a cooler outlet")
        return found
