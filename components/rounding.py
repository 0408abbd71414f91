"""Corners rounded off, so that equations keep a slope: a floor that is held, a change-over little by little."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

__all__ = ["ramp", "soft_floor"]


def soft_floor(value: ArrayLike, floor: ArrayLike, width: float) -> Any:
    """The larger of a value and a floor, rounded off: floor + (d + sqrt(d^2 + w^2)) / 2, with d = value - floor.

    Parameters
    ----------
    value, floor : float or ndarray
        Of one unit, here [K].
    width : float
        Of the corner, in the same unit.

    Returns
    -------
    float or ndarray
        In the same unit; above both.

    Examples
    --------
    >>> round(float(soft_floor(320.0, 300.0, 3.0)), 2)
    320.11
    """
    level = np.asarray(floor, dtype=float)
    above = np.asarray(value, dtype=float) - level
    return level + 0.5 * (above + np.sqrt(above**2 + width**2))


def ramp(x: ArrayLike) -> Any:
    """From 0 at x = 0 to 1 at x = 1 with level ends: 3 x^2 - 2 x^3.

    Parameters
    ----------
    x : float or ndarray
        Share of the way [-]; held at its ends beyond them.

    Returns
    -------
    float or ndarray
        Share [-].

    Examples
    --------
    >>> ramp([-1.0, 0.5, 2.0])
    array([0. , 0.5, 1. ])
    """
    inside = np.clip(np.asarray(x, dtype=float), 0.0, 1.0)
    return inside * inside * (3.0 - 2.0 * inside)
