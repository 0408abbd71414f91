"""What decides: the share of a variance that one input explains alone, found from samples that are there already."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["first_order", "share_first"]

Array = NDArray[np.float64]


def first_order(x: Any, y: Any, bins: int = 32) -> float:
    """First-order (Sobol) index Var(E[y | x]) / Var(y) from a sample.

    The sample is cut into bins of equal count along x; the variance of the bins' means, less what chance alone gives
    them, is that of the conditional mean.

    Parameters
    ----------
    x, y : array, shape (n,)
        Input and output [any units].
    bins : int
        How many [-].

    Returns
    -------
    float
        Between 0 and 1 [-], with an error of some sqrt(2 bins) / n.

    References
    ----------
    I. M. Sobol, Mathematics and Computers in Simulation 55 (2001) 271-280; estimate from given data: E. Plischke,
    E. Borgonovo, C. L. Smith, European Journal of Operational Research 226 (2013) 536-550; both from memory.

    Examples
    --------
    >>> x = np.random.default_rng(1).random((2, 20000))
    >>> round(first_order(x[0], 2 * x[0] + x[1]), 1)
    0.8
    """
    inputs, output = np.asarray(x, float), np.asarray(y, float)
    total = float(np.var(output))
    if total <= 0.0 or float(np.ptp(inputs)) == 0.0:
        return 0.0
    parts = np.array_split(output[np.argsort(inputs, kind="stable")], min(bins, max(len(output) // 20, 1)))
    between = sum(len(part) * (part.mean() - output.mean()) ** 2 for part in parts)
    within = sum(((part - part.mean()) ** 2).sum() for part in parts)
    chance = within / max(len(output) - len(parts), 1) * (len(parts) - 1)
    return float(min(max((between - chance) / (total * len(output)), 0.0), 1.0))


def share_first(x: Any, ahead: Any, share: float = 0.2) -> tuple[float, float]:
    """How often something holds where x is among its lowest, and where it is among its highest.

    Parameters
    ----------
    x : array, shape (n,)
        Input [any unit].
    ahead : array of bool, shape (n,)
        Whether it holds.
    share : float
        Share of the sample that counts as lowest, and as highest [-].

    Returns
    -------
    (float, float)
        Shares of those samples [-].

    Examples
    --------
    >>> share_first([1, 2, 3, 4, 5], [True, True, False, False, False])
    (1.0, 0.0)
    """
    order = np.argsort(np.asarray(x, float), kind="stable")
    count, holds = max(int(share * len(order)), 1), np.asarray(ahead, bool)
    return float(holds[order[:count]].mean()), float(holds[order[-count:]].mean())
