"""The beam that a mirror sends to a receiver: how wide errors and image make it, what air takes, and what spills."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.params import Parameters, param

__all__ = ["FlatOpening", "Mirror", "Opening", "RoundOpening", "attenuation", "caught", "image"]

Array = NDArray[np.float64]
Floats = float | Array

FITTED = 3000.0
"""Distance to which the fits of attenuation hold [m]."""
_CLEAR = (0.99326, -0.1046, 0.017, -0.002845)
_HAZY = (0.98707, -0.2748, 0.03394, 0.0)


@dataclass(frozen=True, kw_only=True)
class Mirror(Parameters):
    """A mirror that turns about a vertical and a horizontal axis, and the errors of what it reflects.

    >>> mirror = Mirror(width=1.0, height=1.0)
    >>> round(mirror.area, 3), round(1e3 * mirror.spread, 2)
    (1.0, 3.93)
    """

    width: Any = param(5.0, unit="m", low=0.05, high=30.0, source="common practice, no source (1 to 150 m2 are built)",
                       doc="level edge")
    height: Any = param(4.0, unit="m", low=0.05, high=30.0, source="common practice, no source", doc="other edge")
    curvature: Any = param(1.0, unit="-", low=0.0, high=1.0, source="common practice, no source",
                           doc="distance to the receiver over focal length: 1 = focused on it, 0 = flat")
    sun_shape: Any = param(2.33e-3, unit="rad", low=0.0, high=0.02, doc="of the sun's disc, per axis, one sigma",
                           source="uniform disc of 4.65 mrad half-angle: 4.65/2")
    slope_error: Any = param(1.5e-3, unit="rad", low=0.0, high=0.05, source="common practice, no source (1 to 2 mrad)",
                             doc="of the mirror's surface, per axis, one sigma")
    tracking_error: Any = param(0.5e-3, unit="rad", low=0.0, high=0.05, source="common practice, no source",
                                doc="of the mirror's axes, per axis, one sigma")

    @property
    def area(self) -> float:
        """Width x height [m2]."""
        return float(self.width * self.height)

    @property
    def diagonal(self) -> float:
        """Of the circle in which it turns [m]."""
        return float(np.hypot(self.width, self.height))

    @property
    def spread(self) -> float:
        """Standard deviation of the reflected beam per axis [rad]: errors of the mirror count twice."""
        return float(np.sqrt(self.sun_shape**2 + (2 * self.slope_error) ** 2 + (2 * self.tracking_error) ** 2))


@dataclass(frozen=True, kw_only=True)
class Opening(Parameters):
    """Where the light enters the receiver, at the tower's top. Sizes left out are chosen by the field."""

    width: Any = param(None, unit="m", low=0.05, high=100.0, source="user", optional=True,
                       doc="none: two standard deviations of the farthest mirror's image to either side")
    height: Any = param(None, unit="m", low=0.05, high=100.0, source="user", optional=True, doc="none: as the width")

    @property
    def area(self) -> float:
        """Surface that the light falls on [m2]."""
        raise NotImplementedError

    def seen(self, elevation: Floats, bearing: Floats) -> tuple[Array, Array]:
        """Width and height [m] across beams that rise at an elevation, from mirrors at a bearing off the centre [rad]:
        one number each if the bearing makes no difference."""
        raise NotImplementedError

    def sized(self, width: float) -> Opening:
        """Itself, with `width` [m] where a size was left out."""
        return replace(self, width=self.width or width, height=self.height or self.width or width)


@dataclass(frozen=True, kw_only=True)
class RoundOpening(Opening):
    """Alike from all sides: a cylinder of tubes, a ring of curtains, cavities all around; width is its diameter."""

    @property
    def area(self) -> float:
        return float(np.pi * self.width * self.height)

    def seen(self, elevation: Floats, bearing: Floats) -> tuple[Array, Array]:
        return np.full_like(np.asarray(elevation, float), self.width), self.height * np.cos(elevation)


@dataclass(frozen=True, kw_only=True)
class FlatOpening(Opening):
    """A plane opening that faces along the field's centre line, leaned downward; dark to mirrors behind it."""

    tilt: Any = param(0.2, unit="rad", low=0.0, high=np.pi / 2, source="common practice, no source",
                      doc="by which it looks below the horizon; pi/2 = straight down")

    @property
    def area(self) -> float:
        return float(self.width * self.height)

    def seen(self, elevation: Floats, bearing: Floats) -> tuple[Array, Array]:
        """The two edges across the beam; their parallelogram is taken as the rectangle of equal area and shape."""
        up, turn = np.broadcast_arrays(np.asarray(elevation, float), np.asarray(bearing, float))
        front = np.maximum(np.cos(up) * np.cos(turn) * np.cos(self.tilt) + np.sin(up) * np.sin(self.tilt), 0.0)
        level = np.sqrt(np.maximum(1.0 - (np.cos(up) * np.sin(turn)) ** 2, 1e-12))
        rise = np.cos(self.tilt) * np.sin(up) - np.sin(self.tilt) * np.cos(up) * np.cos(turn)
        lean = np.sqrt(np.maximum(1.0 - rise**2, 1e-12))
        shrink = np.sqrt(front / (level * lean))
        return self.width * level * shrink, self.height * lean * shrink


