"""What optics lose at an angle: incidence-angle modifiers as polynomials or tables, of one angle or of two."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from loopnet.errors import ParameterError
from loopnet.params import Parameters, check_range, param

if TYPE_CHECKING:
    from components.tracking import Incidence

__all__ = ["TROUGH_BLACK_CHROME", "TROUGH_CERMET", "TROUGH_SPACE_FRAME", "BiaxialModifier", "IncidenceModifier",
           "Modifier", "TabulatedModifier"]

Array = NDArray[np.float64]
Floats = float | Array
_GRAZING = 1e-6


class Modifier(Protocol):
    """What a collector's optics make of the beam beyond what the tracker has counted."""

    def factors(self, beam: Incidence) -> dict[str, Array]:
        """All factors by name [-], that of the optics included."""
        ...


@dataclass(frozen=True, kw_only=True)
class Curve(Parameters):
    """A modifier K of one angle; `includes_cosine` tells whether the published K contains the cosine."""

    includes_cosine: bool = True
    """Whether the published curve holds the cosine, which is then not taken again."""

    def published(self, theta: Floats) -> Array:
        """K as it is printed [-], at an angle [rad], shape (points,)."""
        raise NotImplementedError

    def __call__(self, theta: Floats, with_cosine: bool = False) -> Array:
        """K at the angle of incidence [rad], shape (points,), with or without the cosine [-]; never negative."""
        k, cos = self.published(theta), np.cos(theta)
        if self.includes_cosine == with_cosine:
            return k
        return k * cos if with_cosine else np.where(cos > _GRAZING, k / np.maximum(cos, _GRAZING), 0.0)

    def factors(self, beam: Incidence) -> dict[str, Array]:
        """Factors of the beam and ``"incidence modifier"`` [-]; the cosine is not counted twice."""
        return {**beam.factors, "incidence modifier": np.where(beam.cos > 0, self(beam.theta), 1.0)}


@dataclass(frozen=True, kw_only=True)
class IncidenceModifier(Curve):
    """Loss of the optics at an angle: K = c0 + c1 t + c2 t^2 + c3 t^3, t in degrees as published.

    Where `includes_cosine`, the published K contains the cosine: K = c0 cos(theta) + c1 t + c2 t^2 + c3 t^3.

    >>> TROUGH_CERMET(np.radians([0.0, 30.0, 60.0]), with_cosine=True).round(4)
    array([1.    , 0.8442, 0.3598])
    """

    c0: Any = param(1.0, unit="-", low=0.0, high=2.0, source="normalised at zero incidence", doc="at normal incidence")
    c1: Any = param(0.0, unit="-", source="user", doc="per degree")
    c2: Any = param(0.0, unit="-", source="user", doc="per degree squared")
    c3: Any = param(0.0, unit="-", source="user", doc="per degree cubed")

    def published(self, theta: Floats) -> Array:
        """K as it is printed [-], at an angle [rad], shape (points,)."""
        t = np.degrees(theta)
        lead = self.c0 * np.cos(theta) if self.includes_cosine else self.c0
        return np.asarray(np.maximum(lead + t * (self.c1 + t * (self.c2 + t * self.c3)), 0.0))


@dataclass(frozen=True, kw_only=True)
class TabulatedModifier(Curve):
    """K read from a table of angles [rad], straight between its points.

    >>> k = TabulatedModifier(angles=(0.0, 0.5, 1.5708), values=(1.0, 0.9, 0.0), includes_cosine=False)
    >>> k.published(np.array([0.25, 0.5])).round(3)
    array([0.95, 0.9 ])
    """

    angles: tuple[float, ...]
    """Rising, from 0 [rad]; they must reach pi/2, so that nothing is extrapolated."""
    values: tuple[float, ...]

    def __post_init__(self) -> None:
        super().__post_init__()
        angles, values = tuple(map(float, self.angles)), tuple(map(float, self.values))
        object.__setattr__(self, "angles", angles)
        object.__setattr__(self, "values", values)
        rising = len(angles) > 1 and angles[0] == 0.0 and bool(np.all(np.diff(angles) > 0))
        if not rising or angles[-1] < np.pi / 2 - 1e-4:
            raise ParameterError("the angles do not go from 0 to a right angle", where="TabulatedModifier.angles",
                                 got=f"{angles}", allowed="rising from 0 to pi/2",
                                 hint="a last point at pi/2, where K is 0 if the table contains the cosine")
        if len(values) != len(angles):
            raise ParameterError("not as many values as angles", where="TabulatedModifier.values",
                                 got=f"{len(values)}", allowed=f"{len(angles)}", hint="one value per angle")
        for value in values:
            check_range(value, where="TabulatedModifier.values", unit="-", low=0.0, high=2.0)

    def published(self, theta: Floats) -> Array:
        """K as it is printed [-], at an angle [rad], shape (points,)."""
        return np.asarray(np.interp(theta, self.angles, self.values))


