"""A solved circuit solved again at another condition, from its last solution: all unknowns at once, in few rounds.

Blocks pay where a search comes from afar; near a solution, one batch holds a point and all columns of its Jacobian."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from loopnet.solve import Circuit
from loopnet.solve.view import Frame

__all__ = ["solve_again"]

STEP = 1e-7
"""Relative step of differences [-], near the square root of machine precision."""
CLOSE = 1e-10
"""Square of the relative step at which the search ends: the order of what the next step would change [-]."""
ROUNDS = 7


def solve_again(circuit: Circuit, last: Frame, conditions: Mapping[str, Any]) -> Frame:
    """Solve a circuit at one point, beginning at a solution at another.

    Newton's method on the whole circuit: what a step leaves is of the order of its square, so the search ends with a
    step whose square is below `CLOSE`. Where it does not settle, the circuit's own search begins.

    Parameters
    ----------
    circuit : Circuit
        A circuit of a rated plant.
    last : Frame
        Its solution at one point.
    conditions : mapping of arrays, shape (1,)
        At least those that it needs [SI].

    Returns
    -------
    Frame
        The solved values.

    Raises
    ------
    ConvergenceError
        If there is no solution near.
    """
    names, system = circuit.unknowns, circuit.system
    n = len(names)
    x = np.array([last.values[name].item() for name in names])
    floor = np.array([max(abs(system.unknowns[name].start), 1e-12) * 1e-3 for name in names])
    given = {name: np.full(n + 1, np.asarray(conditions[name]).item()) for name in circuit.needs}
    before = np.inf
    with np.errstate(all="ignore"):
        for _ in range(ROUNDS):
            scale = np.maximum(np.abs(x), floor)
            batch = np.repeat(x[:, None], n + 1, axis=1)
            batch[np.arange(n), np.arange(1, n + 1)] += STEP * scale
            frame = system.frame(dict(zip(names, batch, strict=True)), given, circuit.design)
            residuals = np.array([system.equations[equation](frame) for equation in circuit.equations])
            jacobian = (residuals[:, 1:] - residuals[:, :1]) / STEP
            weight = np.abs(jacobian).max(axis=1)
            try:
                step = -np.linalg.solve(jacobian / weight[:, None], residuals[:, 0] / weight)
            except np.linalg.LinAlgError:
                break
            x = x + step * scale
            length = float(np.abs(step).max())
            if not np.isfinite(length) or length > 10.0 * before:
                break
            if length**2 < CLOSE:
                values = {name: x[i:i + 1] for i, name in enumerate(names)}
                return system.frame(values, {name: one[:1] for name, one in given.items()}, circuit.design)
            before = length
    return circuit.solve({name: one[:1] for name, one in given.items()},
                         start={name: last.values[name] for name in names})