def attenuation(distance: Floats, visual_range: float = 23e3) -> Array:
    """Part of the reflected beam that the air between mirror and receiver lets through.

    Clear air, visual range 23 km: 0.99326 - 0.1046 S + 0.017 S^2 - 0.002845 S^3; hazy air, 5 km: 0.98707 - 0.2748 S +
    0.03394 S^2; S in km. Between (and to cleaner air) its logarithm goes linearly with 1 / visual range.

    Parameters
    ----------
    distance : float or array, any shape
        From mirror to receiver [m]; fitted to 3 km, beyond which it falls exponentially as at the last.
    visual_range : float
        How far one sees [m].

    Returns
    -------
    array, same shape
        Transmittance [-].

    References
    ----------
    Vittitoe & Biggs, ISES American Section meeting, Denver (1978); coefficients from memory.

    Examples
    --------
    >>> attenuation(np.array([100.0, 1000.0])).round(4)
    array([0.983 , 0.9028])
    >>> attenuation(np.array([100.0, 1000.0]), visual_range=5e3).round(4)
    array([0.9599, 0.7462])
    """
    s = np.asarray(distance, float) / 1000.0
    share = (1e3 / visual_range - 1 / 23) / (1 / 5 - 1 / 23)
    return np.exp((1 - share) * _log(s, _CLEAR) + share * _log(s, _HAZY))


def _log(s: Array, coefficients: tuple[float, ...]) -> Array:
    """Logarithm of a polynomial in s [km], straight beyond the range of the fit."""
    fit = np.polynomial.Polynomial(coefficients)
    last = FITTED / 1000.0
    slope = float(fit.deriv()(last) / fit(last))
    return np.log(fit(np.minimum(s, last))) + slope * np.maximum(s - last, 0.0)


def image(mirror: Mirror, cos: Floats) -> tuple[Array, Array]:
    """Extent of the image that a mirror without errors throws of a point sun.

    In the plane of incidence d |cos(theta) - c|, across it d |1 - c cos(theta)|, c the curvature: focal lengths
    f cos(theta) and f / cos(theta) of a tilted mirror; at c = 1 both are d (1 - cos(theta)).

    Parameters
    ----------
    mirror : Mirror
        Its geometric mean edge is d, whichever edge lies in the plane of incidence.
    cos : float or array, any shape
        Cosine of incidence [-].

    Returns
    -------
    within, across : array, same shape
        Extents [m].

    References
    ----------
    The usual focal lengths of oblique spherical mirrors, e.g. Born & Wolf, Principles of Optics, section 4.6 (memory).

    Examples
    --------
    >>> [round(float(x), 3) for x in image(Mirror(width=4.0, height=4.0, curvature=0.0), 0.8)]
    [3.2, 4.0]
    """
    d, c = np.sqrt(mirror.area), np.asarray(cos, float)
    return d * np.abs(c - mirror.curvature), d * np.abs(1.0 - mirror.curvature * c)


def caught(width: Floats, height: Floats, distance: Floats, mirror: Mirror, cos: Floats) -> Array:
    """Part of a mirror's beam that falls into an opening, the product of what passes its width and its height.

    An even image of extent e, blurred by a Gaussian of deviation s, passes a width w with the part
    [G((w + e) / 2) - G((w - e) / 2)] / e, G(x) = x erf(x / sqrt(2) s) + s sqrt(2 / pi) exp(-x^2 / 2 s^2); a point with
    erf(w / sqrt(8) s). The extent is the root mean square of the two of `image`: how they lie to the opening changes
    from mirror to mirror.

    Parameters
    ----------
    width, height : float or array, any shape
        Of the opening across the beam [m].
    distance : float or array, any shape
        From mirror to opening [m].
    mirror : Mirror
        Size, curvature and errors.
    cos : float or array, any shape
        Cosine of incidence on the mirror [-].

    Returns
    -------
    array, broadcast shape
        Intercept [-].

    Examples
    --------
    Two standard deviations on either side catch 0.9545 squared.

    >>> mirror = Mirror()
    >>> print(round(float(caught(4 * mirror.spread, 4 * mirror.spread, 1.0, mirror, 1.0)), 4))
    0.9111
    """
    from scipy.special import erf

    sigma = np.maximum(mirror.spread * np.asarray(distance, float), 1e-9)
    within, across = image(mirror, cos)
    extent = np.maximum(np.sqrt(0.5 * (within**2 + across**2)), 1e-3 * sigma)

    def primitive(x: Array) -> Array:
        y = x / (np.sqrt(2.0) * sigma)
        return np.asarray(x * erf(y) + np.sqrt(2.0 / np.pi) * sigma * np.exp(-np.minimum(y * y, 700.0)))

    def passes(size: Floats) -> Array:
        return np.minimum((primitive((size + extent) / 2) - primitive((size - extent) / 2)) / extent, 1.0)

    return passes(width) * passes(height)
