"""Time value of money in pure functions: capital recovery, discounting, replacements, interest during construction."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, expm1, fsum, isfinite, log1p

from loopnet.errors import ParameterError
from loopnet.params import check_range

__all__ = [
    "capital_recovery",
    "construction_factor",
    "discounted_sum",
    "real_rate",
    "replacement_worth",
    "replacement_years",
]


def capital_recovery(rate: float, years: float) -> float:
    """Share of a capital to be earned each year so that it is repaid with interest, CRF = r / (1 - (1 + r)^-n).

    Parameters
    ----------
    rate : float
        Discount rate [1/year]; 0 gives 1/n.
    years : float
        Number of yearly payments [year].

    Returns
    -------
    float
        Capital recovery factor [1/year].

    Raises
    ------
    ParameterError
        If the rate is not within -0.5 to 10 or the years are not within 0.01 to 1000.

    Notes
    -----
    Payments fall at the ends of the years. Near a rate of zero the expression is evaluated without cancellation.

    References
    ----------
    G. Masters, Renewable and Efficient Electric Power Systems, appendix A, table of capital recovery factors.

    Examples
    --------
    >>> round(capital_recovery(0.07, 25), 4), capital_recovery(0.0, 20)
    (0.0858, 0.05)
    """
    check_range(rate, where="capital_recovery.rate", unit="-", low=-0.5, high=10.0, hint="a rate such as 0.07")
    check_range(years, where="capital_recovery.years", unit="year", low=0.01, high=1000.0)
    if rate == 0.0:
        return 1.0 / years
    return rate / -expm1(-years * log1p(rate))


def discounted_sum(rate: float, years: int, *, decay: float = 0.0) -> float:
    """Present worth of one unit a year at the ends of years 1 to n, each (1 - decay) times the one before.

    Parameters
    ----------
    rate : float
        Discount rate [1/year].
    years : int
        Number of years [year].
    decay : float
        Fraction lost each year [1/year]; negative for growth.

    Returns
    -------
    float
        Sum of (1 - d)^(t-1) / (1 + r)^t over t = 1..n [year].

    Examples
    --------
    A payment that grows by 3 % a year for ten years, discounted at 8 %:

    >>> round(discounted_sum(0.08, 10, decay=-0.03), 6)
    7.550134
    """
    whole = _whole(years, "discounted_sum.years")
    return fsum((1.0 - decay) ** (year - 1) / (1.0 + rate) ** year for year in range(1, whole + 1))


def real_rate(nominal: float, inflation: float) -> float:
    """Discount rate free of inflation, r = (1 + nominal) / (1 + inflation) - 1.

    Parameters
    ----------
    nominal, inflation : float
        Yearly rates [1/year].

    Returns
    -------
    float
        Real rate [1/year].

    Examples
    --------
    >>> round(real_rate(0.10, 0.025), 7)
    0.0731707
    """
    return (1.0 + nominal) / (1.0 + inflation) - 1.0


def construction_factor(rate: float, shares: Sequence[float], *, mid_year: bool = True) -> float:
    """Money owed at start-up for each unit spent while building, sum of f_y (1 + i)^(t_y).

    Parameters
    ----------
    rate : float
        Interest while building [1/year].
    shares : sequence of float
        Share of the cost spent in each year of building, first year first [-]; they must add up to 1. Empty: built
        in no time, factor 1.
    mid_year : bool
        Whether a year's money is spent in its middle (True) or at its end.

    Returns
    -------
    float
        Factor on the cost [-], 1 or more for a positive rate.

    Raises
    ------
    ParameterError
        If shares are negative or do not add up to 1.

    Examples
    --------
    A third in each of three years at 8 %:

    >>> round(construction_factor(0.08, [1/3] * 3), 6), round(construction_factor(0.08, [1/3] * 3, mid_year=False), 6)
    (1.124586, 1.082133)
    """
    if not shares:
        return 1.0
    if any(not isfinite(f) or f < 0 for f in shares) or abs(fsum(shares) - 1.0) > 1e-9:
        raise ParameterError("shares of construction spending must be positive and add up to 1",
                             where="construction_factor.shares", got=str(list(shares)), allowed="shares whose sum is 1",
                             hint="for example [0.4, 0.6]")
    shift, years = (0.5 if mid_year else 0.0), len(shares)
    return fsum(f * (1.0 + rate) ** (years - 1 - k + shift) for k, f in enumerate(shares))


def replacement_years(life: float, horizon: float) -> tuple[float, ...]:
    """Years after start-up in which something with a shorter life than the plant is bought again.

    Parameters
    ----------
    life : float
        Life of the thing [year].
    horizon : float
        Life of the plant [year].

    Returns
    -------
    tuple of float
        Years, all smaller than `horizon` [year]; nothing is bought at the end, and no rest value is credited.

    Examples
    --------
    >>> replacement_years(10, 30), replacement_years(30, 30)
    ((10.0, 20.0), ())
    """
    check_range(life, where="replacement_years.life", unit="year", low=0.05, high=1000.0,
                hint="a life in years; something used up within days is a running cost")
    return tuple(float(life * k) for k in range(1, ceil(horizon / life - 1e-9)))


def replacement_worth(rate: float, life: float, horizon: float) -> float:
    """Present worth of all replacements of a thing that costs one unit each time.

    Parameters
    ----------
    rate : float
        Discount rate [1/year].
    life, horizon : float
        Life of the thing and of the plant [year].

    Returns
    -------
    float
        Sum of (1 + r)^-t over the replacement years [-].

    Examples
    --------
    A skin bought again in years 10 and 20 of 30, at 7 %:

    >>> round(10 * replacement_worth(0.07, 10, 30), 4)
    7.6677
    """
    return fsum((1.0 + rate) ** -year for year in replacement_years(life, horizon))


def _whole(years: float, where: str) -> int:
    if not isfinite(years) or years != int(years) or not 0 <= years <= 1000:
        raise ParameterError("years must be a whole number", where=where, got=f"{years}", allowed="0, 1, 2, ... 1000",
                             hint="round to whole years")
    return int(years)
