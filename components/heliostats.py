"""Mirrors around a tower: a sample layout, its cosine, and the air between mirror and receiver, tabulated."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from components.tracking import Incidence, ground_limit, on_aperture, sun_vector
from loopnet.errors import ParameterError
from loopnet.params import Parameters, param

__all__ = ["HeliostatField", "attenuation", "heliostat_cosine"]

Array = NDArray[np.float64]
Floats = float | Array


def attenuation(distance: Floats) -> Array:
    """Part of the reflected beam that clear air (visual range 23 km) lets through.

    tau = 0.99326 - 0.1046 S + 0.017 S^2 - 0.002845 S^3, S in km.

    Parameters
    ----------
    distance : float or array, any shape
        From mirror to receiver [m]; fitted to some 3 km.

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
    """
    s = np.asarray(distance, float) / 1000.0
    return 0.99326 - s * (0.1046 - s * (0.017 - s * 0.002845))


@dataclass(frozen=True, kw_only=True)
class HeliostatField(Parameters):
    """Mirrors around a tower: a sample of rings, radially staggered, as many in each ring (so that the
    density falls as 1/radius: common practice, no source), all aimed at the top of the tower.

    >>> field = HeliostatField(tower_height=100.0)
    >>> beam = field.incidence(np.radians([30.0, 60.0]), np.radians([180.0, 180.0]))
    >>> bool(0.8 < beam.cos[0] < 0.9), sorted(beam.factors)
    (True, ['attenuation and blocking', 'cosine', 'shading'])
    """

    tower_height: Any = param(100.0, unit="m", low=1.0, high=400.0, source="common practice, no source",
                              doc="of the receiver above the mirrors")
    inner_radius: Any = param(0.75, unit="-", low=0.1, high=20.0, source="common practice, no source",
                              doc="in tower heights")
    outer_radius: Any = param(6.0, unit="-", low=0.1, high=30.0, source="common practice, no source",
                              doc="in tower heights")
    sector: Any = param(pi, unit="rad", low=0.05, high=pi, source="common practice, no source",
                        doc="half-angle of the field about its centre line; pi = all around")
    centre: Any = param(0.0, unit="rad", low=-2 * pi, high=2 * pi, source="user",
                        doc="azimuth of the centre line from the tower; 0 = poleward in the north, pi in the south")
    ground_cover: Any = param(0.25, unit="-", low=0.0, high=1.0, source="common practice, no source",
                              doc="mirror per ground")
    sharpness: Any = param(3.0, unit="-", low=1.0, high=50.0, source="assumption", doc="see ground_limit")
    blocking: Any = param(0.97, unit="-", low=0.1, high=1.0, source="assumption",
                          doc="part of the reflected light that neighbours let pass")

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.outer_radius <= self.inner_radius:
            raise ParameterError("the field has no ground", where="HeliostatField.outer_radius",
                                 got=f"{self.outer_radius:g}", allowed=f"above inner_radius, {self.inner_radius:g}",
                                 hint="6 tower heights is usual")

    def layout(self, rings: int = 12, each: int = 24) -> Array:
        """Positions of the sample, shape (rings * each, 2): east and north of the tower [m]."""
        radius = np.linspace(self.inner_radius, self.outer_radius, rings)[:, None] * self.tower_height
        stagger = np.where(np.arange(rings) % 2, 0.25, -0.25)[:, None]
        angle = self.centre + self.sector * (2 * (np.arange(each) + 0.5 + stagger) / each - 1)
        return np.stack([radius * np.sin(angle), radius * np.cos(angle)], axis=-1).reshape(-1, 2)

    def incidence(self, zenith: Floats, azimuth: Floats) -> Incidence:
        """Mean beam on the mirrors for sun zenith and azimuth [rad], from a table made once per field."""
        z, a = np.broadcast_arrays(np.asarray(zenith, float), np.asarray(azimuth, float))
        up = np.cos(z) > 0
        cosine, passed = _field_table(self)
        low, turn = np.minimum(z, pi / 2), (a + pi) % (2 * pi) - pi
        cos = cosine(low, turn, grid=False)
        lit = ground_limit(z, self.ground_cover * cos, self.sharpness)
        through = passed(low, turn, grid=False) / cos * self.blocking
        return on_aperture(cos, up, shading=lit, attenuation_and_blocking=through)


def heliostat_cosine(zenith: Floats, azimuth: Floats, field: HeliostatField) -> tuple[Array, Array]:
    """Cosine of half the angle between sun and tower at each mirror, cos(theta) = sqrt((1 + s . t) / 2).

    Parameters
    ----------
    zenith, azimuth : float or array, shape (points,)
        Sun position [rad], azimuth clockwise from north.
    field : HeliostatField
        The field whose sample layout is used.

    Returns
    -------
    cos : array, shape (points, mirrors)
        Cosine of incidence on each mirror [-].
    distance : array, shape (mirrors,)
        From each mirror to the receiver [m].

    Examples
    --------
    >>> cos, distance = heliostat_cosine(0.0, 0.0, HeliostatField(tower_height=100.0))
    >>> cos.shape, round(float(distance.min()), 3)
    ((288,), 125.0)
    """
    east, north, upward = sun_vector(zenith, azimuth)
    place = field.layout()
    distance = np.hypot(np.hypot(place[:, 0], place[:, 1]), field.tower_height)
    dot = (upward[..., None] * field.tower_height - east[..., None] * place[:, 0] - north[..., None] * place[:, 1])
    return np.sqrt(np.maximum(1.0 + dot / distance, 0.0) / 2.0), distance


@lru_cache(maxsize=64)
def _field_table(field: HeliostatField) -> tuple[Any, Any]:
    """Splines over (zenith, azimuth) of the means of cosine and of cosine times attenuation."""
    from scipy.interpolate import RectBivariateSpline

    step = pi / 12
    zenith, azimuth = np.arange(13.0) * (step / 2), np.arange(-15.0, 16.0) * step  # three steps beyond a full turn
    cos, distance = heliostat_cosine(zenith[:, None], azimuth[None, :], field)
    return (RectBivariateSpline(zenith, azimuth, cos.mean(axis=-1)),
            RectBivariateSpline(zenith, azimuth, (cos * attenuation(distance)).mean(axis=-1)))
