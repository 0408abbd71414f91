"""Exchanger formulas: effectiveness from transfer units and back, mean temperature difference, conductance
that follows the flows; all smooth where the textbook forms are 0/0."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loopnet.errors import ParameterError

__all__ = ["decay_mean", "effectiveness", "lmtd", "transfer_units", "ua_at_flow"]

Array = NDArray[np.float64]
Floats = float | Array
Arrangement = Literal["counter", "parallel", "cross"]


def decay_mean(x: Floats) -> Array:
    """Mean of exp(-s) for s from 0 to x, (1 - exp(-x)) / x, smooth through x = 0 where it is 1.

    Parameters
    ----------
    x : float or array, any shape
        Upper end [-].

    Returns
    -------
    array, same shape
        The mean [-].

    Examples
    --------
    >>> decay_mean(np.array([0.0, 1.0])).round(6)
    array([1.      , 0.632121])
    """
    x = np.asarray(x, float)
    small = np.abs(x) < 1e-5
    safe = np.where(small, 1.0, x)
    return np.where(small, 1.0 - x / 2.0 + x**2 / 6.0, -np.expm1(-safe) / safe)


def effectiveness(ntu: Floats, ratio: Floats, arrangement: Arrangement = "counter") -> Array:
    """Effectiveness of an exchanger of given transfer units.

    counter: (1 - exp(-N (1 - C))) / (1 - C exp(-N (1 - C))); parallel: (1 - exp(-N (1 + C))) / (1 + C);
    cross, both streams unmixed: 1 - exp(N^0.22 (exp(-C N^0.78) - 1) / C). All give 1 - exp(-N) at C = 0.

    Parameters
    ----------
    ntu : float or array, shape (points,)
        Transfer units UA / C_min [-], at least 0.
    ratio : float or array, shape (points,)
        C_min / C_max [-], 0 to 1.
    arrangement : str
        "counter", "parallel" or "cross".

    Returns
    -------
    array, shape (points,)
        Effectiveness [-].

    Raises
    ------
    ParameterError
        If the arrangement is unknown.

    Notes
    -----
    The cross-flow form is the usual approximation, up to 0.01 off the exact series.

    References
    ----------
    Incropera et al., Fundamentals of Heat and Mass Transfer, 7th ed., table 11.3 (memory).

    Examples
    --------
    >>> [round(float(effectiveness(3.0, 1.0, kind)), 6) for kind in ("counter", "parallel")]
    [0.75, 0.498761]
    """
    n, c = np.asarray(ntu, float), np.asarray(ratio, float)
    if arrangement == "counter":
        reached = n * decay_mean(n * (1.0 - c))
        return reached / (1.0 + c * reached)
    if arrangement == "parallel":
        return -np.expm1(-n * (1.0 + c)) / (1.0 + c)
    if arrangement == "cross":
        return -np.expm1(-n * decay_mean(c * n**0.78))
    raise _unknown(arrangement)


def transfer_units(effect: Floats, ratio: Floats, arrangement: Arrangement = "counter") -> Array:
    """Transfer units that give an effectiveness: the inverse of `effectiveness`, for counter and parallel flow.

    Parameters
    ----------
    effect : float or array, shape (points,)
        Effectiveness [-], below 1 (counter) or below 1 / (1 + ratio) (parallel).
    ratio : float or array, shape (points,)
        C_min / C_max [-], 0 to 1.
    arrangement : str
        "counter" or "parallel".

    Returns
    -------
    array, shape (points,)
        Transfer units [-].

    Raises
    ------
    ParameterError
        If the arrangement is unknown or the effectiveness cannot be reached.

    Examples
    --------
    >>> print(round(float(transfer_units(0.75, 1.0)), 9))
    3.0
    """
    e, c = np.asarray(effect, float), np.asarray(ratio, float)
    limit = np.ones_like(c) if arrangement == "counter" else 1.0 / (1.0 + c)
    if np.any(e < 0.0) or np.any(e >= limit):
        raise ParameterError("effectiveness cannot be reached", where=f"transfer_units ({arrangement})",
                             got=f"{np.max(e):g}", allowed=f"0 to below {np.min(limit):g}",
                             hint="allow a larger approach temperature")
    if arrangement == "counter":  # log((1 - e c) / (1 - e)) / (1 - c), with 1 - e c = (1 - e) + e (1 - c)
        reached = e / (1.0 - e)
        x = reached * (1.0 - c)
        small = x < 1e-5
        safe = np.where(small, 1.0, x)
        return reached * np.where(small, 1.0 - x / 2.0 + x**2 / 3.0, np.log1p(safe) / safe)
    if arrangement == "parallel":
        return -np.log1p(-e * (1.0 + c)) / (1.0 + c)
    raise _unknown(arrangement)


def lmtd(first: Floats, second: Floats, floor: float = 1e-3) -> Array:
    """Logarithmic mean of two temperature differences, (a - b) / ln(a / b), smooth at a = b.

    It is written sqrt(a b) sinh(r/2) / (r/2) with r = ln(a / b), which has no 0/0 but a short series.

    Parameters
    ----------
    first, second : float or array, shape (points,)
        Temperature differences at the two ends [K].
    floor : float
        Differences below it are continued as floor^2 / (2 floor - difference) [K].

    Returns
    -------
    array, shape (points,)
        Mean temperature difference [K], always positive.

    Notes
    -----
    Below the floor the value is not physical: it stays positive and rises with both differences, so that Newton can
    leave a crossed state. Whether the solution is crossed is for the certificate to say.

    Examples
    --------
    Incropera example 11.1 (seen): 59.8 and 30 K give 43.2 K.

    >>> print(round(float(lmtd(59.8, 30.0)), 1), round(float(lmtd(20.0, 20.0)), 6))
    43.2 20.0
    """
    a, b = (np.where(d >= floor, d, floor**2 / (2.0 * floor - np.minimum(d, floor)))
            for d in (np.asarray(first, float), np.asarray(second, float)))
    half = 0.5 * np.log(a / b)
    small = np.abs(half) < 1e-3
    safe = np.where(small, 1.0, half)
    return np.sqrt(a * b) * np.where(small, 1.0 + half**2 / 6.0 * (1.0 + half**2 / 20.0), np.sinh(safe) / safe)


def ua_at_flow(ua_design: Floats, hot: Floats, cold: Floats, exponent: float = 0.8, hot_share: float = 0.5,
               wall_share: float = 0.0) -> Array:
    """Conductance at other flows: the film resistance of each side follows its flow to the power -exponent.

    UA_design / UA = hot_share hot^-n + wall_share + (1 - hot_share - wall_share) cold^-n

    Parameters
    ----------
    ua_design : float or array, shape (points,)
        Conductance at design flows [W/K].
    hot, cold : float or array, shape (points,)
        Flow of each side over its design flow [-].
    exponent : float
        The exponent n [-], 0.8 for turbulent flow in tubes (Dittus-Boelter); 0 keeps UA.
    hot_share, wall_share : float
        Part of the design resistance on the hot side and in the wall [-]; equal sides is an assumption.

    Returns
    -------
    array, shape (points,)
        Conductance [W/K]; 0 where a side stands still.

    Raises
    ------
    ParameterError
        If the shares are not within 0 and 1 together.

    Examples
    --------
    >>> ua_at_flow(1000.0, np.array([1.0, 0.5]), np.array([1.0, 0.5])).round(2)
    array([1000.  ,  574.35])
    """
    cold_share = 1.0 - hot_share - wall_share
    if min(hot_share, wall_share, cold_share) < 0.0:
        raise ParameterError("shares of resistance do not fit", where="ua_at_flow",
                             got=f"hot {hot_share:g}, wall {wall_share:g}",
                             allowed="each at least 0, together at most 1", hint="hot_share=0.5, wall_share=0")
    h, c = (np.maximum(np.asarray(x, float), 1e-12) ** exponent for x in (hot, cold))
    return np.asarray(ua_design) * h * c / (hot_share * c + cold_share * h + wall_share * h * c)


def _unknown(arrangement: str) -> ParameterError:
    return ParameterError("unknown arrangement", where="exchanger", got=repr(arrangement),
                          allowed="'counter', 'parallel', 'cross' (effectiveness only)", hint="'counter'")
