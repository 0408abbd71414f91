"""Linear Fresnel mirrors: strips that turn about their own axes and throw the sun on one fixed receiver above them."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from components.tracking import Incidence, on_aperture, sun_vector
from loopnet.errors import ParameterError
from loopnet.params import Parameters, check_range, param

__all__ = ["LinearFresnel", "strip_light"]

Array = NDArray[np.float64]
Floats = float | Array


def _overlap(own: Array, other: Array, apart: Array) -> Array:
    """Part of a strip, of half-width `own` across the beam, behind another whose middle is `apart`."""
    return np.clip((own + other - apart) / np.maximum(2.0 * own, 1e-12), 0.0, 1.0)


def strip_light(transversal: Floats, place: Floats, width: float, pitch: float, height: float,
                count: int) -> tuple[Array, Array]:
    """Cosine across the axis and lit part of each of a set of equal, evenly spaced strips with one target above.

    The normal of each strip halves the angle between sun and target. A strip is shaded by its neighbour on the sun's
    side, and its light blocked by the neighbour on the target's side; where both come from the same side, the
    larger counts.

    Parameters
    ----------
    transversal : float or array, shape (points,)
        Angle of the sun from the vertical seen along the axis, toward positive places [rad].
    place : float or array, shape (count,)
        Where the strips stand, from below the target [m].
    width, pitch, height : float
        Of a strip, from strip to strip, of the target above the strips [m].
    count : int
        Number of strips.

    Returns
    -------
    cos : array, shape (points, count)
        Cosine of the angle between normal and sun, both seen along the axis [-].
    lit : array, shape (points, count)
        Part of the strip whose light reaches the target [-].

    Examples
    --------
    Overhead sun, one strip 5 m aside and 5 m below: the normal leans by 22.5 degrees.

    >>> cos, lit = strip_light(0.0, np.array([5.0]), 0.75, 1.05, 5.0, 1)
    >>> print(cos.round(4), lit)
    [0.9239] [1.]
    """
    sun = np.asarray(transversal, float)[..., None]
    to_target = np.arctan2(-np.asarray(place, float), height)
    lean = 0.5 * (sun + to_target)  # of the normals, from the vertical
    cos = np.cos(0.5 * (sun - to_target))
    if count < 2:
        return cos, np.ones_like(cos)
    edge = np.full((*lean.shape[:-1], 1), np.nan)
    right = np.concatenate([lean[..., 1:], edge], axis=-1)
    left = np.concatenate([edge, lean[..., :-1]], axis=-1)

    def hidden(way: Array) -> tuple[Array, NDArray[np.bool_]]:
        """Hidden part of each strip along a way of light, and whether from the positive side."""
        from_right = way > 0
        other = np.where(from_right, right, left)
        half = 0.5 * width
        part = _overlap(half * np.abs(np.cos(lean - way)), half * np.abs(np.cos(other - way)), pitch * np.cos(way))
        return np.where(np.isnan(other), 0.0, part), from_right

    shaded, sun_right = hidden(np.broadcast_to(sun, lean.shape))
    blocked, target_right = hidden(np.broadcast_to(to_target, lean.shape))
    both = np.where(sun_right == target_right, np.maximum(shaded, blocked), np.minimum(shaded + blocked, 1.0))
    return cos, 1.0 - both


@dataclass(frozen=True, kw_only=True)
class LinearFresnel(Parameters):
    """Rows of flat strips near the ground below a fixed line receiver.

    Cosine, shading with blocking, and end loss follow from the geometry; a published `BiaxialModifier` takes the place
    of those that it contains. The receiver's own shadow is left out. Aperture is the area of the strips.

    >>> beam = LinearFresnel().incidence(np.radians([0.0, 60.0]), np.radians([90.0, 90.0]))
    >>> {name: value.round(3).tolist() for name, value in beam.factors.items()}
    {'cosine': [0.963, 0.834], 'shading': [1.0, 0.833], 'end loss': [1.0, 1.0]}
    """

    axes: ClassVar[int] = 1
    focus: ClassVar[str] = "line"
    biaxial: ClassVar[bool] = True
    azimuth: Any = param(0.0, unit="rad", low=-2 * pi, high=2 * pi, source="common practice, no source",
                         doc="direction of the axis, 0 = north-south")
    mirrors: int = 16
    """Strips side by side."""
    mirror_width: Any = param(0.75, unit="m", low=0.01, high=10.0, source="from memory, a plant in Spain of 2009",
                              doc="width of one strip")
    pitch: Any = param(1.05, unit="m", low=0.01, high=20.0, source="from memory, a plant in Spain of 2009",
                       doc="from strip to strip")
    receiver_height: Any = param(7.4, unit="m", low=0.1, high=100.0, source="from memory, a plant in Spain of 2009",
                                 doc="above the strips")
    row_length: Any = param(800.0, unit="m", low=0.1, high=5000.0, source="from memory, a plant in Spain of 2009",
                            doc="strips without a gap")

    def __post_init__(self) -> None:
        super().__post_init__()
        check_range(self.mirrors, where="LinearFresnel.mirrors", unit="-", low=1, high=200)
        if self.pitch < self.mirror_width:
            raise ParameterError("strips overlap", where="LinearFresnel.pitch", got=f"{self.pitch:g} m",
                                 allowed=f"at least the width of a strip, {self.mirror_width:g} m",
                                 hint="1.4 widths is usual")

    @property
    def aperture_width(self) -> float:
        """Width of all strips together [m]."""
        return float(self.mirrors * self.mirror_width)

    def places(self) -> Array:
        """Where the strips stand, from below the receiver, shape (mirrors,) [m]."""
        return self.pitch * (np.arange(self.mirrors) - 0.5 * (self.mirrors - 1))

    def incidence(self, zenith: Floats, azimuth: Floats) -> Incidence:
        """Mean beam on the strips for sun zenith and azimuth [rad], shape (points,)."""
        east, north, upward = sun_vector(zenith, azimuth)
        along = east * np.sin(self.azimuth) + north * np.cos(self.azimuth)
        aside = east * np.cos(self.azimuth) - north * np.sin(self.azimuth)
        across, incidence = np.arctan2(aside, upward), np.arcsin(np.clip(np.abs(along), 0.0, 1.0))
        place = self.places()
        cos, lit = strip_light(across, place, self.mirror_width, self.pitch, self.receiver_height, self.mirrors)
        throw = np.hypot(place, self.receiver_height)
        tangent = np.tan(np.minimum(incidence, pi / 2 - 1e-9))[..., None]
        caught = np.maximum(1.0 - throw * tangent / self.row_length, 0.0)
        mean = np.maximum(cos.mean(axis=-1), 1e-12)
        passed = (cos * lit).mean(axis=-1)
        end = (cos * lit * caught).mean(axis=-1) / np.maximum(passed, 1e-12)
        beam = on_aperture(mean * np.cos(incidence), upward > 0, shading=passed / mean,
                           end_loss=np.where(passed > 1e-12, end, 1.0))
        return Incidence(beam.cos, beam.theta, beam.factors, across, incidence)