@dataclass(frozen=True, kw_only=True)
class BiaxialModifier(Parameters):
    """K = K_T(transversal angle) K_L(longitudinal angle), for linear Fresnel mirrors and flat or tubular collectors.

    The transversal angle lies between the normal and the sun seen along the axis; the longitudinal one is the
    angle of incidence on the plane across the axis, or the sun's angle seen from the side (``"projected"``). The
    parameters say what the published K contains; what it contains is not counted a second time.

    >>> from components.fresnel import LinearFresnel
    >>> k = BiaxialModifier(longitudinal=IncidenceModifier(c1=-0.001))
    >>> beam = LinearFresnel().incidence(np.radians(40.0), np.radians(180.0)).modified(k)
    >>> print(sorted(beam.factors), round(float(beam.factors["cosine"] * beam.factors["incidence modifier"]), 4))
    ['cosine', 'end loss', 'incidence modifier'] 0.726
    """

    transversal: Curve = field(default_factory=lambda: IncidenceModifier(includes_cosine=False))
    """Modifier across the row."""
    longitudinal: Curve = field(default_factory=lambda: IncidenceModifier())
    """Modifier along the row."""
    includes_cosine: bool = True
    """Whether the published curve holds the cosine, which is then not taken again."""
    includes_shading: bool = True
    """Whether it holds shading and blocking between rows."""
    includes_end_loss: bool = False
    """Whether it holds the light lost at the ends of rows."""
    longitudinal_angle: Literal["incidence", "projected"] = "incidence"
    """Which angle along the row the curve is drawn over: that of "incidence", or the "projected" one."""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.longitudinal_angle not in ("incidence", "projected"):
            raise ParameterError("no such angle", where="BiaxialModifier.longitudinal_angle",
                                 got=repr(self.longitudinal_angle), allowed="'incidence', 'projected'",
                                 hint="'incidence', the angle to the plane across the axis")

    def __call__(self, transversal: Floats, longitudinal: Floats) -> Array:
        """K as published [-] at the transversal angle and that of incidence on the plane across [rad]."""
        across, along = np.abs(np.asarray(transversal, float)), np.abs(np.asarray(longitudinal, float))
        if self.longitudinal_angle == "projected":
            along = np.arctan2(np.tan(along), np.maximum(np.cos(across), _GRAZING))
        return self.transversal.published(across) * self.longitudinal.published(along)

    def factors(self, beam: Incidence) -> dict[str, Array]:
        """Factors of the beam and ``"incidence modifier"`` [-], without those that K contains."""
        if beam.transversal is None or beam.longitudinal is None:
            raise ParameterError("this tracker does not tell the two angles", where="BiaxialModifier",
                                 allowed="LinearFresnel, Fixed, SeasonalTilt", hint="IncidenceModifier")
        inside = {"shading": self.includes_shading, "end loss": self.includes_end_loss}
        k = self(beam.transversal, beam.longitudinal)
        if self.includes_cosine:
            k = np.where(beam.cos > _GRAZING, k / np.maximum(beam.cos, _GRAZING), 0.0)
        kept = {name: value for name, value in beam.factors.items() if not inside.get(name, False)}
        return {**kept, "incidence modifier": np.where(beam.cos > 0, k, 1.0)}


# Dudley, Kolb, Mahoney, Mancini, Matthews, Sloan, Kearney, SAND94-1884 (1994), as quoted by later authors (seen); the
# linear term of the cermet receiver is also remembered as 0.000994, which differs by 0.0066 at 60 degrees.
TROUGH_CERMET = IncidenceModifier(c1=0.000884, c2=-0.00005369)
TROUGH_BLACK_CHROME = IncidenceModifier(c1=-0.0003512, c2=-0.00003137)
# Geyer et al., SolarPACES 2002 (seen as quoted).
TROUGH_SPACE_FRAME = IncidenceModifier(c1=-5.25097e-4, c2=-2.859621e-5)
