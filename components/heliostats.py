"""Mirrors around a tower: what of the direct sun on them enters the receiver, as separate losses, for any sun and any
number of mirrors, tabulated once per field."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import atan2, pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from components.heliostat_beam import FITTED, Opening, RoundOpening, attenuation, caught
from components.heliostat_layout import TURNING, Ground, half_angle, sample_radii, spacing
from components.heliostat_shade import lit, neighbours
from components.tracking import Incidence, on_aperture
from loopnet.errors import ParameterError
from loopnet.params import param

__all__ = ["HeliostatField", "efficiency", "with_height", "with_reach"]

Array = NDArray[np.float64]
Floats = float | Array

LOSSES = ("cosine", "shading", "blocking", "attenuation", "spillage")
"""In the order in which the light meets them."""
RADII = 12
"""Radii of the sample, each standing for as many mirrors; with the bearings some 900 mirrors."""
_STEP = pi / 36
_ZENITHS = np.radians([0.0, 7.0, 14.0, 22.0, 31.0, 42.0, 52.0, 59.0, 64.0, 68.0, 71.0, 74.0, 76.5, 79.0, 81.0, 82.5,
                       84.0, 85.25, 86.5, 88.0, 89.9])
_RINGS, _EACH = 8, 4
"""Rings before and behind, and mirrors to either side, that belong to a neighbourhood."""


@dataclass(frozen=True, kw_only=True)
class HeliostatField(Ground):
    """Mirrors in staggered rings around a tower, all aimed at the middle of the receiver's opening.

    Each radius has one neighbourhood, which stands for all mirrors there. Not counted: the tower's own shadow, the
    edges of the field (where fewer neighbours shade), gaps between facets, sloping ground.

    >>> field = HeliostatField(tower_height=100.0)
    >>> beam = field.incidence(np.radians([30.0, 60.0]), np.radians([180.0, 180.0]))
    >>> {name: round(float(value[0]), 2) for name, value in beam.factors.items()}
    {'cosine': 0.79, 'shading': 1.0, 'blocking': 1.0, 'attenuation': 0.96, 'spillage': 0.98}
    """

    receiver: Opening = field(default_factory=RoundOpening)
    """The opening or cylinder at which they aim."""
    visual_range: Any = param(23e3, unit="m", low=4e3, high=60e3, source="Vittitoe & Biggs 1978 (memory)",
                              doc="23 km clear, 5 km hazy; of the air between mirrors and receiver")

    @property
    def reach(self) -> float:
        """From the farthest mirror to the receiver [m]."""
        return float(np.hypot(self.outer_radius * (1.0 + self.skew), 1.0) * self.tower_height)

    @property
    def opening(self) -> Opening:
        """The receiver's opening, with sizes left out chosen for the farthest mirror: two sigma to either side."""
        mirror = self.mirror
        blur = mirror.area * (1.0 - mirror.curvature) ** 2 / 12.0
        return self.receiver.sized(4.0 * float(np.sqrt((mirror.spread * self.reach) ** 2 + blur)))

    def incidence(self, zenith: Floats, azimuth: Floats) -> Incidence:
        """Mean beam on the mirrors for sun zenith and azimuth [rad], from a table made once per field."""
        z, a = np.broadcast_arrays(np.asarray(zenith, float), np.asarray(azimuth, float))
        turn = np.abs((a - self.centre + pi) % (2 * pi) - pi)
        found = _table(self)(np.stack([np.minimum(np.abs(z), _ZENITHS[-1]), turn], axis=-1))
        cos, *rest = np.moveaxis(found.reshape(*z.shape, len(LOSSES)), -1, 0)
        return on_aperture(cos, np.cos(z) > 0, **dict(zip(LOSSES[1:], rest, strict=True)))

    def concentration(self, aperture: Floats, zenith: Floats, azimuth: Floats) -> Array:
        """Mean light on the opening per direct sun [-] from a mirror area [m2], sun at zenith and azimuth [rad]."""
        return np.asarray(aperture) * self.incidence(zenith, azimuth).total / self.opening.area

    def findings(self, aperture: float) -> list[str]:
        """Warnings for a mirror area [m2]: more than the ground holds, or far less; air beyond what is fitted."""
        said, share = [], aperture / self.capacity
        if share > 1.02:
            said.append(f"{aperture:.4g} m2 of mirrors stand on ground for {self.capacity:.4g} m2: a higher tower, a "
                        f"larger outer_radius or a higher ground_cover")
        if share < 0.7:
            said.append(f"{aperture:.4g} m2 of mirrors fill {share:.0%} of the field, whose efficiency is that of the "
                        f"whole ({self.capacity:.4g} m2): a lower tower or a smaller outer_radius")
        if self.reach > FITTED:
            said.append(f"the farthest mirror is {self.reach:.0f} m away; attenuation is fitted to {FITTED:.0f} m and "
                        f"extrapolated")
        return said


