"""How devices follow the sun: which part of the beam each kind of tracker brings on its aperture,
as separate named factors (cosine, incidence modifier, shading, end loss, attenuation and blocking)."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.errors import ParameterError
from loopnet.params import Parameters, param

__all__ = [
    "TROUGH_BLACK_CHROME", "TROUGH_CERMET", "TROUGH_SPACE_FRAME", "HeliostatField", "Incidence", "IncidenceModifier",
    "OneAxis", "TwoAxis", "attenuation", "ground_limit", "heliostat_cosine", "one_axis", "row_shading",
]

Array = NDArray[np.float64]
Floats = float | Array


@dataclass(frozen=True)
class Incidence:
    """The beam on an aperture at each sun position.

    Attributes
    ----------
    cos : array, shape (points,)
        Mean cosine of the beam on the aperture [-]; 0 when the sun is down.
    theta : array, shape (points,)
        Angle of incidence [rad]; pi/2 when the sun is down.
    factors : dict of str to array, shape (points,)
        Every factor by name [-], in the order in which the light meets them, ``"cosine"`` first. All but the cosine
        are 1 when the sun is down, so that each loss has one name.
    """

    cos: Array
    theta: Array
    factors: dict[str, Array] = field(default_factory=dict)

    @property
    def total(self) -> Array:
        """Product of all factors [-]."""
        return np.asarray(np.prod(np.array(list(self.factors.values())), axis=0))

    def modified(self, modifier: IncidenceModifier) -> Incidence:
        """The same beam with the factor ``"incidence modifier"`` of the optics (cosine not counted twice)."""
        beyond = np.where(self.cos > 0, modifier(self.theta), 1.0)
        return replace(self, factors={**self.factors, "incidence modifier": beyond})


def _sun(zenith: Floats, azimuth: Floats) -> tuple[Array, Array, Array]:
    """Unit vector to the sun: east, north, up [-]."""
    z, a = np.broadcast_arrays(np.asarray(zenith, float), np.asarray(azimuth, float))
    return np.sin(z) * np.sin(a), np.sin(z) * np.cos(a), np.cos(z)


def _incidence(cos: Array, up: NDArray[np.bool_], **factors: Array) -> Incidence:
    cos = np.where(up, cos, 0.0)
    named = {name.replace("_", " "): np.where(up, value, 1.0) for name, value in factors.items()}
    return Incidence(cos, np.arccos(np.clip(cos, 0.0, 1.0)), {"cosine": cos, **named})


def one_axis(zenith: Floats, azimuth: Floats, axis_azimuth: float = 0.0, axis_tilt: float = 0.0) -> tuple[Array, Array]:
    """Cosine of incidence and rotation of an aperture that turns about one axis to face the sun.

    cos(theta) = sqrt(1 - (s . a)^2) with s the unit vector to the sun and a the one along the axis; it contains
    the textbook forms for east-west, north-south and polar axes.

    Parameters
    ----------
    zenith, azimuth : float or array, shape (points,)
        Sun position [rad], azimuth clockwise from north.
    axis_azimuth : float
        Compass direction in which the axis points, downhill if it is tilted [rad].
    axis_tilt : float
        Slope of the axis [rad].

    Returns
    -------
    cos : array, shape (points,)
        Cosine of the angle of incidence [-], for the sun above or below the horizon.
    rotation : array, shape (points,)
        Angle about the axis from the position that looks up [rad], positive to the right of the axis: toward the
        west for an axis that points south.

    Notes
    -----
    The rotation has no stop; rows that cannot turn beyond a limit lose more at low sun.

    References
    ----------
    Duffie & Beckman, Solar Engineering of Thermal Processes, 4th ed. (2013), section 1.7.

    Examples
    --------
    Duffie & Beckman example 1.7.1 (memory): latitude 40, declination 21, hour angle 30 degrees, east-west axis.
    There the zenith is 31.82 and the azimuth 242.29 degrees.

    >>> cos, turn = one_axis(np.radians(31.82), np.radians(242.29), axis_azimuth=np.pi / 2)
    >>> print(round(float(np.degrees(np.arccos(cos))), 1), round(abs(float(np.degrees(turn))), 1))
    27.8 16.1
    """
    east, north, upward = _sun(zenith, azimuth)
    ca, sa, ct, st = np.cos(axis_azimuth), np.sin(axis_azimuth), np.cos(axis_tilt), np.sin(axis_tilt)
    forward = east * sa + north * ca
    along = forward * ct - upward * st
    normal = forward * st + upward * ct
    lateral = east * ca - north * sa
    return np.sqrt(np.maximum(1.0 - along**2, 0.0)), np.arctan2(lateral, normal)


def row_shading(rotation: Floats, ground_cover: float) -> Array:
    """Part of the aperture of one of many parallel rows that no neighbour shades: min(1, cos(rotation) / cover).

    Parameters
    ----------
    rotation : float or array, shape (points,)
        Angle of the aperture from looking up, in the plane across the rows [rad].
    ground_cover : float
        Aperture width over row spacing [-].

    Returns
    -------
    array, shape (points,)
        Lit part of the aperture [-].

    Notes
    -----
    Long rows on level ground; the outermost row, which nothing shades, is not counted apart.

    Examples
    --------
    >>> row_shading(np.radians([0.0, 60.0, 80.0]), 1 / 3).round(4)
    array([1.    , 1.    , 0.5209])
    """
    return np.clip(np.cos(rotation) / ground_cover, 0.0, 1.0)


def ground_limit(zenith: Floats, ground_cover: Floats, sharpness: float = 3.0) -> Array:
    """Lit part of many devices that face the beam: smooth minimum of 1 and the beam that falls on their ground.

    With x = cover / cos(zenith), the aperture over the cross-section of the beam on the ground, an ideal layout
    catches min(1, 1/x), and devices thrown at random (1 - exp(-x)) / x. The form (1 + x^n)^(-1/n) lies between (n = 3).

    Parameters
    ----------
    zenith : float or array, shape (points,)
        Sun zenith [rad].
    ground_cover : float or array, shape (points,)
        Aperture projected on the beam, per ground [-].
    sharpness : float
        The exponent n [-]; 3 meets discs on a square grid within 0.05 at cover 0.25, 0.08 at 0.15 to 0.4 (computed).

    Returns
    -------
    array, shape (points,)
        Lit part [-], 0 at the horizon.

    Examples
    --------
    >>> ground_limit(np.radians([0.0, 60.0, 85.0]), 0.25).round(3)
    array([0.995, 0.961, 0.344])
    """
    beam = np.maximum(np.cos(zenith), 0.0)
    cover = np.asarray(ground_cover, float)
    larger = np.maximum(np.maximum(beam, cover), 1e-300)  # the root is then at least 1: no underflow, never above 1
    return beam / larger / ((beam / larger) ** sharpness + (cover / larger) ** sharpness) ** (1.0 / sharpness)


@dataclass(frozen=True, kw_only=True)
class OneAxis(Parameters):
    """Rows that turn about one axis: troughs, linear mirrors on a common drive.

    >>> rows = OneAxis(azimuth=0.0)
    >>> beam = rows.incidence(np.radians(30.0), np.radians(180.0))
    >>> {name: round(float(value), 4) for name, value in beam.factors.items()}
    {'cosine': 0.866, 'shading': 1.0, 'end loss': 0.9934}
    """

    azimuth: Any = param(0.0, unit="rad", low=-2 * pi, high=2 * pi, source="common practice, no source",
                         doc="direction of the axis, 0 = north-south; downhill if tilted")
    tilt: Any = param(0.0, unit="rad", low=0.0, high=pi / 2, source="common practice, no source",
                      doc="slope of the axis")
    aperture_width: Any = param(5.77, unit="m", low=0.01, high=50.0, doc="width of one row",
                                source="Geyer et al., SolarPACES 2002 (memory)")
    row_spacing: Any = param(17.3, unit="m", low=0.01, high=500.0, doc="from axis to axis",
                             source="three widths: common practice, no source")
    focal_length: Any = param(1.71, unit="m", low=0.0, high=100.0, doc="from mirror to receiver",
                              source="Geyer et al., SolarPACES 2002 (memory)")
    row_length: Any = param(148.5, unit="m", low=0.1, high=2000.0, doc="mirrors without a gap",
                            source="Geyer et al., SolarPACES 2002 (memory)")

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.row_spacing < self.aperture_width:
            raise ParameterError("rows overlap", where="OneAxis.row_spacing", got=f"{self.row_spacing:g} m",
                                 allowed=f"at least the aperture width, {self.aperture_width:g} m",
                                 hint="three aperture widths is usual")

    def incidence(self, zenith: Floats, azimuth: Floats) -> Incidence:
        """Beam on the aperture for sun zenith and azimuth [rad]; end loss 1 - f tan(theta) / L, at least 0."""
        cos, rotation = one_axis(zenith, azimuth, self.azimuth, self.tilt)
        up = np.cos(np.broadcast_to(zenith, cos.shape)) > 0
        tangent = np.sqrt(1.0 - cos**2) / np.maximum(cos, 1e-9)
        end = np.maximum(1.0 - tangent * self.focal_length / self.row_length, 0.0)
        return _incidence(cos, up, shading=row_shading(rotation, self.aperture_width / self.row_spacing), end_loss=end)


@dataclass(frozen=True, kw_only=True)
class TwoAxis(Parameters):
    """Devices that point at the sun: dishes, small concentrators on a mast.

    >>> beam = TwoAxis(ground_cover=0.25).incidence(np.radians(60.0), 0.0)
    >>> float(beam.cos), round(float(beam.factors["shading"]), 3)
    (1.0, 0.961)
    """

    ground_cover: Any = param(0.25, unit="-", low=0.0, high=1.0, source="common practice, no source",
                              doc="aperture per ground")
    sharpness: Any = param(3.0, unit="-", low=1.0, high=50.0, source="computed, discs on a square grid",
                           doc="how near the layout comes to the ideal; see ground_limit")

    def incidence(self, zenith: Floats, azimuth: Floats) -> Incidence:
        """Beam on the aperture for sun zenith and azimuth [rad]: cosine 1, shading by `ground_limit`."""
        upward = _sun(zenith, azimuth)[2]
        lit = ground_limit(np.broadcast_to(zenith, upward.shape), self.ground_cover, self.sharpness)
        return _incidence(np.ones_like(upward), upward > 0, shading=lit)


@dataclass(frozen=True, kw_only=True)
class IncidenceModifier(Parameters):
    """Loss of the optics at an angle: K = c0 + c1 t + c2 t^2 + c3 t^3, t in degrees as published.

    Where `includes_cosine`, the published K contains the cosine: K = c0 cos(theta) + c1 t + c2 t^2 + c3 t^3.

    >>> TROUGH_CERMET(np.radians([0.0, 30.0, 60.0]), with_cosine=True).round(4)
    array([1.    , 0.8442, 0.3598])
    """

    c0: Any = param(1.0, unit="-", low=0.0, high=2.0, source="normalised at zero incidence")
    c1: Any = param(0.0, unit="-", source="user", doc="per degree")
    c2: Any = param(0.0, unit="-", source="user", doc="per degree squared")
    c3: Any = param(0.0, unit="-", source="user", doc="per degree cubed")
    includes_cosine: bool = True

    def __call__(self, theta: Floats, with_cosine: bool = False) -> Array:
        """K at the angle of incidence [rad], shape (points,), with or without the cosine [-]; never negative."""
        t, cos = np.degrees(theta), np.cos(theta)
        lead = self.c0 * cos if self.includes_cosine else self.c0
        k = np.maximum(lead + t * (self.c1 + t * (self.c2 + t * self.c3)), 0.0)
        if self.includes_cosine == with_cosine:
            return np.asarray(k)
        return k * cos if with_cosine else np.where(cos > 1e-6, k / np.maximum(cos, 1e-6), 0.0)


# Dudley, Kolb, Mahoney, Mancini, Matthews, Sloan, Kearney, SAND94-1884 (1994), as quoted by later authors (seen); the
# linear term of the cermet receiver is also remembered as 0.000994, which differs by 0.0066 at 60 degrees.
TROUGH_CERMET = IncidenceModifier(c1=0.000884, c2=-0.00005369)
TROUGH_BLACK_CHROME = IncidenceModifier(c1=-0.0003512, c2=-0.00003137)
# Geyer et al., SolarPACES 2002 (seen as quoted).
TROUGH_SPACE_FRAME = IncidenceModifier(c1=-5.25097e-4, c2=-2.859621e-5)


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
        return _incidence(cos, up, shading=lit, attenuation_and_blocking=through)


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
    east, north, upward = _sun(zenith, azimuth)
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
