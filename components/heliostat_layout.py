"""Where mirrors stand around a tower: rings, staggered, as near to each other as they may without blocking.
A field of any number of mirrors is described by its spacing as a function of radius, never mirror by mirror."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from math import isclose, pi
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from components.heliostat_beam import Mirror
from loopnet.errors import ParameterError
from loopnet.params import Parameters, param

__all__ = ["Ground", "Spacing", "half_angle", "mirrors_around", "sample_radii", "spacing"]

Array = NDArray[np.float64]
Floats = float | Array

TURNING = 2.0
"""Inner radius over the diagonal of a mirror, at least: below that there is no ring to speak of."""
_FINE = 400


@dataclass(frozen=True, kw_only=True)
class Ground(Parameters):
    """The ground of a field in tower heights, and how densely mirrors stand on it.

    >>> ground = Ground(tower_height=100.0)
    >>> round(ground.area), round(ground.cover, 3), round(ground.capacity)
    (1113302, 0.214, 238762)
    """

    tower_height: Any = param(100.0, unit="m", low=1.0, high=400.0, source="common practice, no source",
                              doc="of the receiver above the mirrors")
    inner_radius: Any = param(0.75, unit="-", low=0.1, high=20.0, source="common practice, no source",
                              doc="in tower heights")
    outer_radius: Any = param(6.0, unit="-", low=0.1, high=30.0, source="common practice, no source",
                              doc="in tower heights")
    skew: Any = param(0.0, unit="-", low=0.0, high=0.9, source="user",
                      doc="the field reaches outer_radius x (1 + skew cos(bearing from the centre line))")
    sector: Any = param(pi, unit="rad", low=0.05, high=pi, source="common practice, no source",
                        doc="half-angle of the field about its centre line; pi = all around")
    centre: Any = param(0.0, unit="rad", low=-2 * pi, high=2 * pi, source="user",
                        doc="azimuth of the centre line from the tower; 0 = poleward in the north, pi in the south")
    ground_cover: Any = param(None, unit="-", low=0.001, high=0.8, source="user", optional=True,
                              doc="mirror per ground, mean of the field; none: as dense as rings go without blocking")
    mirror: Mirror = field(default_factory=Mirror)
    """One heliostat: its size, shape and errors."""

    def __post_init__(self) -> None:
        super().__post_init__()
        kind = type(self).__name__
        if self.outer_radius <= self.inner_radius:
            raise ParameterError("the field has no ground", where=f"{kind}.outer_radius",
                                 got=f"{self.outer_radius:g}", allowed=f"above inner_radius, {self.inner_radius:g}",
                                 hint="6 tower heights is usual")
        room = self.inner_radius * self.tower_height / TURNING
        if self.mirror.diagonal > room:
            raise ParameterError("a mirror is too large for the inner ring", where=f"{kind}.mirror",
                                 got=f"diagonal {self.mirror.diagonal:.3g} m", allowed=f"up to {room:.3g} m",
                                 hint="a higher tower, a larger inner_radius or smaller mirrors")
        _stretch(self)

    @property
    def area(self) -> float:
        """Ground between inner and outer edge [m2]."""
        return float(np.sum(_rings(self)[1])) * self.tower_height**2

    @property
    def cover(self) -> float:
        """Mirror per ground, mean of the field [-]."""
        radius, weight = _rings(self)
        return float(np.sum(weight * spacing(self, radius).density) / np.sum(weight))

    @property
    def capacity(self) -> float:
        """Mirror area that the ground holds [m2]."""
        return self.cover * self.area


class Spacing(NamedTuple):
    """Distances between mirrors at a radius."""

    radial: Array
    """From ring to ring within a zone [m]."""
    along: Array
    """Between neighbours of one ring, mean of a zone [m]."""
    density: Array
    """Mirror per ground, seams between zones included [-]."""
    zone: float
    """Growth of the distance along the ring within a zone of rings that have equally many mirrors [-]."""


def half_angle(ground: Ground, radius: Floats) -> Array:
    """Half-angle that the field fills at a radius: its sector, or what its skewed edge leaves.

    Parameters
    ----------
    ground : Ground
        The field.
    radius : float or array, any shape
        In tower heights [-].

    Returns
    -------
    array, same shape
        About the centre line [rad].

    Examples
    --------
    >>> half_angle(Ground(skew=0.5), np.array([2.0, 6.0, 9.0])).round(4)
    array([3.1416, 1.5708, 0.    ])
    """
    r = np.asarray(radius, float) / ground.outer_radius - 1.0
    if ground.skew < 1e-9:
        return np.where(r <= 1e-9, ground.sector, 0.0)
    return np.minimum(np.arccos(np.clip(r / ground.skew, -1.0, 1.0)), ground.sector)


def spacing(ground: Ground, radius: Floats, stretch: float | None = None) -> Spacing:
    """Distances of a radially staggered field at a radius.

    A mirror shines through the gap, at least one mirror wide, in the next ring before it, and over the mirror two
    rings before it, which is clear if 2 radial sin(e) >= height, tan(e) = 1 / radius: that is the rule for the rings.
    Near the tower the circles in which mirrors turn must not touch. Asked for another ground cover, both distances
    are stretched alike. Rings of a zone have equally many mirrors, so that distances along the ring grow; where a new
    zone begins, one ring is left out, for nothing is staggered there. Both cost ground, least if a zone grows by
    sqrt(height / tower height): small mirrors stand denser.

    Parameters
    ----------
    ground : Ground
        The field.
    radius : float or array, shape (n,)
        In tower heights [-].
    stretch : float, optional
        Factor on both distances [-]; none: the one that gives the field's ground cover.

    Returns
    -------
    Spacing
        Three arrays of shape (n,): [m], [m], [-], and the growth of a zone [-].

    Notes
    -----
    Derived here. Published fits for large mirrors (quoted in Stine & Geyer, Power From The Sun, ch. 10, from memory)
    give 2.1 to 2.3 widths along the ring, and from 20 to 45 degrees tower elevation 2 radial sin(e) = 1.3 to 1.5
    heights. The circles that turn: Siala & Elayeb, Renewable Energy 23 (2001) 77 (memory).

    Examples
    --------
    Far out, mirrors far smaller than the tower cover sin(e) of the ground.

    >>> far = spacing(Ground(mirror=Mirror(width=0.05, height=0.05), tower_height=400.0), 6.0)
    >>> round(float(far.density), 3), round(1 / 37**0.5, 3)
    (0.163, 0.164)
    """
    s = _stretch(ground) if stretch is None else stretch
    mirror, r = ground.mirror, np.asarray(radius, float)
    grows = float(np.sqrt(mirror.height / ground.tower_height))
    first = max(2.0 * mirror.width * s, mirror.diagonal)
    along = first * (1.0 + grows / 2)
    touching = max(mirror.diagonal / 2, np.sqrt(max(mirror.diagonal**2 - first**2 / 4, 0.0)))
    radial = np.maximum(s * mirror.height * np.hypot(r, 1.0) / 2, touching)
    seam = radial * (1.0 + grows / 2) / (r * ground.tower_height * grows)
    return Spacing(radial, np.full_like(radial, along), mirror.area / (radial * along * (1.0 + seam)), 1.0 + grows)


def sample_radii(ground: Ground, n: int = 12) -> Array:
    """Radii that each stand for the same number of mirrors.

    Parameters
    ----------
    ground : Ground
        The field.
    n : int
        How many.

    Returns
    -------
    array, shape (n,)
        In tower heights [-], growing.

    Examples
    --------
    >>> sample_radii(Ground(), 3).round(2)
    array([1.96, 3.62, 5.21])
    """
    radius, weight = _rings(ground)
    share = np.cumsum(weight * spacing(ground, radius).density)
    middle = share - 0.5 * np.diff(share, prepend=0.0)
    return np.interp((np.arange(n) + 0.5) / n * share[-1], middle, radius)


def mirrors_around(ground: Ground, most: int = 20_000) -> Array:
    """Positions of all mirrors, for pictures and checks; results are computed from `spacing`, not from these.

    Parameters
    ----------
    ground : Ground
        The field.
    most : int
        Refuse to list more than these.

    Returns
    -------
    array, shape (mirrors, 2)
        East and north of the tower [m].

    Raises
    ------
    ParameterError
        If the field has more mirrors than `most`.

    Examples
    --------
    >>> place = mirrors_around(Ground(tower_height=50.0, outer_radius=3.0))
    >>> place.shape
    (1071, 2)
    """
    number = ground.capacity / ground.mirror.area
    if number > most:
        raise ParameterError("too many mirrors to list", where="mirrors_around.ground", got=f"{number:.0f}",
                             allowed=f"up to {most}", hint="a smaller field, or a larger most")
    tall, start, step, ring, rings = ground.tower_height, 0.0, 0.0, 0, []
    radius = ground.inner_radius + float(spacing(ground, ground.inner_radius).radial) / tall / 2
    while float(half_angle(ground, radius)) > 0:
        here = spacing(ground, radius)
        if start and radius > here.zone * start:
            radius += float(here.radial) / tall
        if not start or radius > here.zone * start:
            start = radius
            step = 2 * pi / max(round(2 * pi * start * tall * (1 + here.zone) / 2 / float(here.along)), 1)
        angle = (np.arange(round(2 * pi / step)) + 0.25 + 0.5 * (ring % 2)) * step - pi
        angle = angle[np.abs(angle) <= float(half_angle(ground, radius)) + 1e-12] + ground.centre
        rings.append(radius * tall * np.stack([np.sin(angle), np.cos(angle)], axis=-1))
        half = radius + float(here.radial) / tall / 2
        radius, ring = radius + float(spacing(ground, half).radial) / tall, ring + 1
    return np.concatenate(rings)


def _rings(ground: Ground) -> tuple[Array, Array]:
    """Radii across the field [tower heights], and the ground that each stands for [square tower heights]."""
    edge = np.linspace(ground.inner_radius, ground.outer_radius * (1.0 + ground.skew), _FINE + 1)
    radius = 0.5 * (edge[1:] + edge[:-1])
    return radius, half_angle(ground, radius) * (edge[1:] ** 2 - edge[:-1] ** 2)


@lru_cache(maxsize=256)
def _stretch(ground: Ground) -> float:
    """Factor on the distances that gives the ground cover asked for."""
    if ground.ground_cover is None:
        return 1.0
    from scipy.optimize import brentq

    radius, weight = _rings(ground)

    def beyond(log: float) -> float:
        density = spacing(ground, radius, float(np.exp(log))).density
        return float(np.log(np.sum(weight * density) / np.sum(weight) / ground.ground_cover))

    low, high = np.log(0.02), np.log(50.0)
    if (excess := beyond(low)) < 0 and not isclose(excess, 0.0, abs_tol=1e-12):
        most = ground.ground_cover * np.exp(excess)
        raise ParameterError("mirrors would touch as they turn", where=f"{type(ground).__name__}.ground_cover",
                             got=f"{ground.ground_cover:g}", allowed=f"up to {most:.3g}",
                             hint="a lower ground cover, or none: as dense as rings go without blocking")
    return float(np.exp(brentq(beyond, low, high, xtol=1e-10)))
