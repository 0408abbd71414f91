"""Heat loss of receivers per collector aperture, and the receiver row as plug flow integrated along its length:
small functions of temperature that hold for tubes, cavities and particle curtains alike."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.params import Parameters, param

__all__ = [
    "AIR_TOWER", "PARTICLE_CURTAIN", "SALT_TOWER", "TUBE_1990S", "CavityLoss", "Receiver", "TubeLoss",
    "aperture_per_flow", "mean_loss", "mean_net", "reaches", "return_air_factor", "row_flow",
]

Array = NDArray[np.float64]
Floats = float | Array
OfTemperature = Callable[[Array], Floats]

STEFAN_BOLTZMANN = 5.670374419e-8
"""CODATA 2018 [W/m2K4]."""
ZERO_CELSIUS = 273.15
_x, _w = np.polynomial.legendre.leggauss(12)
_NODES, _WEIGHTS = 1 - ((1 - _x) / 2) ** 2, _w * (1 - _x) / 2  # crowded toward the outlet, where 1/net is steepest
_FLOOR = 0.02


@dataclass(frozen=True, kw_only=True)
class Receiver(Parameters):
    """What takes the concentrated light: its loss per collector aperture as a function of temperature.

    A receiver overrides `__call__`; one that mixes or wastes medium on the way also overrides `net`.
    """

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats = 0.0, dni: Floats = 0.0) -> Array:
        """Loss [W/m2 of aperture] at medium temperature and ambient [K], wind [m/s], direct sun [W/m2]."""
        raise NotImplementedError

    def net(self, h_in: Floats, h_out: Floats, absorbed: Floats, loss: OfTemperature, medium: Any,
            ambient: Floats) -> Array:
        """Net heat per aperture [W/m2] that the medium takes up between two enthalpies [J/kg]; see `mean_net`."""
        return mean_net(h_in, h_out, absorbed, loss, medium.T)

    def findings(self, temperature: Floats, absorbed: Floats, medium: Any) -> list[str]:
        """Warnings at outlet temperatures [K] and absorbed heat [W/m2 of aperture]: flux, film and validity limits."""
        return []


@dataclass(frozen=True, kw_only=True)
class TubeLoss(Receiver):
    """Evacuated tube in a trough: off-sun test, W per metre of tube = linear T + quartic T^4, T in degC.

    Only the excess over the tube at ambient temperature counts, f(T) - f(Ta), so that the loss goes smoothly to
    zero at ambient, changing sign there. Measured at 100 to 500 degC; the wind does not reach an evacuated absorber.

    Source of the defaults: Burkholder & Kutscher, NREL/TP-550-45633 (2009); equation from memory.

    >>> tube = TubeLoss()
    >>> round(float(tube.per_metre(673.15)), 1)  # table value 222.3 W/m at 400 degC
    222.3
    >>> round(float(tube(673.15, 298.15)), 2), float(tube(298.15, 298.15))
    (37.91, 0.0)
    """

    linear: Any = param(0.141, unit="W/m/K", low=0.0, high=100.0, source="NREL/TP-550-45633 (2009), memory")
    quartic: Any = param(6.48e-9, unit="W/m/K**4", low=0.0, high=1e-6, source="NREL/TP-550-45633 (2009), memory")
    aperture_width: Any = param(5.77, unit="m", low=0.05, high=50.0, source="Geyer et al., SolarPACES 2002 (memory)")
    rise: Any = param(0.0, unit="K*m**2/W", low=0.0, high=1.0, source="assumption",
                      doc="how much hotter the absorber is than the medium, per direct sun; 0.013 for oil is usual")

    validity = (373.15, 773.15)
    """Absorber temperature [K] within which the defaults were measured; beyond, the polynomial is an extrapolation."""

    def per_metre(self, temperature: Floats) -> Array:
        """The published polynomial [W/m] at absorber temperature [K]."""
        t = np.asarray(temperature) - ZERO_CELSIUS
        return self.linear * t + self.quartic * np.square(t * t)

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats = 0.0, dni: Floats = 0.0) -> Array:
        """Loss [W/m2 of aperture] at medium temperature and ambient [K], wind [m/s], direct sun [W/m2]."""
        hot = np.asarray(temperature) + self.rise * np.asarray(dni)
        return (self.per_metre(hot) - self.per_metre(ambient)) / self.aperture_width + 0.0 * np.asarray(wind)


# The tubes of the 1990s: the shape of the 2008 test scaled to 370 W/m at 400 degC (Burkholder, Brandemuehl, Kutscher,
# Wolfrum, ASME ES2007-36241, seen) on the 5 m aperture of SAND94-1884 (seen).
TUBE_1990S = TubeLoss(linear=0.141 * 370 / 222.3, quartic=6.48e-9 * 370 / 222.3, aperture_width=5.0, rise=0.013)


@dataclass(frozen=True, kw_only=True)
class CavityLoss(Receiver):
    """An opening that radiates and is swept by air: tower receivers, cavities, particle curtains.

    Loss per opening is emissivity sigma (T^4 - Ta^4) + (still + gusty v) (T - Ta); per collector aperture it is that
    over the concentration, the ratio of the collectors' aperture to the opening. Zero at ambient.
    What the opening reflects is `absorptance`, for the optics. Concentrated light blinds and burns: access
    and aiming follow local rules.

    >>> ideal = CavityLoss(emissivity=1.0, concentration=1000.0, still=0.0, gusty=0.0)
    >>> round(1 - float(ideal(973.15, 0.0)) / 1000, 4)  # black body at 700 degC under 1000 suns
    0.9491
    """

    emissivity: Any = param(0.9, unit="-", low=0.0, high=1.0, source="assumption", doc="effective, of the opening")
    concentration: Any = param(700.0, unit="-", low=1.0, high=46000.0, source="common practice, no source",
                               doc="collector aperture per opening")
    still: Any = param(10.0, unit="W/m**2/K", low=0.0, high=500.0, source="assumption", doc="convection in still air")
    gusty: Any = param(1.5, unit="J/m**3/K", low=0.0, high=100.0, source="assumption",
                       doc="more convection per wind speed [W/m2K per m/s]")
    absorptance: Any = param(0.94, unit="-", low=0.0, high=1.0, source="common practice, no source")
    rise: Any = param(0.0, unit="K*m**2/W", low=0.0, high=1.0, source="assumption",
                      doc="how much hotter the surface is than the medium, per direct sun")

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats = 0.0, dni: Floats = 0.0) -> Array:
        """Loss [W/m2 of aperture] at medium temperature and ambient [K], wind [m/s], direct sun [W/m2]."""
        hot, cold = np.asarray(temperature) + self.rise * np.asarray(dni), np.asarray(ambient)
        radiation = self.emissivity * STEFAN_BOLTZMANN * (np.square(hot * hot) - np.square(cold * cold))
        return (radiation + (self.still + self.gusty * np.asarray(wind)) * (hot - cold)) / self.concentration


# Emissivity and absorptance of painted tubes, wind terms and rise: common practice, no source.
SALT_TOWER = CavityLoss(emissivity=0.88, concentration=700.0, still=10.0, gusty=1.5, absorptance=0.94, rise=0.06)
# The matrix takes its loss at the front, which air cools from behind; the air that escapes is in return_air_factor.
AIR_TOWER = CavityLoss(emissivity=0.90, concentration=700.0, still=0.0, gusty=1.0, absorptance=0.94)
# A curtain in a cavity without window: air that is drawn in dominates. Assumption, set to the published class of
# 80 to 90 % near 700 degC.
PARTICLE_CURTAIN = CavityLoss(emissivity=0.90, concentration=1000.0, still=30.0, gusty=5.0, absorptance=0.95)


def _inverse(net: Array, floor: Array) -> Array:
    """1/net down to the floor; below it, the tangent of 1/x at the floor."""
    return np.where(net >= floor, 1.0 / np.maximum(net, floor), (2.0 * floor - net) / floor**2)


def mean_net(h_in: Floats, h_out: Floats, absorbed: Floats, loss: OfTemperature,
             temperature_of_h: OfTemperature) -> Array:
    """Net heat per aperture that, times the aperture, is the heat the medium takes up in the row.

    1 / mean_net = mean over the enthalpy of 1 / (absorbed - loss(T(h))), by twelve-point Gauss-Legendre in
    the square root of the way left to the outlet (1e-8 while absorbed > 1.3 loss at the outlet).

    Parameters
    ----------
    h_in, h_out : float or array, shape (points,)
        Enthalpy of the medium at inlet and outlet [J/kg].
    absorbed : float or array, shape (points,)
        Heat absorbed per aperture [W/m2].
    loss : callable
        Loss per aperture [W/m2] of the temperature [K]; takes and returns shape (12, points).
    temperature_of_h : callable
        Temperature [K] of the enthalpy [J/kg]; takes and returns shape (12, points).

    Returns
    -------
    array, shape (points,)
        Net heat per aperture [W/m2], always positive.

    Notes
    -----
    Where the sun does not cover the loss (net below 2 % of absorbed plus 1 W/m2), 1/net goes on along its
    tangent: continuous with its slope, finite and increasing with loss, so that Newton finds its way back. The number
    there means "no flow to speak of", not physics: ask `reaches`.

    Examples
    --------
    A loss that does not depend on temperature leaves absorbed - loss:

    >>> print(round(float(mean_net(0.0, 1e5, 700.0, lambda t: 100.0 + 0 * t, lambda h: 300.0 + h / 2000)), 9))
    600.0
    """
    h_in, h_out, absorbed = np.broadcast_arrays(np.asarray(h_in, float), np.asarray(h_out, float),
                                                np.asarray(absorbed, float))
    shape = (-1,) + (1,) * h_in.ndim
    h = h_in + (h_out - h_in) * _NODES.reshape(shape)
    net = absorbed - np.asarray(loss(np.asarray(temperature_of_h(h))))
    return np.asarray(1.0 / np.sum(_WEIGHTS.reshape(shape) * _inverse(net, _FLOOR * np.abs(absorbed) + 1.0), axis=0))


def aperture_per_flow(h_in: Floats, h_out: Floats, absorbed: Floats, loss: OfTemperature,
                      temperature_of_h: OfTemperature) -> Array:
    """Aperture that a unit of flow needs, A / m = integral of dh / (absorbed - loss(T(h))).

    Parameters
    ----------
    h_in, h_out : float or array, shape (points,)
        Enthalpy of the medium at inlet and outlet [J/kg].
    absorbed : float or array, shape (points,)
        Heat absorbed per aperture [W/m2].
    loss : callable
        Loss per aperture [W/m2] of the temperature [K]; takes and returns shape (12, points).
    temperature_of_h : callable
        Temperature [K] of the enthalpy [J/kg]; takes and returns shape (12, points).

    Returns
    -------
    array, shape (points,)
        Aperture per flow [m2 s/kg]; finite also where the sun does not cover the loss, see `mean_net`.

    Examples
    --------
    >>> print(round(float(aperture_per_flow(0.0, 1.2e5, 700.0, lambda t: 100.0 + 0 * t, lambda h: 300.0 + h / 2e3)), 6))
    200.0
    """
    return (np.asarray(h_out) - np.asarray(h_in)) / mean_net(h_in, h_out, absorbed, loss, temperature_of_h)


def mean_loss(h_in: Floats, h_out: Floats, absorbed: Floats, loss: OfTemperature,
              temperature_of_h: OfTemperature) -> Array:
    """Loss per aperture that closes the row's balance: absorbed A = m (h_out - h_in) + mean_loss A, exactly.

    Parameters
    ----------
    h_in, h_out : float or array, shape (points,)
        Enthalpy of the medium at inlet and outlet [J/kg].
    absorbed : float or array, shape (points,)
        Heat absorbed per aperture [W/m2].
    loss : callable
        Loss per aperture [W/m2] of the temperature [K]; takes and returns shape (12, points).
    temperature_of_h : callable
        Temperature [K] of the enthalpy [J/kg]; takes and returns shape (12, points).

    Returns
    -------
    array, shape (points,)
        Mean loss [W/m2].

    Examples
    --------
    >>> print(round(float(mean_loss(0.0, 1.2e5, 700.0, lambda t: 100.0 + 0 * t, lambda h: 300.0 + h / 2e3)), 6))
    100.0
    """
    return np.asarray(absorbed) - mean_net(h_in, h_out, absorbed, loss, temperature_of_h)


def row_flow(aperture: Floats, h_in: Floats, h_out: Floats, absorbed: Floats, loss: OfTemperature,
             temperature_of_h: OfTemperature) -> Array:
    """Flow that a row of given aperture heats from h_in to h_out.

    Parameters
    ----------
    aperture : float or array, shape (points,)
        Aperture of the row [m2].
    h_in, h_out : float or array, shape (points,)
        Enthalpy of the medium at inlet and outlet, which must differ [J/kg].
    absorbed : float or array, shape (points,)
        Heat absorbed per aperture [W/m2].
    loss : callable
        Loss per aperture [W/m2] of the temperature [K]; takes and returns shape (12, points).
    temperature_of_h : callable
        Temperature [K] of the enthalpy [J/kg]; takes and returns shape (12, points).

    Returns
    -------
    array, shape (points,)
        Mass flow [kg/s].

    Examples
    --------
    >>> print(round(float(row_flow(400.0, 0.0, 1.2e5, 700.0, lambda t: 100.0 + 0 * t, lambda h: 300.0 + h / 2e3)), 6))
    2.0
    """
    return np.asarray(aperture) / aperture_per_flow(h_in, h_out, absorbed, loss, temperature_of_h)


def reaches(h_out: Floats, absorbed: Floats, loss: OfTemperature, temperature_of_h: OfTemperature) -> NDArray[np.bool_]:
    """Whether the sun can bring the medium to the outlet enthalpy at all, with the margin that keeps `mean_net` exact.

    Parameters
    ----------
    h_out : float or array, shape (points,)
        Enthalpy at the outlet [J/kg].
    absorbed : float or array, shape (points,)
        Heat absorbed per aperture [W/m2].
    loss : callable
        Loss per aperture [W/m2] of the temperature [K].
    temperature_of_h : callable
        Temperature [K] of the enthalpy [J/kg].

    Returns
    -------
    array of bool, shape (points,)
        True where absorbed exceeds the loss at the outlet by 2 % of itself plus 1 W/m2 [-].

    Examples
    --------
    >>> print(reaches(1.2e5, np.array([700.0, 100.0]), lambda t: 100.0 + 0 * t, lambda h: 300.0 + h / 2e3))
    [ True False]
    """
    q = np.asarray(absorbed, float)
    return np.asarray(q - loss(np.asarray(temperature_of_h(np.asarray(h_out, float)))) >= _FLOOR * np.abs(q) + 1.0)


def return_air_factor(h_out: Floats, h_return: Floats, h_ambient: Floats, ratio: Floats) -> Array:
    """Part of an open air receiver's heat that is useful when only part of the returned warm air is sucked in again.

    (h_out - h_return) / (h_out - h_mixed), h_mixed = ratio h_return + (1 - ratio) h_ambient.

    Parameters
    ----------
    h_out, h_return, h_ambient : float or array, shape (points,)
        Enthalpy of the hot air, the returned air and the surroundings [J/kg].
    ratio : float or array, shape (points,)
        Part of the returned air that is sucked in again [-].

    Returns
    -------
    array, shape (points,)
        Useful part of the heat taken up [-].

    References
    ----------
    Hoffschmidt et al., J. Sol. Energy Eng. 125 (2003) 87, measured a ratio of 0.46 (seen).

    Examples
    --------
    >>> round(float(return_air_factor(7e5, 1.2e5, 0.25e5, 0.46)), 4)
    0.9187
    """
    mixed = np.asarray(ratio) * h_return + (1.0 - np.asarray(ratio)) * np.asarray(h_ambient)
    return (np.asarray(h_out) - np.asarray(h_return)) / (np.asarray(h_out) - mixed)
