"""Start values of a large batch: a sample of it is solved from afar, a polynomial through that starts the rest."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import combinations_with_replacement
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from loopnet.solve.solution import Circuit

__all__ = ["LARGE", "powers", "warm_starts"]

LARGE = 2000
"""Points from which on a sample pays."""
SAMPLE = 400
"""Points of the sample, drawn with a fixed seed; those at the ends of each condition come on top."""


def powers(x: np.ndarray, degree: int) -> np.ndarray:
    """All products of powers up to a total degree.

    Parameters
    ----------
    x : array, shape (points, dimensions)
        Coordinates [-].
    degree : int
        Highest total degree [-].

    Returns
    -------
    array, shape (points, terms)
        Their products [-], the constant first.

    Examples
    --------
    >>> powers(np.array([[2.0, 3.0]]), 2)
    array([[1., 2., 3., 4., 6., 9.]])
    """
    columns = [np.ones(len(x))]
    for total in range(1, degree + 1):
        columns += [np.prod(x[:, list(which)], axis=1)
                    for which in combinations_with_replacement(range(x.shape[1]), total)]
    return np.stack(columns, axis=1)


def warm_starts(circuit: Circuit, conditions: Mapping[str, np.ndarray],
                describe: Callable[[int], str] | None = None) -> dict[str, np.ndarray]:
    """Start values of all unknowns of a circuit, near enough that Newton needs few steps.

    Parameters
    ----------
    circuit : Circuit
    conditions : mapping of arrays, shape (points,)
        Those that the circuit needs [SI].
    describe : callable, optional
        Point index -> text, to name a point of the sample that fails.

    Returns
    -------
    dict of arrays, shape (points,)
        By unknown [SI]. What a polynomial puts beyond the bounds of an unknown starts as a cold search would.
    """
    read = set().union(*(circuit.system.reads[e] for e in circuit.equations))
    varying = {n: x for n, x in conditions.items() if f"?{n}" in read and np.ptp(x) > 0.0}
    points = len(next(iter(conditions.values())))
    ends = [int(pick(x)) for x in varying.values() for pick in (np.argmin, np.argmax)]
    chosen = np.unique([*np.random.default_rng(1).choice(points, SAMPLE, replace=False), *ends])
    told = None if describe is None else lambda i: describe(int(chosen[i]))
    solved = circuit.solve({n: x[chosen] for n, x in conditions.items()}, describe=told)
    x = np.stack([(value - value.mean()) / np.ptp(value) for value in varying.values()], axis=1)
    basis = powers(x, 3 if x.shape[1] > 3 else 4)
    values = np.stack([solved.values[u] for u in circuit.unknowns], axis=1)
    guess = basis @ np.linalg.lstsq(basis[chosen], values, rcond=None)[0]
    starts = {}
    for j, name in enumerate(circuit.unknowns):
        unknown = circuit.system.unknowns[name]
        inside = (guess[:, j] > unknown.low) & (guess[:, j] < unknown.high)
        starts[name] = np.where(inside, guess[:, j], unknown.start)
    return starts
