"""Weighted least squares that names outliers and drops terms it cannot see: free functions of arrays."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["Estimate", "Trial", "choose_terms", "combined", "find_outliers", "weighted_fit"]

Array = NDArray[np.float64]


class Estimate(NamedTuple):
    """Coefficients beta, shape (terms,); their covariance from scatter; the scatter over what was expected; residuals,
    shape (points,); degrees of freedom; and the matrix that turns changes of y into changes of beta."""

    beta: Array
    covariance: Array
    scatter: float
    residual: Array
    freedom: int
    gain: Array

    @property
    def t(self) -> Array:
        """Coefficients over their standard errors from scatter, shape (terms,) [-]."""
        error = np.sqrt(np.diag(self.covariance))
        return np.where(error > 0, self.beta / np.where(error > 0, error, 1.0), np.copysign(np.inf, self.beta))


class Trial(NamedTuple):
    """A term that was tried and dropped, and why."""

    term: str
    why: str


def weighted_fit(X: Array, y: Array, u: Array) -> Estimate:
    """Least squares of (y - X beta) / u, by singular values of the scaled columns.

    Parameters
    ----------
    X : array, shape (points, terms)
        What the coefficients multiply [unit of y over that of the coefficient].
    y : array, shape (points,)
        What was measured [any unit].
    u : array, shape (points,)
        Standard uncertainty of each point, of which only the ratios matter [unit of y].

    Returns
    -------
    Estimate
        The covariance is s^2 (X' W X)^-1 with W = 1/u^2 and s^2 the weighted sum of squared residuals over the degrees
        of freedom (none left: infinite).

    Examples
    --------
    >>> fit = weighted_fit(np.array([[1.0, 0.0], [1.0, 1.0], [1.0, 2.0]]), np.array([1.0, 3.0, 5.0]), np.ones(3))
    >>> fit.beta.round(9), fit.freedom
    (array([1., 2.]), 1)
    """
    weighted, target = X / u[:, None], y / u
    size = np.linalg.norm(weighted, axis=0)
    size = np.where(size > 0, size, 1.0)
    inverse = np.linalg.pinv(weighted / size, rcond=1e-12) / size[:, None]
    beta = inverse @ target
    residual = y - X @ beta
    freedom = len(y) - X.shape[1]
    s2 = float(np.sum((residual / u) ** 2) / freedom) if freedom > 0 else np.inf
    # what rounding alone would leave counts as nothing
    s2 = 0.0 if s2 < 1e-24 * float(np.max(target**2, initial=0.0)) else s2
    unit = inverse @ inverse.T
    return Estimate(beta, unit * s2 if np.isfinite(s2) else np.full_like(unit, np.inf), float(np.sqrt(s2)), residual,
                    freedom, inverse / u)


def find_outliers(X: Array, y: Array, u: Array, threshold: float = 4.0) -> NDArray[np.bool_]:
    """Points that do not belong: further from a robust fit than `threshold` robust standard deviations.

    The robust fit is Huber's (weights 1 within 1.345 standard deviations, falling as 1/distance beyond), reweighted
    until it rests; the standard deviation is 1.4826 times the median absolute residual, widened by
    sqrt(n / (n - p)). With fewer than 6 degrees of freedom nothing is judged.

    Parameters
    ----------
    X : array, shape (points, terms)
        What the coefficients multiply [unit of y over that of the coefficient].
    y : array, shape (points,)
        What was measured [any unit].
    u : array, shape (points,)
        Standard uncertainty of each point [unit of y].
    threshold : float
        How far a point may lie [robust standard deviations]; a normal error exceeds 4 once in 16,000 points.

    Returns
    -------
    array of bool, shape (points,)

    References
    ----------
    Huber, Robust Statistics (1981), for the constant 1.345 (from memory).

    Examples
    --------
    >>> x = np.arange(12.0)
    >>> y = 2 * x + np.tile([0.1, -0.1], 6)
    >>> y[4] = 30.0
    >>> np.flatnonzero(find_outliers(x[:, None], y, np.ones(12)))
    array([4])
    """
    n, p = X.shape
    if n - p < 6:
        return np.zeros(n, bool)
    weight = np.ones(n)
    far, floor = np.zeros(n), 1e-9 * float(np.max(np.abs(y / u), initial=0.0)) + 1e-300
    for _ in range(50):
        residual = weighted_fit(X, y, u / np.sqrt(weight)).residual / u
        scale = max(1.4826 * float(np.median(np.abs(residual))) * np.sqrt(n / (n - p)), floor)
        before, far = far, np.abs(residual) / scale
        weight = np.minimum(1.0, 1.345 / np.maximum(far, 1e-12))
        if np.max(np.abs(far - before)) < 1e-3:
            break
    return np.asarray(far > threshold)


def choose_terms(fit: Callable[[Sequence[str]], Estimate], candidates: Sequence[str], losses: Sequence[str],
                 keep: Sequence[str], limit: Callable[[int], float]) -> tuple[tuple[str, ...], tuple[Trial, ...]]:
    """Drop one term at a time: first losses that come out negative, then the least certain.

    Parameters
    ----------
    fit : callable
        Names of terms -> Estimate.
    candidates : sequence of str
        Terms to begin with.
    losses : sequence of str
        Terms that nature keeps from being negative.
    keep : sequence of str
        Terms that stay.
    limit : callable
        Degrees of freedom -> least |t| of a term that counts [-].

    Returns
    -------
    terms : tuple of str
        What is left.
    dropped : tuple of Trial
        What is not, in the order of dropping.
    """
    terms, dropped = list(candidates), list[Trial]()
    while True:
        estimate = fit(terms)
        t = dict(zip(terms, estimate.t, strict=True))
        free = [name for name in terms if name not in keep]
        if not free:
            break
        if estimate.freedom < 1:
            name, why = free[-1], "too few points"
        elif (negative := [name for name in free if name in losses and t[name] < 0]):
            name = min(negative, key=lambda n: t[n])
            why = f"came out negative (t = {t[name]:.2g}), which no loss is"
        else:
            name = min(free, key=lambda n: abs(t[n]))
            least = limit(estimate.freedom)
            if abs(t[name]) >= least:
                break
            why = f"not told apart from zero (|t| = {abs(t[name]):.2g}, needed {least:.2g})"
        terms.remove(name)
        dropped.append(Trial(name, why))
    return tuple(terms), tuple(dropped)


def combined(estimate: Estimate, effects: Sequence[Array]) -> tuple[Array, Array]:
    """Covariance from scatter and instruments together, and the effective degrees of freedom of each coefficient.

    An instrument that is off in all rows alike moves the coefficients by gain @ effect; such moves are added in squares
    (GUM, JCGM 100:2008: type A and type B; Welch-Satterthwaite for the degrees of freedom; from memory).

    Parameters
    ----------
    estimate : Estimate
        A fit.
    effects : sequence of array
        For each instrument the change of y, shape (points,) [unit of y].

    Returns
    -------
    covariance : array, shape (terms, terms)
        Of the coefficients [product of their units].
    freedom : array, shape (terms,)
        Effective degrees of freedom [-].
    """
    moves = np.array([estimate.gain @ effect for effect in effects]).reshape(len(effects), len(estimate.beta))
    whole = estimate.covariance + moves.T @ moves
    own, total = np.diag(estimate.covariance), np.diag(whole)
    ratio = np.where(own > 0, total / np.where(own > 0, own, 1.0), 1e6)
    return whole, np.minimum(estimate.freedom * ratio**2, 1e9)