def with_height(ground: HeliostatField, aperture: float) -> HeliostatField:
    """The same field on a tower so high that its ground holds an aperture; radii stay as they are in tower heights.

    Parameters
    ----------
    ground : HeliostatField
        The field.
    aperture : float
        Mirror area [m2].

    Returns
    -------
    HeliostatField
        With another tower height.

    Raises
    ------
    ParameterError
        If no tower will do whose height is allowed and whose inner ring has room for the mirrors.

    Examples
    --------
    >>> made = with_height(HeliostatField(), 40e3)
    >>> round(made.tower_height, 1), round(made.capacity)
    (43.2, 40000)
    """
    lowest = max(1.0, TURNING * ground.mirror.diagonal / ground.inner_radius * (1 + 1e-9))
    return _fitting(ground, "tower_height", lowest, 400.0, aperture, "another outer_radius, or with_reach")


def with_reach(ground: HeliostatField, aperture: float) -> HeliostatField:
    """The same tower with the field so wide that its ground holds an aperture.

    Parameters
    ----------
    ground : HeliostatField
        The field.
    aperture : float
        Mirror area [m2].

    Returns
    -------
    HeliostatField
        With another outer radius.

    Raises
    ------
    ParameterError
        If the ground within the allowed radius is too small or too large.

    Examples
    --------
    >>> made = with_reach(HeliostatField(tower_height=60.0), 40e3)
    >>> round(made.outer_radius, 2), round(made.capacity)
    (3.6, 40000)
    """
    nearest = 1.02 * ground.inner_radius
    return _fitting(ground, "outer_radius", nearest, 30.0, aperture, "another tower_height, or with_height")


def efficiency(ground: HeliostatField, zenith: Floats, turn: Floats, radii: int = RADII, step: float = _STEP) -> Array:
    """Factors of a field, computed mirror by mirror of a sample without any table.

    Parameters
    ----------
    ground : HeliostatField
        The field.
    zenith, turn : float or array, shape (n,)
        Of the sun [rad]; turn from the field's centre line.
    radii : int
        Radii of the sample.
    step : float
        Between bearings of the sample [rad].

    Returns
    -------
    array, shape (n, 5)
        Cosine, shading, blocking, attenuation, spillage [-]: means over the mirrors, each of what the one before left.

    Examples
    --------
    >>> efficiency(HeliostatField(), np.radians([30.0]), np.array([np.pi]), radii=4).round(2)
    array([[0.79, 1.  , 1.  , 0.96, 0.98]])
    """
    z, a = (x.ravel() for x in np.broadcast_arrays(np.atleast_1d(zenith).astype(float), np.asarray(turn, float)))
    sums = np.zeros((len(z), len(LOSSES)))
    for radius in sample_radii(ground, radii):
        limit = float(half_angle(ground, radius))
        count = max(int(np.ceil(2 * limit / step)), 3)
        bearing = limit * (2 * (np.arange(count) + 0.5) / count - 1)
        zz, bb = np.repeat(z, count), (a[:, None] - bearing).ravel()
        parts = _chain(ground, radius, zz, bb, np.tile(bearing, len(z)))
        sums += parts.reshape(len(LOSSES), len(z), count).mean(axis=-1).T / radii
    return _ratios(sums)


def _fitting(ground: HeliostatField, name: str, low: float, high: float, aperture: float, hint: str) -> HeliostatField:
    """The field with the value of one parameter, between limits, at which its ground holds the aperture [m2]."""
    from scipy.optimize import brentq

    def made(value: float) -> HeliostatField:
        changed: dict[str, Any] = {name: value}
        return replace(ground, **changed)

    def holds(value: float) -> float:
        return made(value).capacity

    least, most = holds(low), holds(high)
    if not least <= aperture <= most:
        raise ParameterError(f"no {name} suits the aperture", where=f"HeliostatField.{name}", got=f"{aperture:.4g} m2",
                             allowed=f"{least:.4g} to {most:.4g} m2", hint=hint)
    return made(float(brentq(lambda x: holds(x) / aperture - 1.0, low, high, xtol=1e-9)))


