"""Damped Newton for one block of equations at all operating points at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from loopnet.plant import Unknown
from loopnet.solve.structure import Block
from loopnet.solve.system import System
from loopnet.solve.view import Frame

__all__ = ["BlockReport", "solve_block"]

STEP = 1e-7  # relative step of the difference Jacobian, near the square root of machine precision
CLOSE = 1e-13  # a Newton step this small (relative) ends the search
STALLED = 1e-9  # so does one below this that is no longer much smaller than the step before: round-off
STACKED = 1000  # copies of points up to which one wide evaluation is quicker than one for every unknown
FAST = 0.1  # a step that leaves this share of the residual keeps the Jacobian, corrected by what the step showed
FRACTION = 0.9  # share of the way to a bound that one step may go


@dataclass(frozen=True)
class BlockReport:
    """How a block was solved."""

    iterations: int
    failed: np.ndarray
    """Indices of points that did not converge."""
    worst: str
    """Name of the equation with the largest residual among them."""


def _residuals(system: System, names: tuple[str, ...], frame: Frame, points: int) -> np.ndarray:
    out = np.empty((points, len(names)))
    for column, name in enumerate(names):
        out[:, column] = system.equations[name](frame)
    return out


def _jacobian(system: System, block: Block, frame: Frame, base: np.ndarray, scale: np.ndarray) -> np.ndarray:
    points, size = base.shape
    if 1 < size and points * size <= STACKED:
        return _stacked(system, block, frame, base, scale)
    jacobian = np.zeros((points, size, size))
    for j, unknown in enumerate(block.unknowns):
        step = STEP * scale[:, j]
        moved = frame.changed(unknown, frame.values[unknown] + step)
        for i, name in enumerate(block.equations):
            if unknown in system.reads[name]:
                jacobian[:, i, j] = (system.equations[name](moved) - base[:, i]) / step
    return jacobian


def _stacked(system: System, block: Block, frame: Frame, base: np.ndarray, scale: np.ndarray) -> np.ndarray:
    """The same for few points: one copy of them for every unknown, and each equation evaluated once over all copies."""
    points, size = base.shape
    copies = frame.copies(size, points)
    steps = STEP * scale
    for j, unknown in enumerate(block.unknowns):
        value = np.tile(frame.values[unknown], size)
        value[j * points:(j + 1) * points] += steps[:, j]
        copies.values[unknown] = value
    jacobian = np.zeros((points, size, size))
    for i, name in enumerate(block.equations):
        read = np.array([unknown in system.reads[name] for unknown in block.unknowns])
        moved = np.broadcast_to(system.equations[name](copies), (size * points,)).reshape(size, points)
        jacobian[:, i, :] = np.where(read, (moved.T - base[:, i, None]) / steps, 0.0)
    return jacobian


def _updated(jacobian: np.ndarray, step: np.ndarray, change: np.ndarray, scale: np.ndarray) -> np.ndarray:
    """Jacobians corrected by what a step showed (Broyden's rank-one update, in scaled unknowns).

    References
    ----------
    Broyden, Math. Comp. 19 (1965) 577.
    """
    unit = step / scale
    length = np.sum(unit**2, axis=1)
    miss = change - np.einsum("nij,nj->ni", jacobian, step)
    told = length > 1e-16
    gain = np.where(told, 1.0 / np.where(told, length, 1.0), 0.0)
    return jacobian + miss[:, :, None] * (unit / scale * gain[:, None])[:, None, :]


def _within(x: np.ndarray, step: np.ndarray, limits: list[Unknown]) -> np.ndarray:
    """Factor per point by which a step is shortened to stay inside the bounds of the unknowns."""
    factor = np.ones(len(x))
    for j, unknown in enumerate(limits):
        with np.errstate(divide="ignore", invalid="ignore"):
            if unknown.low > -np.inf:
                room = FRACTION * (unknown.low - x[:, j]) / step[:, j]
                factor = np.where((step[:, j] < 0) & (room < factor), np.maximum(room, 0.0), factor)
            if unknown.high < np.inf:
                room = FRACTION * (unknown.high - x[:, j]) / step[:, j]
                factor = np.where((step[:, j] > 0) & (room < factor), np.maximum(room, 0.0), factor)
    return factor


def _solve(jacobian: np.ndarray, residual: np.ndarray) -> np.ndarray:
    """Newton steps of all points; a singular point gets a least-squares step."""
    if residual.shape[1] == 1:
        slope = jacobian[:, 0, 0]
        return -residual / np.where(slope == 0.0, 1e-300, slope)[:, None]
    try:
        return -np.linalg.solve(jacobian, residual[..., None])[..., 0]
    except np.linalg.LinAlgError:
        steps = [-np.linalg.lstsq(j, r, rcond=None)[0] for j, r in zip(jacobian, residual, strict=True)]
        return np.array(steps)


def solve_block(system: System, block: Block, values: dict[str, Any], conditions: Mapping[str, Any],
                design: Mapping[str, Any], points: int, most: int = 60) -> BlockReport:
    """Solve one block for all points; `values` is updated in place.

    Points that converge leave the batch. A step that makes the scaled residual grow is halved, point by point. As
    long as steps work well the Jacobian is corrected by what they showed instead of being computed again.

    Parameters
    ----------
    system : System
        Equations and unknowns.
    block : Block
        Which of them.
    values : dict of arrays, shape (points,)
        All unknowns of the system [SI]; those of the block are its starts and receive its solution.
    conditions, design : mappings
        What is given from outside, and what sizing froze [SI].
    points : int
        Number of operating points [-].
    most : int
        Most iterations [-].

    Returns
    -------
    BlockReport
    """
    limits = [system.unknowns[u] for u in block.unknowns]
    needed = set(block.unknowns).union(*(system.reads[e] for e in block.equations))
    held = {n: values[n] for n in needed if n in values}
    given = {n[1:]: conditions[n[1:]] for n in needed if n.startswith("?")}
    frame = system.frame(held, given, design)
    floor = np.array([max(abs(u.start), 1e-12) * 1e-3 for u in limits])
    active = np.arange(points)
    x = np.stack([held[u] for u in block.unknowns], axis=1)
    residual = _residuals(system, block.equations, frame, points)
    jacobian, weight, iterations = None, np.ones((0, 0)), 0
    before = np.full(points, np.inf)
    while len(active) and iterations < most:
        iterations += 1
        scale = np.maximum(np.abs(x), floor)
        exact = jacobian is None
        if jacobian is None:
            jacobian = _jacobian(system, block, frame, residual, scale)
        scaled = jacobian * scale[:, None, :]
        weight = np.abs(scaled).max(axis=2)
        weight = np.where(weight > 0, weight, 1.0)
        step = _solve(scaled / weight[..., None], residual / weight) * scale
        step = np.where(np.isfinite(step), step, 0.0)
        factor = _within(x, step, limits)
        norm = np.abs(residual / weight).max(axis=1)
        for _ in range(12):
            trial = x + factor[:, None] * step
            moved = frame.moved({u: trial[:, j].copy() for j, u in enumerate(block.unknowns)})
            fresh = _residuals(system, block.equations, moved, len(active))
            left = np.abs(fresh / weight).max(axis=1)
            worse = ~(left <= np.maximum(norm * (1 - 1e-4 * factor), 1e-9))
            if not worse.any():
                break
            factor = np.where(worse, factor / 2, factor)
        length = (np.abs(step) / np.maximum(np.abs(trial), floor)).max(axis=1)
        stalled = (length <= STALLED) & (length > 0.3 * before) & (length > CLOSE)
        done = ((length <= CLOSE) | (stalled & exact)) & (factor == 1.0)
        done |= (fresh == 0.0).all(axis=1)
        done &= np.isfinite(fresh).all(axis=1)
        stay = np.flatnonzero(~done)
        if done.any():
            for j, unknown in enumerate(block.unknowns):
                values[unknown] = _put(values[unknown], active, trial[:, j])
        fast = points > 1 and len(stay) > 0 and not stalled[stay].any()
        fast = fast and float(np.mean(left[stay] <= FAST * norm[stay])) > 0.9
        jacobian = _updated(jacobian, trial - x, fresh - residual, scale)[stay] if fast else None
        before = length[stay]
        active, x, residual, frame = active[stay], trial[stay], fresh[stay], moved.at(stay) if done.any() else moved
    worst = ""
    if len(active):
        for j, unknown in enumerate(block.unknowns):
            values[unknown] = _put(values[unknown], active, x[:, j])
        worst = block.equations[int(np.argmax(np.abs(residual / weight[~done]).max(axis=0)))]
    return BlockReport(iterations, active, worst)


def _put(old: np.ndarray, where: np.ndarray, new: np.ndarray) -> np.ndarray:
    if len(where) == len(old):
        return new.copy()
    out = old.copy()
    out[where] = new
    return out
