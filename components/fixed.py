"""Collectors that do not follow the sun: fixed, or set by hand a few times a year, with an acceptance half-angle."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Any, ClassVar, Literal

import numpy as np
from numpy.typing import NDArray

from components.tracking import Incidence, on_aperture, sun_vector
from loopnet.errors import ParameterError
from loopnet.params import Parameters, check_range, param

__all__ = ["OBLIQUITY", "SUN_HALF_ANGLE", "Fixed", "SeasonalTilt", "concentration_limit", "declination",
           "seasonal_declination"]

Array = NDArray[np.float64]
Floats = float | Array
Focus = Literal["line", "point"]

OBLIQUITY = np.radians(23.45)
"""Largest declination, as in Cooper, Solar Energy 12 (1969) 333 [rad]."""
SUN_HALF_ANGLE = 4.65e-3
"""Half the sun's angular diameter [rad]."""
_SLACK = np.radians(0.6)


def concentration_limit(acceptance: float, focus: str) -> float:
    """Most that any optics concentrate which accept light from within a half-angle: 1/sin (line), 1/sin^2 (point).

    Parameters
    ----------
    acceptance : float
        Half-angle [rad].
    focus : str
        ``"line"`` or ``"point"``.

    Returns
    -------
    float
        Aperture over absorber surface [-].

    References
    ----------
    Welford & Winston, The Optics of Nonimaging Concentrators (1978), second law for an absorber in air.

    Examples
    --------
    >>> [round(concentration_limit(SUN_HALF_ANGLE, focus)) for focus in ("line", "point")]
    [215, 46248]
    """
    line = 1.0 / float(np.sin(min(acceptance, pi / 2)))
    return line if focus == "line" else line**2


def declination(zenith: Floats, azimuth: Floats, latitude: float) -> Array:
    """Declination of a sun seen at zenith and azimuth: sin(d) = sin(phi) cos(z) + cos(phi) sin(z) cos(azimuth).

    Parameters
    ----------
    zenith, azimuth : float or array, shape (points,)
        Sun position [rad], azimuth clockwise from north.
    latitude : float
        Of the place [rad].

    Returns
    -------
    array, shape (points,)
        Declination [rad].

    Examples
    --------
    Duffie & Beckman example 1.6.2 (memory): 43 degrees north, 13 February 9:30, zenith 66.5, 40 degrees east of south:

    >>> print(round(float(np.degrees(declination(np.radians(66.5), np.radians(140.0), np.radians(43.0)))), 0))
    -14.0
    """
    north, upward = sun_vector(zenith, azimuth)[1:]
    return np.arcsin(np.clip(np.sin(latitude) * upward + np.cos(latitude) * north, -1.0, 1.0))


def seasonal_declination(delta: Floats, adjustments: int) -> Array:
    """Declination for which a collector stands that is set by hand a number of times a year.

    With n adjustments there are n/2 + 1 settings, for the sun passes each limit between them on its way up and down.
    Each setting is the middle of an equal band of declinations, which keeps the largest error at noon least.

    Parameters
    ----------
    delta : float or array, shape (points,)
        Declination of the sun [rad].
    adjustments : int
        How often a year; even, 0 for a collector that stays as for the equinox.

    Returns
    -------
    array, shape (points,)
        Declination of the setting [rad].

    Examples
    --------
    >>> np.degrees(seasonal_declination(np.radians([23.0, 5.0, -20.0]), 4)).round(2)
    array([ 15.63,   0.  , -15.63])
    """
    settings = adjustments // 2 + 1
    band = 2 * OBLIQUITY / settings
    which = np.clip(np.floor((np.asarray(delta, float) + OBLIQUITY) / band), 0, settings - 1)
    return np.asarray((which + 0.5) * band - OBLIQUITY)


def _beam(zenith: Floats, azimuth: Floats, tilt: Floats, facing: float, cover: float, acceptance: float,
          focus: str) -> Incidence:
    """Beam on planes whose normal leans by `tilt` toward the azimuth `facing`, in rows along the contour."""
    east, north, upward = sun_vector(zenith, azimuth)
    ahead = east * np.sin(facing) + north * np.cos(facing)
    aside = east * np.cos(facing) - north * np.sin(facing)
    normal = ahead * np.sin(tilt) + upward * np.cos(tilt)
    lateral = ahead * np.cos(tilt) - upward * np.sin(tilt)
    across, along = np.arctan2(lateral, normal), np.arcsin(np.clip(np.abs(aside), 0.0, 1.0))
    cos = np.maximum(normal, 0.0)
    # beam between two rows over the beam that one would catch alone; both seen along the rows
    lit = np.clip(np.maximum(upward, 0.0) / (cover * np.maximum(cos, 1e-12)), 0.0, 1.0) if cover else np.ones_like(cos)
    angle = np.abs(across) if focus == "line" else np.arccos(np.clip(normal, -1.0, 1.0))
    accepted = np.where(angle <= acceptance, 1.0, 0.0)
    seen = (upward > 0) & (cos > 0)
    beam = on_aperture(cos, upward > 0, shading=np.where(seen, lit, 1.0), acceptance=np.where(seen, accepted, 1.0))
    return Incidence(beam.cos, beam.theta, beam.factors, across, along)


