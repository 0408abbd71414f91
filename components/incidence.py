"""What optics lose at an angle: incidence-angle modifiers as polynomials in the angle, with or without the cosine."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.params import Parameters, param

__all__ = ["TROUGH_BLACK_CHROME", "TROUGH_CERMET", "TROUGH_SPACE_FRAME", "IncidenceModifier"]

Array = NDArray[np.float64]
Floats = float | Array


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
