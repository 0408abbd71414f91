"""The receiver row as plug flow: heat balance integrated over the enthalpy of the medium, whatever the loss
depends on, with media that boil on the way; and the air that an open receiver does not get back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "aperture_per_flow", "kinks_of", "mean_loss", "mean_net", "reaches", "return_air_factor", "row_flow",
]

Array = NDArray[np.float64]
Floats = float | Array
OfTemperature = Callable[[Array], Floats]

_x, _w = np.polynomial.legendre.leggauss(12)
_NODES, _WEIGHTS = 1 - ((1 - _x) / 2) ** 2, _w * (1 - _x) / 2  # crowded toward the outlet, where 1/net is steepest
_FLOOR = 0.02


def _inverse(net: Array, floor: Array) -> Array:
    """1/net down to the floor; below it, the tangent of 1/x at the floor."""
    return np.where(net >= floor, 1.0 / np.maximum(net, floor), (2.0 * floor - net) / floor**2)


def mean_net(h_in: Floats, h_out: Floats, absorbed: Floats, loss: OfTemperature,
             temperature_of_h: OfTemperature, kinks: Sequence[Floats] = ()) -> Array:
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
        Loss per aperture [W/m2] of the temperature [K]; takes and returns shape (nodes, points).
    temperature_of_h : callable
        Temperature [K] of the enthalpy [J/kg]; takes and returns shape (nodes, points).
    kinks : sequence of float or array, each of shape (points,)
        Enthalpies [J/kg], rising, where T(h) bends (see `kinks_of`): the row is integrated between them.

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
    given = (np.asarray(a, float) for a in (h_in, h_out, absorbed, *kinks))
    h_in, h_out, absorbed, *bends = np.broadcast_arrays(*given)
    low, high = np.minimum(h_in, h_out), np.maximum(h_in, h_out)
    edges = [low, *(np.clip(bend, low, high) for bend in bends), high] if bends else [h_in, h_out]
    shape = (-1,) + (1,) * h_in.ndim
    nodes, weights = _NODES.reshape(shape), _WEIGHTS.reshape(shape)
    h = np.concatenate([start + (end - start) * nodes for start, end in pairwise(edges)])
    net = absorbed - np.asarray(loss(np.asarray(temperature_of_h(h))))
    inverse = _inverse(net, _FLOOR * np.abs(absorbed) + 1.0).reshape((len(edges) - 1, _NODES.size, *h_in.shape))
    each = np.sum(weights * inverse, axis=1)
    if not bends:
        return np.asarray(1.0 / each[0])
    whole = edges[-1] - edges[0]
    share = np.diff(np.array(edges), axis=0) / np.where(whole > 0.0, whole, 1.0)
    share[0] += whole <= 0.0
    return np.asarray(1.0 / np.sum(share * each, axis=0))


def kinks_of(medium: Any, pressure: Floats | None = None) -> tuple[Floats, ...]:
    """Where T(h) of a medium bends: boiling starts and ends, or grains change their crystal.

    Parameters
    ----------
    medium : Medium
        Of the row.
    pressure : float or array, shape (points,), optional
        Pressure of a medium that boils [Pa].

    Returns
    -------
    tuple of float or array, each of shape (points,)
        Enthalpies, rising [J/kg]; none if T(h) is smooth.

    Examples
    --------
    >>> from loopnet.media import medium
    >>> [round(h / 1e3) for h in kinks_of(medium("water"), 50e5)], kinks_of(medium("air"))
    ([1155, 2794], ())
    """
    if not getattr(medium, "pressure_free", True) and pressure is not None:
        return medium.h_f(pressure), medium.h_g(pressure)
    return tuple(float(medium.h(t)) for t in getattr(medium, "transition", ()))


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
        Loss per aperture [W/m2] of the temperature [K]; takes and returns shape (nodes, points).
    temperature_of_h : callable
        Temperature [K] of the enthalpy [J/kg]; takes and returns shape (nodes, points).

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
        Loss per aperture [W/m2] of the temperature [K]; takes and returns shape (nodes, points).
    temperature_of_h : callable
        Temperature [K] of the enthalpy [J/kg]; takes and returns shape (nodes, points).

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
        Loss per aperture [W/m2] of the temperature [K]; takes and returns shape (nodes, points).
    temperature_of_h : callable
        Temperature [K] of the enthalpy [J/kg]; takes and returns shape (nodes, points).

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