def _chain(ground: HeliostatField, radius: float, zenith: Array, bearing: Array, place: Array) -> Array:
    """What is left of the sun after each loss for mirrors at a radius, shape (5, n)."""
    cos, sunny, free = _local(ground, radius, zenith, bearing)
    through, width, height, distance = _way(ground, radius, place)
    seen = caught(width, height, distance, ground.mirror, cos)
    return np.array([cos, sunny, free, free * through, free * through * seen])


def _local(ground: HeliostatField, radius: float, zenith: Array, bearing: Array) -> tuple[Array, Array, Array]:
    """Cosine, and that times the sunny and the free part, at sun bearings from the mirror's own [rad].

    However mirrors stand, they do not catch more beam than falls on their ground: low suns, whose shadows come from
    beyond the neighbourhood, end there. Rings left out between zones make shadows come from farther: rings are taken to
    stand midway between the distance within a zone and the mean one, which meets rays cast through a whole field.
    """
    there, mirror, place = spacing(ground, radius), ground.mirror, radius * ground.tower_height
    along, density = float(there.along), float(there.density)
    apart = 0.5 * (float(there.radial) + mirror.area / (along * density))
    part = lit(zenith, bearing, atan2(1.0, radius), neighbours(place, apart, along, _RINGS, _EACH), mirror)
    beam = np.maximum(np.cos(zenith), 1e-6) / density
    sunny = np.minimum(part.cos * np.maximum(part.sunny, 1e-6), beam)
    return part.cos, sunny, sunny * np.maximum(part.free, 1e-9) / np.maximum(part.sunny, 1e-6)


def _way(ground: HeliostatField, radius: float, place: float | NDArray[Any]) -> tuple[float, Array, Array, float]:
    """Transmittance of the air, width and height of the opening as seen, and its distance."""
    distance = float(np.hypot(radius, 1.0)) * ground.tower_height
    width, height = ground.opening.seen(atan2(1.0, radius), np.asarray(place, float))
    return float(attenuation(distance, ground.visual_range)), width, height, distance


def _ratios(left: Array) -> Array:
    """Each loss as the factor on what the ones before left, along the last axis."""
    return left / np.concatenate([np.ones_like(left[..., :1]), np.maximum(left[..., :-1], 1e-300)], axis=-1)


@lru_cache(maxsize=64)
def _table(ground: HeliostatField) -> Any:
    """Interpolator of the five factors over zenith and turn of the sun.

    A neighbourhood sees the sun at turn - bearing: on a grid of equal steps all mirrors of a radius share what was
    computed once, and the mean over the sector is a weighted sum of shifted copies.
    """
    from scipy.interpolate import PchipInterpolator, RegularGridInterpolator

    half = round(pi / _STEP)
    turns = np.arange(half + 1) * _STEP
    bearings: NDArray[Any] = np.arange(-half, half + 1)
    folded = np.abs((np.arange(half + 1)[:, None] - bearings + half) % (2 * half) - half)
    zz, bb = (x.ravel() for x in np.meshgrid(_ZENITHS, turns, indexing="ij"))
    left = np.zeros((len(_ZENITHS), half + 1, len(LOSSES)))
    for radius in sample_radii(ground, RADII):
        weight = _share(float(half_angle(ground, radius)), bearings * _STEP)
        used = weight > 0
        shift, weight = folded[:, used], weight[used]
        local = [x.reshape(len(_ZENITHS), -1) for x in _local(ground, radius, zz, bb)]
        through, width, height, distance = _way(ground, radius, bearings[used] * _STEP)
        cos, sunny, free = (x[:, shift] @ weight for x in local)
        if width.ndim:
            into = (local[2][:, shift] * caught(width, height, distance, ground.mirror, local[0][:, shift])) @ weight
        else:
            into = (local[2] * caught(width, height, distance, ground.mirror, local[0]))[:, shift] @ weight
        left += np.stack([cos, sunny, free, free * through, into * through], axis=-1) / RADII
    fine = np.append(np.radians(np.arange(0.0, 89.6, 0.5)), _ZENITHS[-1])
    return RegularGridInterpolator((fine, turns), PchipInterpolator(_ZENITHS, _ratios(left), axis=0)(fine))


def _share(limit: float, bearings: NDArray[Any]) -> Array:
    """Weights of bearings in the mean from -limit to limit of a function that is straight between them."""
    def below(x: Array) -> Array:
        x = np.clip(x, -1.0, 1.0)
        return 0.5 + x - 0.5 * x * np.abs(x)

    weight = below((limit - bearings) / _STEP) - below((-limit - bearings) / _STEP)
    if limit > pi - 1e-9:
        weight[[0, -1]] = 0.5
    return weight / weight.sum()
