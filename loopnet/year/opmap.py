"""The operating map: a circuit solved at few of its points and interpolated at the rest, with its error measured."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from scipy.interpolate import make_interp_spline

from loopnet.solve import Circuit
from loopnet.solve.certificate import component_terms
from loopnet.solve.view import Frame
from loopnet.solve.warm import powers
from loopnet.year.table import Points, Table, chebyshev, points_of

__all__ = ["OperatingMap", "map_circuit", "polynomial"]

SAMPLE = 450
"""Points that are solved where several conditions vary, drawn with a fixed seed among those of the exact table."""
LATTICE = 16
"""Nodes of a condition that varies alone."""
CHECKS = 48
"""Points that are solved besides, only to measure what the map misses."""
DEGREES = (2, 3, 4, 5, 6)
NODES = 5
"""Nodes of an axis that the march reads between."""


@dataclass(frozen=True)
class OperatingMap(Table):
    """A circuit solved at few of its points; flows, heats and energy terms are interpolated linearly in their solved
    values, so that balances that hold where it was solved hold everywhere."""

    solved: int
    values: Mapping[Any, np.ndarray] = field(repr=False)
    truth: Mapping[Any, np.ndarray] = field(default_factory=dict, repr=False)
    """By name, what was solved at the check points."""
    missed: Mapping[Any, np.ndarray] = field(default_factory=dict, repr=False)
    """By name, by how much the map misses it."""

    @property
    def points(self) -> int:
        return self.solved

    def gained(self, component: str, side: str) -> tuple[np.ndarray, np.ndarray]:
        heat = self.values["heat", component, side]
        # where little flows, its rise is told better than the flow itself
        return heat / self.values["rise", component, side], heat

    def terms(self) -> dict[tuple[str, str, str], np.ndarray]:
        return {key[1:]: value for key, value in self.values.items() if key[0] == "term"}

    def heat_error(self, component: str, side: str) -> float:
        """Estimated relative error of the heat that a side of a component gains over the year [-]."""
        return _estimate([(1.0, ("heat", component, side))], self.truth, self.missed)

    def delivery_error(self) -> float:
        """Estimated relative error of power less electricity, or of heat to users, over the year [-]."""
        signs = {"power": 1.0, "electricity": -1.0} if any(k[-1] == "power" for k in self.truth) else {"user": 1.0}
        return _estimate([(signs[k[-1]], k) for k in self.truth if k[-1] in signs], self.truth, self.missed)


def _estimate(parts: list[tuple[float, Any]], truth: Mapping[Any, np.ndarray], missed: Mapping[Any, np.ndarray]
              ) -> float:
    """Mean miss and twice its standard error, over the mean."""
    whole, miss = (sum(sign * of[key] for sign, key in parts) for of in (truth, missed))
    if not np.any(whole):
        return 0.0
    spread = 2.0 * float(np.std(miss)) / np.sqrt(np.size(miss))
    return (abs(float(np.mean(miss))) + spread) / abs(float(np.mean(whole)))


def map_circuit(circuit: Circuit, conditions: Mapping[str, np.ndarray], axes: Mapping[str, np.ndarray],
                runs: np.ndarray, sides: tuple[tuple[str, str], ...], between: str, describe: Any = None) -> Table:
    """Solve a circuit at few of its points over a stretch of weather, and interpolate the rest.

    Where one condition varies, its nodes times those of the axes are solved, and a cubic spline runs through them;
    where several do, a polynomial through a sample. What does not hang on the solution, such as the losses of light
    in a field, is computed exactly at every point.

    Parameters
    ----------
    circuit : Circuit
    conditions : mapping of arrays, shape (hours,)
        Weather and what components make of it [SI].
    axes : mapping of arrays
        Condition that the march decides -> its nodes [SI].
    runs : array of bool, shape (hours,)
        Hours in which the circuit can run.
    sides : tuple of (str, str)
        Component and side whose flow and heat will be asked for.
    between : str
        Axis that the march reads between its nodes.
    describe : callable, optional
        Hour -> text, to name an hour that fails.

    Returns
    -------
    OperatingMap
    """
    points = points_of(circuit, conditions, axes, runs)
    read = set().union(*(circuit.system.reads[e] for e in circuit.equations))
    moved = [name for name, x in points.batch.items() if f"?{name}" in read and np.ptp(x) > 0.0]
    free = [name for name in moved if name not in points.axes]
    batch, spread = _lattice(points, free[0]) if len(free) == 1 else _scatter(points, moved)
    count = len(next(iter(batch.values())))
    hours, given, checks = _checks(points, between)
    every = {name: np.concatenate([batch[name], checks[name]]) for name in points.batch}
    start = {name: np.full(count + CHECKS, circuit.design[name]) for name in circuit.unknowns}
    tell = points.teller(describe)
    frame = circuit.solve(every, start=start, describe=lambda i: f"of the operating map, near {tell(0)}")
    readings = _readings(circuit, frame, sides, count + CHECKS)
    fixed = _fixed(circuit, frame, points)
    keys = sorted((key for key in readings if key not in fixed), key=_minor)
    rest = spread(np.stack([readings[key][:count] for key in keys], axis=1), sum(not _minor(key) for key in keys))
    shape = (points.distinct, *(len(a) for a in points.axes.values()))
    known = {**{key: rest[:, i] for i, key in enumerate(keys)}, **fixed}
    values = {key: known[key].reshape(shape) for key in readings}
    made = OperatingMap(circuit, circuit.certify(frame), points.axes, points.row, points.distinct, count + CHECKS,
                        values)
    truth = {key: value[count:] for key, value in readings.items()}
    return replace(made, truth=truth, missed={key: made.at(values[key], hours, given) - truth[key] for key in truth})


Spread = Callable[[np.ndarray, int], np.ndarray]


def _lattice(points: Points, name: str) -> tuple[dict[str, np.ndarray], Spread]:
    """Nodes of one condition, each with all nodes of the axes; a spline from there to all points."""
    x = points.batch[name].reshape(points.distinct, -1)
    each = x.shape[1]
    low, high = float(x.min()), float(x.max())
    nodes = chebyshev(low, high, LATTICE)
    nodes[0], nodes[-1] = low, high
    batch = {other: np.tile(value[:each], LATTICE) for other, value in points.batch.items()}
    batch[name] = np.repeat(nodes, each)

    def spread(y: np.ndarray, main: int) -> np.ndarray:
        return np.asarray(make_interp_spline(nodes, y.reshape(LATTICE, -1), k=3)(x[:, 0])).reshape(-1, y.shape[1])

    return batch, spread


def _scatter(points: Points, moved: list[str]) -> tuple[dict[str, np.ndarray], Spread]:
    """Points drawn as they come and those at the ends of each condition; a polynomial from there to all points."""
    few = min(SAMPLE, points.count)
    drawn = np.random.default_rng(1).choice(points.count, few, replace=False)
    ends = [int(pick(points.batch[name])) for name in moved for pick in (np.argmin, np.argmax)]
    chosen = np.unique(np.concatenate([drawn, np.array(ends, dtype=int)]))
    x = np.zeros((points.count, len(moved)))
    for j, name in enumerate(moved):
        value = points.batch[name]
        x[:, j] = (2.0 * value - value.max() - value.min()) / np.ptp(value)
    return ({name: value[chosen] for name, value in points.batch.items()},
            lambda y, main: polynomial(x[chosen], y, main)(x))


def polynomial(x: np.ndarray, y: np.ndarray, main: int) -> Callable[[np.ndarray], np.ndarray]:
    """Least squares; the degree is the one with which the first columns miss points least that were left out.

    Parameters
    ----------
    x : array, shape (points, dimensions)
        Coordinates, each between -1 and 1 [-].
    y : array, shape (points, columns)
        What to fit [any unit].
    main : int
        How many columns, from the first, decide on the degree [-].

    Returns
    -------
    callable
        Coordinates -> columns. A sum of columns is fitted by the sum of their fits.

    Examples
    --------
    >>> x = np.linspace(-1.0, 1.0, 20)[:, None]
    >>> np.round(polynomial(x, 1.0 + x**3, 1)(np.array([[0.5]])), 9).tolist()
    [[1.125]]
    """
    best, least, size = (0, np.empty(0)), np.inf, np.maximum(np.abs(y[:, :main]).max(axis=0), 1e-300)
    for degree in DEGREES:
        basis = powers(x, degree)
        if len(best[1]) and 3 * basis.shape[1] > len(x):
            break
        u, s, vt = np.linalg.svd(basis, full_matrices=False)
        kept = s > 1e-11 * s[0]
        u = u[:, kept]
        coefficients = (vt[kept].T / s[kept]) @ (u.T @ y)
        spare = np.maximum(1.0 - np.sum(u**2, axis=1), 1e-3)  # share of a point that its own fit does not see
        left = (y[:, :main] - basis @ coefficients[:, :main]) / spare[:, None]
        miss = float(np.mean((left / size) ** 2))
        if miss < least:
            best, least = (degree, coefficients), miss
    return lambda at: powers(at, best[0]) @ best[1]


def _checks(points: Points, between: str) -> tuple[np.ndarray, dict[str, np.ndarray], dict[str, np.ndarray]]:
    """Hours, what the march might decide in them, and the batch of both: between the nodes where it reads between."""
    random = np.random.default_rng(2)
    rows = random.integers(0, points.distinct, CHECKS)
    given = {name: random.uniform(nodes[0], nodes[-1], CHECKS) if name == between else random.choice(nodes, CHECKS)
             for name, nodes in points.axes.items()}
    each = points.count // points.distinct
    batch = {name: given.get(name, value[rows * each]) for name, value in points.batch.items()}
    return points.first[rows], given, batch


def _minor(key: tuple[str, ...]) -> bool:
    """Whether a reading has no say in the choice of the degree: all but flows, heats and what is delivered."""
    return key[0] == "term" and key[3] not in ("power", "user")


def _readings(circuit: Circuit, frame: Frame, sides: tuple[tuple[str, str], ...], count: int) -> dict[Any, np.ndarray]:
    """Enthalpy rise and heat of some sides, then every energy term, each of shape (points,)."""
    out: dict[Any, Any] = {}
    for name, side in sides:
        through = getattr(frame.view(name), side)
        out["rise", name, side], out["heat", name, side] = through.outlet.h - through.inlet.h, through.heat
    out |= _terms(circuit, frame)
    return {key: np.broadcast_to(np.asarray(value, dtype=float), (count,)) for key, value in out.items()}


def _terms(circuit: Circuit, frame: Frame, names: list[str] | None = None) -> dict[Any, Any]:
    whole = [name for name in circuit.components if circuit.whole(name)] if names is None else names
    found = component_terms(circuit.plant, frame, whole)
    return {("term", name, t.label, t.kind): t.value for name, terms in found.items() for t in terms}


def _fixed(circuit: Circuit, frame: Frame, points: Points) -> dict[Any, np.ndarray]:
    """Terms that depend on the conditions alone, at all points: another solution leaves them as they are."""
    free = set(circuit.unknowns) - set(circuit.outright)
    moved = {name: value * 0.97 for name, value in frame.values.items() if name in free}
    with np.errstate(all="ignore"):
        one, other = _terms(circuit, frame), _terms(circuit, frame.moved(moved))
        keys = [key for key, value in one.items() if np.array_equal(value, other[key])]
        found = _terms(circuit, circuit.known(points.batch), sorted({key[1] for key in keys}))
    return {key: np.broadcast_to(np.asarray(found[key], dtype=float), (points.count,)) for key in keys}
