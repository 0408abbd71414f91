"""Draws of uncertain numbers: distributions from low, likely and high, and draws that move together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import special

from loopnet.errors import ParameterError

__all__ = ["SHAPES", "draw", "moving_together", "pert", "triangular"]

Array = NDArray[np.float64]


def pert(share: Any, low: float, likely: float, high: float) -> Array:
    """Value below which a share of a PERT (beta) distribution lies.

    x = low + (high - low) B, B beta distributed with 1 + 4 (likely - low)/(high - low) and
    1 + 4 (high - likely)/(high - low); its mean is (low + 4 likely + high) / 6.

    Parameters
    ----------
    share : float or array
        0 to 1 [-].
    low, likely, high : float
        Range and most likely value [any unit].

    Returns
    -------
    array
        Values [same unit].

    References
    ----------
    D. G. Malcolm et al., Operations Research 7 (1959) 646-669 (mean of low, four times likely, high); from memory.

    Examples
    --------
    >>> print(round(float(pert(0.5, 0.0, 5.0, 10.0)), 9))
    5.0
    """
    width = high - low
    if width == 0.0:
        return np.full(np.shape(share), low)
    return low + width * special.betaincinv(1.0 + 4.0 * (likely - low) / width, 1.0 + 4.0 * (high - likely) / width,
                                            np.asarray(share, float))


def triangular(share: Any, low: float, likely: float, high: float) -> Array:
    """Value below which a share of a triangular distribution lies.

    Parameters
    ----------
    share : float or array
        0 to 1 [-].
    low, likely, high : float
        Range and most likely value [any unit].

    Returns
    -------
    array
        Values [same unit].

    Examples
    --------
    >>> print(round(float(triangular(0.5, 0.0, 0.0, 10.0)), 4))
    2.9289
    """
    u, width = np.asarray(share, float), high - low
    if width == 0.0:
        return np.full(np.shape(share), low)
    left = np.sqrt(u * width * (likely - low))
    right = np.sqrt((1.0 - u) * width * (high - likely))
    return np.where(u * width < likely - low, low + left, high - right)


SHAPES = {"pert": pert, "triangular": triangular}


def moving_together(names: Sequence[str], samples: int, seed: int, *, market: float = 0.0,
                    market_of: Sequence[str] = (), correlations: Mapping[tuple[str, str], float] | None = None
                    ) -> dict[str, Array]:
    """Uniform draws with a Gaussian copula.

    Parameters
    ----------
    names : sequence of str
        What is drawn.
    samples : int
        How many of each [-].
    seed : int
        Start of the random numbers [-]; the same seed gives the same draws on every machine.
    market : float
        Correlation of all those in `market_of` with each other [-], 0 to less than 1.
    market_of : sequence of str
        What moves with the market.
    correlations : mapping of pairs of str to float, optional
        Correlation of the normal scores of single pairs [-]; stands in place of `market` for that pair.

    Returns
    -------
    dict of array, shape (samples,)
        Between 0 and 1 [-], by name.

    Raises
    ------
    ParameterError
        If a name is unknown, a correlation does not lie within -1 to 1, or they contradict each other.

    References
    ----------
    R. B. Nelsen, An Introduction to Copulas, 2nd ed., Springer (2006); from memory.
    """
    count, place = len(names), {name: k for k, name in enumerate(names)}
    matrix = np.eye(count)
    moved = [place[name] for name in market_of if name in place]
    if not 0.0 <= market < 1.0:
        raise ParameterError("out of range", where="market", got=f"{market:g}", allowed="0 to less than 1",
                             hint="0.3 for prices that share steel, labour and freight")
    matrix[np.ix_(moved, moved)] += market * (1.0 - np.eye(len(moved)))
    for (one, two), value in (correlations or {}).items():
        if one not in place or two not in place or one == two or not -1.0 < value < 1.0:
            raise ParameterError("no such correlation", where="correlations", got=f"{one}, {two}: {value:g}",
                                 allowed="two different names that are drawn, and a number within -1 to 1",
                                 hint=", ".join(names[:3]))
        matrix[place[one], place[two]] = matrix[place[two], place[one]] = value
    scores = np.random.default_rng(seed).standard_normal((samples, count))
    if not np.array_equal(matrix, np.eye(count)):
        try:
            scores = scores @ np.linalg.cholesky(matrix).T
        except np.linalg.LinAlgError:
            lowest = float(np.linalg.eigvalsh(matrix)[0])
            raise ParameterError("these correlations contradict each other", where="correlations",
                                 got=f"a least eigenvalue of {lowest:.3g}", allowed="a positive definite matrix",
                                 hint="weaker correlations, or those of the third pair as well") from None
    uniform = special.ndtr(scores)
    return {name: uniform[:, k] for name, k in place.items()}


def draw(ranges: Mapping[str, tuple[float, float, float]], uniform: Mapping[str, Array], shape: str = "pert"
         ) -> dict[str, Array]:
    """Values from uniform draws.

    Parameters
    ----------
    ranges : mapping of str to (float, float, float)
        Low, likely, high by name [any unit].
    uniform : mapping of str to array
        Draws between 0 and 1 by name [-].
    shape : str
        One of `SHAPES`.

    Returns
    -------
    dict of array
        Values by name [units of `ranges`].

    Raises
    ------
    ParameterError
        If there is no such shape.
    """
    if shape not in SHAPES:
        raise ParameterError("no such distribution", where="shape", got=repr(shape), allowed=", ".join(SHAPES),
                             hint="pert")
    return {name: SHAPES[shape](uniform[name], *span) for name, span in ranges.items()}
