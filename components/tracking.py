"""How devices follow the sun: which part of the beam each kind of tracker brings on its aperture,
as separate named factors (cosine, incidence modifier, shading, end loss, attenuation and blocking)."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import pi
from typing import Any, ClassVar, Protocol

import numpy as np
from numpy.typing import NDArray

from components.incidence import Modifier
from loopnet.errors import ParameterError
from loopnet.params import Parameters, param

__all__ = ["Incidence", "OneAxis", "Tracker", "TwoAxis", "ground_limit", "on_aperture", "one_axis", "row_shading",
           "sun_vector"]

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
    transversal, longitudinal : array, shape (points,), or None
        For optics that tell the two directions apart: the sun's angle from the normal seen along the axis, and its
        angle from the plane across the axis [rad].
    """

    cos: Array
    theta: Array
    factors: dict[str, Array] = field(default_factory=dict)
    transversal: Array | None = None
    longitudinal: Array | None = None

    @property
    def total(self) -> Array:
        """Product of all factors [-]."""
        return np.asarray(np.prod(np.array(list(self.factors.values())), axis=0))

    def modified(self, modifier: Modifier) -> Incidence:
        """The same beam with the factor ``"incidence modifier"`` of the optics (nothing counted twice)."""
        return replace(self, factors=modifier.factors(self))


class Tracker(Protocol):
    """What holds an aperture toward the sun, fixed mounts included.

    A tracker may also say `axes`, how many drives turn it (2 if it does not), `focus`, ``"line"`` or ``"point"``
    (the latter if it does not), `acceptance` [rad], the half-angle within which light arrives (that of the sun if
    it does not), and `adjustments`, how often a year people set it by hand.
    """

    def incidence(self, zenith: Floats, azimuth: Floats) -> Incidence:
        """Beam on the aperture for sun zenith and azimuth [rad], shape (points,)."""
        ...


def sun_vector(zenith: Floats, azimuth: Floats) -> tuple[Array, Array, Array]:
    """Unit vector to the sun.

    Parameters
    ----------
    zenith, azimuth : float or array, shape (points,)
        Sun position [rad], azimuth clockwise from north.

    Returns
    -------
    east, north, up : array, shape (points,)
        Its components [-].

    Examples
    --------
    >>> [round(float(x), 3) for x in sun_vector(np.radians(60.0), np.radians(90.0))]
    [0.866, 0.0, 0.5]
    """
    z, a = np.broadcast_arrays(np.asarray(zenith, float), np.asarray(azimuth, float))
    return np.sin(z) * np.sin(a), np.sin(z) * np.cos(a), np.cos(z)


def on_aperture(cos: Array, up: NDArray[np.bool_], **factors: Array) -> Incidence:
    """The beam of a mean cosine and further factors, with nothing lost twice while the sun is down.

    Parameters
    ----------
    cos : array, shape (points,)
        Mean cosine of the beam on the aperture [-].
    up : array of bool, shape (points,)
        Whether the sun is above the horizon [-].
    **factors : array, shape (points,)
        Further factors [-] by name, underscores standing for blanks.

    Returns
    -------
    Incidence
        Cosine 0 and all else 1 where the sun is down [-].

    Examples
    --------
    >>> on_aperture(np.array([0.9, 0.9]), np.array([True, False]), end_loss=np.array([0.98, 0.98])).total
    array([0.882, 0.   ])
    """
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
    east, north, upward = sun_vector(zenith, azimuth)
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
    cover = np.maximum(np.asarray(ground_cover, float), 1e-12)
    larger = np.maximum(beam, cover)  # the root is then at least 1: no underflow, never above 1
    return beam / larger / ((beam / larger) ** sharpness + (cover / larger) ** sharpness) ** (1.0 / sharpness)


@dataclass(frozen=True, kw_only=True)
class OneAxis(Parameters):
    """Rows that turn about one axis: troughs, linear mirrors on a common drive.

    >>> rows = OneAxis(azimuth=0.0)
    >>> beam = rows.incidence(np.radians(30.0), np.radians(180.0))
    >>> {name: round(float(value), 4) for name, value in beam.factors.items()}
    {'cosine': 0.866, 'shading': 1.0, 'end loss': 0.9934}
    """

    axes: ClassVar[int] = 1
    focus: ClassVar[str] = "line"

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
        return on_aperture(cos, up, shading=row_shading(rotation, self.aperture_width / self.row_spacing), end_loss=end)


@dataclass(frozen=True, kw_only=True)
class TwoAxis(Parameters):
    """Devices that point at the sun: dishes, small concentrators on a mast.

    >>> beam = TwoAxis(ground_cover=0.25).incidence(np.radians(60.0), 0.0)
    >>> float(beam.cos), round(float(beam.factors["shading"]), 3)
    (1.0, 0.961)
    """

    axes: ClassVar[int] = 2
    focus: ClassVar[str] = "point"

    ground_cover: Any = param(0.25, unit="-", low=0.0, high=1.0, source="common practice, no source",
                              doc="aperture per ground")
    sharpness: Any = param(3.0, unit="-", low=1.0, high=50.0, source="computed, discs on a square grid",
                           doc="how near the layout comes to the ideal; see ground_limit")

    def incidence(self, zenith: Floats, azimuth: Floats) -> Incidence:
        """Beam on the aperture for sun zenith and azimuth [rad]: cosine 1, shading by `ground_limit`."""
        upward = sun_vector(zenith, azimuth)[2]
        lit = ground_limit(np.broadcast_to(zenith, upward.shape), self.ground_cover, self.sharpness)
        return on_aperture(np.ones_like(upward), upward > 0, shading=lit)
