"""What no other beats: the Pareto front of plants over several criteria, each to be small or large."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from loopnet.errors import ParameterError

__all__ = ["CRITERIA", "Criterion", "criteria_of", "front"]


@dataclass(frozen=True)
class Criterion:
    """A figure of a plant by which it is judged: the name of the figure, whether more of it is better, and how it is
    shown: factor to the unit people use, the unit, and a line for people."""

    figure: str
    more: bool
    factor: float
    unit: str
    doc: str


CRITERIA: Mapping[str, Criterion] = {
    "cost": Criterion("usd_per_kwh", False, 100.0, "ct/kWh", "levelised cost of a kilowatt-hour"),
    "output": Criterion("delivery_kwh", True, 1e-6, "GWh/year", "what is delivered in a year"),
    "firmness": Criterion("full_supply", True, 100.0, "% of hours", "share of hours at full supply"),
    "months": Criterion("firm_months", True, 100.0, "% of months", "share of months with 80 % of full supply or more"),
    "land": Criterion("land_m2", False, 1e-4, "ha", "land under the mirrors"),
    "capital": Criterion("capital_usd", False, 1e-6, "MUSD", "capital with all on-costs"),
}
"""By the name under which a user asks for it."""


def criteria_of(names: Sequence[str], where: str = "criteria") -> list[Criterion]:
    """Criteria by name.

    Raises
    ------
    ParameterError
        If there is no such criterion, none is given, or one is given twice.
    """
    for name in names:
        if name not in CRITERIA:
            raise ParameterError("no such criterion", where=where, got=repr(name), allowed=", ".join(CRITERIA),
                                 hint="cost, firmness")
    if not names or len(set(names)) < len(names):
        raise ParameterError("criteria are one or more, each once", where=where, got=", ".join(names) or "none",
                             allowed=", ".join(CRITERIA), hint="cost, firmness")
    return [CRITERIA[name] for name in names]


def front(values: Any, more: Sequence[bool] | None = None) -> np.ndarray:
    """Points that no other dominates: none is at least as good in everything and better in something.

    Parameters
    ----------
    values : array, shape (points, criteria)
        In any unit; a point with a value that is not finite is never on the front, and beats none.
    more : sequence of bool, optional
        For each criterion whether more is better; less of each if left out.

    Returns
    -------
    array of bool, shape (points,)
        True on the front. Of points that are equal in everything, all are.

    Notes
    -----
    Points are walked in the order of their sums of ranks: one that dominates comes before all it dominates, so each
    pass keeps the first and drops, at once, what it beats. Costs points x front x criteria.

    Examples
    --------
    >>> front([[1.0, 5.0], [2.0, 4.0], [2.0, 6.0], [3.0, 1.0]]).tolist()
    [True, True, False, True]
    >>> front([[1.0, 5.0], [2.0, 4.0], [2.0, 6.0]], more=[False, True]).tolist()
    [True, False, True]
    """
    y = np.array(values, dtype=float)
    if y.ndim != 2:
        raise ParameterError("a table of points and criteria is needed", where="front.values", got=f"shape {y.shape}",
                             allowed="two dimensions", hint="one row a point")
    sign = np.ones(y.shape[1]) if more is None else np.where(more, -1.0, 1.0)
    sound = np.flatnonzero(np.isfinite(y).all(axis=1))
    ranks = np.array([np.unique(column, return_inverse=True)[1] for column in (sign * y[sound]).T])
    ranks = ranks.reshape(y.shape[1], len(sound))
    order = np.argsort(ranks.sum(axis=0), kind="stable")
    left, at = ranks.T[order], sound[order]
    found = np.zeros(len(y), dtype=bool)
    while len(left):
        first = left[0]
        found[at[0]] = True
        kept = (left < first).any(axis=1) | (left == first).all(axis=1)
        kept[0] = False
        left, at = left[kept], at[kept]
    return found