def _check_focus(where: str, focus: str) -> None:
    if focus not in ("line", "point"):
        raise ParameterError("no such focus", where=f"{where}.focus", got=repr(focus), allowed="'line', 'point'",
                             hint="'line' for troughs along the contour")


@dataclass(frozen=True, kw_only=True)
class Fixed(Parameters):
    """Planes or low concentrators that never move; light from outside the acceptance half-angle is lost.

    A line focus runs along the contour of the slope, and accepts light by its angle seen along that line. Only
    the direct sun counts, though a low concentrator also takes part of the light of the sky.

    >>> plane = Fixed(tilt="45 deg", azimuth="195 deg")  # Duffie & Beckman example 1.6.1: 35 degrees
    >>> beam = plane.incidence(*np.radians([60.44, 154.40]))
    >>> print(round(float(np.degrees(beam.theta)), 0))
    35.0
    """

    axes: ClassVar[int] = 0
    biaxial: ClassVar[bool] = True
    tilt: Any = param("30 deg", unit="rad", low=0.0, high=pi / 2, source="common practice, no source: the latitude",
                      doc="slope from the horizontal")
    azimuth: Any = param(pi, unit="rad", low=-2 * pi, high=2 * pi, source="toward the equator in the north",
                         doc="compass direction that the slope faces")
    acceptance: Any = param(pi / 2, unit="rad", low=SUN_HALF_ANGLE, high=pi / 2, source="flat collectors take all",
                            doc="half-angle within which light reaches the absorber")
    ground_cover: Any = param(0.5, unit="-", low=0.0, high=1.0, source="common practice, no source",
                              doc="width of the slope over the spacing of rows; 0 for one alone")
    focus: Focus = "line"
    """Whether light is brought to a "line" or to a "point"."""

    def __post_init__(self) -> None:
        super().__post_init__()
        _check_focus("Fixed", self.focus)

    def incidence(self, zenith: Floats, azimuth: Floats) -> Incidence:
        """Beam on the aperture for sun zenith and azimuth [rad], shape (points,)."""
        return _beam(zenith, azimuth, self.tilt, self.azimuth, self.ground_cover, self.acceptance, self.focus)


@dataclass(frozen=True, kw_only=True)
class SeasonalTilt(Parameters):
    """Planes or low concentrators that face the noon sun, set by hand a few times a year.

    The slope is the latitude less the declination in the middle of each stretch of the year, see
    `seasonal_declination`; the sun's declination follows from where it stands.

    >>> rows = SeasonalTilt(latitude="32 deg", adjustments=4, acceptance="20 deg")
    >>> beam = rows.incidence(*np.radians([8.55, 180.0]))       # noon at midsummer
    >>> {name: round(float(value), 3) for name, value in beam.factors.items()}
    {'cosine': 0.991, 'shading': 1.0, 'acceptance': 1.0}
    """

    axes: ClassVar[int] = 0
    biaxial: ClassVar[bool] = True
    latitude: Any = param(unit="rad", low=-pi / 2, high=pi / 2, source="user", doc="of the place, north positive")
    adjustments: int = 4
    """How often a year the slope is set: an even number, 0 for never."""
    acceptance: Any = param(pi / 2, unit="rad", low=SUN_HALF_ANGLE, high=pi / 2, source="flat collectors take all",
                            doc="half-angle within which light reaches the absorber")
    ground_cover: Any = param(0.5, unit="-", low=0.0, high=1.0, source="common practice, no source",
                              doc="width of the slope over the spacing of rows; 0 for one alone")
    focus: Focus = "line"
    """Whether light is brought to a "line" or to a "point"."""

    def __post_init__(self) -> None:
        super().__post_init__()
        check_range(self.adjustments, where="SeasonalTilt.adjustments", unit="-", low=0, high=366)
        if self.adjustments % 2:
            raise ParameterError("the sun passes each setting on its way up and down",
                                 where="SeasonalTilt.adjustments", got=f"{self.adjustments}",
                                 allowed="an even number", hint=f"{self.adjustments + 1}")
        _check_focus("SeasonalTilt", self.focus)

    def incidence(self, zenith: Floats, azimuth: Floats) -> Incidence:
        """Beam on the aperture for sun zenith and azimuth [rad], shape (points,), which must belong to `latitude`."""
        delta = declination(zenith, azimuth, self.latitude)
        worst = float(np.max(np.abs(np.where(np.cos(zenith) > 0, delta, 0.0)), initial=0.0))
        if worst > OBLIQUITY + _SLACK:
            raise ParameterError("the sun never stands there at this latitude", where="SeasonalTilt.latitude",
                                 got=f"{np.degrees(self.latitude):.1f} deg, declination {np.degrees(worst):.1f} deg",
                                 allowed="declinations up to 23.45 deg",
                                 hint="the latitude of the weather, and a design sun that stands over it")
        tilt = self.latitude - seasonal_declination(delta, self.adjustments)
        return _beam(zenith, azimuth, tilt, pi, self.ground_cover, self.acceptance, self.focus)
