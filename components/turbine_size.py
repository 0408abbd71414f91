"""How good a steam turbine of a size is: small ones leak more at their tips and glands, and have fewer stages."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import PchipInterpolator

__all__ = ["SIZES", "SOURCE", "efficiency_of_size"]

SIZES: dict[float, float] = {5e3: 0.30, 5e4: 0.42, 5e5: 0.54, 3e6: 0.70, 1e7: 0.81, 2e7: 0.86, 5e7: 0.875,
                             1.5e8: 0.89, 5e8: 0.90}
"""Power [W] -> isentropic efficiency of dry expansion [-]."""
SOURCE = ("by size: 0.5 to 15 MW after the EPA Catalog of CHP Technologies (50 to 53, 61 to 70, 78 to 80 % at 0.5, 3 "
          "and 15 MW with back pressure; from memory), some points better for condensing machines; 20 MW and more: "
          "common practice, no source; below 0.5 MW: assumption (single stages)")


@cache
def _curve() -> PchipInterpolator:
    return PchipInterpolator(np.log(list(SIZES)), list(SIZES.values()))


def efficiency_of_size(power: ArrayLike) -> Any:
    """Isentropic efficiency of dry expansion that is usual at a size.

    Parameters
    ----------
    power : float or ndarray
        Electric power [W]; 5 kW to 500 MW, held at the ends beyond.

    Returns
    -------
    float or ndarray
        Efficiency [-].

    Notes
    -----
    Monotone cubic through `SIZES` over the logarithm of power; `SOURCE` tells where they come from. Single machines lie
    some five points to either side.

    Examples
    --------
    >>> [round(float(efficiency_of_size(p)), 2) for p in (5e3, 5e5, 22e6, 2e8)]
    [0.3, 0.54, 0.86, 0.89]
    """
    sizes = list(SIZES)
    inside = np.clip(np.asarray(power, dtype=float), sizes[0], sizes[-1])
    out = _curve()(np.log(inside))
    return out if np.ndim(out) else float(out)
