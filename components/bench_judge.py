"""What a careful reader would object to in a fit: coefficients known only together, one temperature, echoes in time."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from components.bench_data import BenchData
from components.bench_heat import Heat
from components.bench_result import Coefficient
from components.bench_screen import LeftOut, Points
from components.bench_terms import TERMS

__all__ = ["echo", "judged", "levels", "told_apart"]

Array = NDArray[np.float64]
TOGETHER, NEARLY = 0.9995, 0.98
"""Correlation [-] from which two coefficients are one, and from which that is said."""
LEAST_SPAN = 10.0
"""Temperatures [K] within which no curve of the loss can be seen; common practice, no source."""
MUCH = 0.05
"""Scatter over useful heat [-] from which that is said; common practice, no source."""


def levels(values: Array) -> int:
    """How many different levels there are: groups apart by more than 5 % of the whole spread and by 3 units.

    Parameters
    ----------
    values : array, shape (points,)
        Temperatures [K].

    Returns
    -------
    int

    Examples
    --------
    >>> levels(np.array([20.0, 21.0, 80.0, 80.5, 140.0]))
    3
    """
    ordered = np.sort(values)
    return int(1 + np.sum(np.diff(ordered) > max(0.05 * np.ptp(ordered), 3.0)))


def echo(residual: Array) -> float:
    """How much each residual repeats the one before: r1 = sum e_i e_(i-1) / sum e_i^2.

    Parameters
    ----------
    residual : array, shape (points,)
        Residuals in the order of time [W/m2].

    Returns
    -------
    float
        Correlation of neighbours [-].

    Examples
    --------
    >>> echo(np.array([1.0, -1.0, 1.0, -1.0]))
    -0.75
    """
    power = float(residual @ residual)
    return float(residual[1:] @ residual[:-1]) / power if power > 0 else 0.0


def told_apart(data: BenchData, points: Points, X: Array, terms: Sequence[str], over: Array) -> None:
    """Refuse terms that these points cannot tell apart.

    Parameters
    ----------
    data : BenchData
        The test.
    points : Points
        Its points.
    X : array, shape (points, terms)
        What the coefficients multiply, weighted [-].
    terms : sequence of str
        Names.
    over : array, shape (points,)
        Mean temperature above the air [K].

    Raises
    ------
    DataError
        If a combination of coefficients changes nothing that was measured, or two terms that are one slope within a
        few kelvins are asked for.
    """
    if len(terms) < 2:
        return
    size = np.linalg.norm(X, axis=0)
    curved = [name for name in ("a1", "a2", "a8", "radiation") if name in terms]
    flat = curved if len(curved) > 1 and np.ptp(over) < LEAST_SPAN else []
    pair = [name for name, s in zip(terms, size, strict=True) if s == 0] or flat
    if not pair:
        values, vectors = np.linalg.eigh((X / size).T @ (X / size))
        if values[0] > 1e-12:
            inverse = (vectors / values) @ vectors.T
            scale = np.sqrt(np.diag(inverse))
            related = np.triu(np.abs(inverse / np.outer(scale, scale)), 1)
            i, j = (int(k) for k in np.unravel_index(int(np.argmax(related)), related.shape))
            if related[i, j] < TOGETHER:
                return
            pair = [terms[i], terms[j]]
        else:
            pair = [name for name, part in zip(terms, np.abs(vectors[:, 0]), strict=True) if part > 0.3]
    raise data.error(f"loss coefficients cannot be told apart: {' and '.join(pair)}",
                     got=f"{len(points)} points from {over.min():.0f} to {over.max():.0f} K above the air, sun "
                     f"{points.columns['dni'].min():.0f} to {points.columns['dni'].max():.0f} W/m2",
                     allowed="points that differ in what these terms multiply",
                     hint="measure at four or more inlet temperatures over the range of use, or ask for fewer terms")


def judged(data: BenchData, used: pd.DataFrame, heat: Heat, coefficients: Sequence[Coefficient], covariance: Array,
           keep: NDArray[np.bool_], was_judged: bool, dynamic: bool, left_out: Sequence[LeftOut],
           ) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Warnings and notes on a fit.

    Parameters
    ----------
    data : BenchData
        The test.
    used : DataFrame
        Points of the fit.
    heat : Heat
        How heat is found.
    coefficients : sequence of Coefficient
        The result.
    covariance : array, shape (terms, terms)
        Of the coefficients [product of their units].
    keep : array of bool, shape (points,)
        Points that are not outliers.
    was_judged : bool
        Whether rows lie close enough to judge steadiness.
    dynamic : bool
        Whether rows that are not steady were kept.
    left_out : sequence of LeftOut
        Rows that were not used.

    Returns
    -------
    warnings, notes : tuple of str
    """
    at = {c.name: c for c in coefficients}
    losses = [c for c in coefficients if TERMS[c.name].loss and c.name not in ("a5", "a6")]
    over = used["over"].to_numpy()
    low, high = float(over.min()), float(over.max())
    warnings, notes = list[str](), list[str]()
    if not losses:
        warnings.append(f"loss coefficients cannot be told apart from the optics by this test ({low:.0f} to {high:.0f} "
                        "K above the air): what is called eta0 is the efficiency there, losses included")
    elif low > max(30.0, 0.25 * high):
        warnings.append(f"the coldest point is {low:.0f} K above the air: eta0 is drawn out to 0 K from there")
    if losses and high - low < LEAST_SPAN:
        warnings.append(f"all points lie within {high - low:.1f} K: losses were told from the optics by the changing "
                        "sun alone, and hold only there")
    elif losses and (count := levels(over)) < 4:
        warnings.append(f"measured at {count} temperature{'s' * (count > 1)} only; ISO 9806 asks for at least four "
                        "(from memory)")
    size = np.sqrt(np.maximum(np.diag(covariance), 1e-300))
    related = covariance / np.outer(size, size)
    for i, one in enumerate(coefficients):
        for j in range(i):
            if abs(related[i, j]) > NEARLY and {one.name, coefficients[j].name} <= {c.name for c in losses}:
                warnings.append(f"{coefficients[j].name} and {one.name} are known only together (correlation "
                                f"{related[i, j]:.3f}): trust the curve within the range measured, not each of them")
    warnings += [f"{c.name} is not told apart from zero: {c.low:.3g} to {c.high:.3g} {c.unit}" for c in coefficients
                 if c.low < 0 < c.high and c.name not in ("k1", "k2")]
    warnings += [f"{c.name} came out negative, which no loss is: {c.value:.3g} {c.unit}" for c in losses if c.high < 0]
    if at["eta0"].value > 0.95:
        warnings.append(f"eta0 is {at['eta0'].value:.2f}; mirrors, glass and receiver of the trade reach 0.6 to 0.8 "
                        "(common practice, no source): check aperture, flow and the sun's instrument")
    residual = used["residual"].to_numpy()
    usual = float(np.median(np.abs(used["measured"])))
    if float(np.std(residual)) > MUCH * usual:
        warnings.append(f"the points scatter by {100 * np.std(residual) / usual:.0f} % of the heat, more than careful "
                        "measurement does: look for a sensor that came loose, or a term that is missing")
    r1 = echo(residual)
    if len(residual) >= 12 and r1 > max(0.35, 2 / np.sqrt(len(residual))):
        warnings.append(f"neighbouring points share their errors (correlation {r1:.2f}): what scatter tells is about "
                        f"{np.sqrt((1 + r1) / (1 - min(r1, 0.95))):.1f} times less certain than stated")
    if "incidence" not in data.columns and heat.kind != "efficiency":
        notes.append("no incidence was measured: the mirrors are taken to have faced the sun")
    if not was_judged:
        notes.append("rows lie too far apart to judge steadiness: each is taken as the mean of a steady stretch")
    elif dynamic:
        notes.append("rows that are not steady were kept (dynamic)")
    gone = int(sum(len(x.rows) for x in left_out))
    notes.append(f"{len(data) - gone} of {len(data)} rows are used, as {int(keep.sum())} points")
    return tuple(warnings), tuple(notes)
