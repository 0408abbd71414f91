"""A circuit solved for every hour at a few store enthalpies and loads, in one batch, and read in between."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import product
from typing import Any

import numpy as np

from loopnet.solve import Certificate, Circuit
from loopnet.solve.certificate import component_terms
from loopnet.solve.view import Frame

__all__ = ["CircuitTable", "Points", "Table", "chebyshev", "enough_nodes", "points_of", "tabulate", "weights"]

FINE = 12  # nodes of the probe that is taken for the truth when nodes are chosen
GOOD = 4e-7  # relative error at the probe of enthalpy rise and heat at which more nodes are not worth their time
MOST = 7  # nodes of an axis, where a corner of its range that is hardly used never gets that good


def chebyshev(low: float, high: float, count: int) -> np.ndarray:
    """Chebyshev points of the first kind in [low, high], ascending, shape (count,).

    >>> chebyshev(-1.0, 1.0, 3).round(4)
    array([-0.866,  0.   ,  0.866])
    """
    angle = np.pi * (2 * np.arange(count)[::-1] + 1) / (2 * count)
    return 0.5 * (low + high) + 0.5 * (high - low) * np.cos(angle)


def weights(nodes: np.ndarray, x: np.ndarray) -> np.ndarray:
    """Lagrange weights of nodes at x; they add up to one, so that balances that hold at nodes hold in between.

    Parameters
    ----------
    nodes : array, shape (count,)
        Distinct abscissae.
    x : array, shape (points,)
        Where to interpolate.

    Returns
    -------
    array, shape (points, count)
        Weights [-].

    Examples
    --------
    >>> weights(np.array([0.0, 1.0, 2.0]), np.array([0.5])).round(3)
    array([[ 0.375,  0.75 , -0.125]])
    """
    x = np.atleast_1d(np.asarray(x, dtype=float))
    out = np.ones((len(x), len(nodes)))
    for j, node in enumerate(nodes):
        for k, other in enumerate(nodes):
            if k != j:
                out[:, j] *= (x - other) / (node - other)
    return out


@dataclass(frozen=True)
class Table:
    """A circuit over distinct hours and over nodes of what the march decides.

    `row` maps an hour to its distinct point (-1 where the circuit cannot run); arrays of values have shape
    (distinct, *nodes).
    """

    circuit: Circuit
    certificate: Certificate
    axes: dict[str, np.ndarray]
    row: np.ndarray
    distinct: int

    @property
    def points(self) -> int:
        """Operating points that were solved."""
        raise NotImplementedError

    def gained(self, component: str, side: str) -> tuple[np.ndarray, np.ndarray]:
        """Flow [kg/s] through a side of a component and heat [W] that its medium gains there."""
        raise NotImplementedError

    def terms(self) -> dict[tuple[str, str, str], np.ndarray]:
        """(component, label, kind) -> energy term [W], shape (distinct, *nodes)."""
        raise NotImplementedError

    def shaped(self, values: Any) -> np.ndarray:
        """Values at all points as (distinct, *nodes)."""
        shape = (self.distinct, *(len(a) for a in self.axes.values()))
        return np.broadcast_to(np.asarray(values, dtype=float), (int(np.prod(shape)),)).reshape(shape)

    def flows(self, store: str, side: str) -> tuple[np.ndarray, np.ndarray]:
        """Flow [kg/s] through a side of the store and heat [W] that its path brings there (or draws, if hot)."""
        m, heat = self.gained(store, side)
        return m, -heat if side == "charge" else heat

    def at(self, values: np.ndarray, hours: np.ndarray, given: Mapping[str, np.ndarray]) -> np.ndarray:
        """Interpolate an array of this table at some hours.

        Parameters
        ----------
        values : array, shape (distinct, *nodes)
            What to read.
        hours : array of int, shape (some,)
            Hours in which the circuit runs.
        given : mapping of arrays, shape (some,)
            Value of each axis in those hours.

        Returns
        -------
        array, shape (some,)
        """
        out = values[self.row[hours]]
        for name, nodes in self.axes.items():
            out = np.einsum("ij,ij...->i...", weights(nodes, given[name]), out)
        return out


@dataclass(frozen=True)
class CircuitTable(Table):
    """A circuit solved at every one of its points."""

    frame: Frame = field(repr=False)

    @property
    def points(self) -> int:
        return self.distinct * int(np.prod([len(a) for a in self.axes.values()]))

    def gained(self, component: str, side: str) -> tuple[np.ndarray, np.ndarray]:
        through = getattr(self.frame.view(component), side)
        return self.shaped(through.m), self.shaped(through.heat)

    def terms(self) -> dict[tuple[str, str, str], np.ndarray]:
        whole = [name for name in self.circuit.components if self.circuit.whole(name)]
        found = component_terms(self.circuit.plant, self.frame, whole)
        return {(name, t.label, t.kind): self.shaped(t.value) for name, terms in found.items() for t in terms}


def enough_nodes(circuit: Circuit, store: str, side: str, conditions: Mapping[str, np.ndarray], axis: str,
                 span: tuple[float, float], others: Mapping[str, np.ndarray], runs: np.ndarray) -> np.ndarray:
    """The fewest Chebyshev nodes of one axis that bring enthalpy rise and heat of a store's path within `GOOD`.

    The circuit is solved at `FINE` nodes in the hours in which any of its conditions is least or greatest; what fewer
    nodes would give there is compared with that, at many places between.

    Parameters
    ----------
    circuit : Circuit
    store, side : str
        Whose path is looked at.
    conditions : mapping of arrays, shape (hours,)
        Weather and what components make of it [SI].
    axis : str
        Condition that the march decides.
    span : tuple of float
        Range of the axis [J/kg].
    others : mapping of arrays
        Nodes of the other axes [SI].
    runs : array of bool, shape (hours,)
        Hours in which the circuit can run.

    Returns
    -------
    array, shape (count,)
        Abscissae [J/kg].
    """
    hours = np.flatnonzero(runs)
    if not len(hours):
        return chebyshev(*span, 2)  # nothing runs: nothing will be read
    free = [n for n in circuit.needs if n != axis and n not in others]
    ends = {int(pick(conditions[n][hours])) for n in free for pick in (np.argmin, np.argmax)}
    probe = np.zeros(len(runs), dtype=bool)
    probe[hours[sorted(ends or {0})]] = True
    fine = chebyshev(*span, FINE)
    table = tabulate(circuit, conditions, {**others, axis: fine}, probe)
    flow, heat = (np.moveaxis(a, list(table.axes).index(axis) + 1, -1) for a in table.flows(store, side))
    values = np.stack([heat / flow, heat]).reshape(-1, FINE)
    between = np.linspace(*span, 4 * FINE)
    truth = values @ weights(fine, between).T
    nodes = fine
    for count in range(2, MOST + 1):
        nodes = chebyshev(*span, count)
        guess = (values @ weights(fine, nodes).T) @ weights(nodes, between).T
        if np.max(np.abs(guess - truth) / np.abs(truth)) <= GOOD:
            break
    return nodes


def tabulate(circuit: Circuit, conditions: Mapping[str, np.ndarray], axes: Mapping[str, np.ndarray],
             runs: np.ndarray, describe: Any = None) -> CircuitTable:
    """Solve a circuit for all hours in which it can run, at the nodes of its axes.

    Hours that agree in everything the circuit depends on are solved once.

    Parameters
    ----------
    circuit : Circuit
    conditions : mapping of arrays, shape (hours,)
        Weather and what components make of it [SI].
    axes : mapping of arrays
        Condition that the march decides -> its nodes [SI].
    runs : array of bool, shape (hours,)
        Hours in which the circuit can run.
    describe : callable, optional
        Hour -> text, to name an hour that fails.

    Returns
    -------
    CircuitTable
    """
    points = points_of(circuit, conditions, axes, runs)
    frame = circuit.solve(points.batch, describe=points.teller(describe))
    return CircuitTable(circuit, circuit.certify(frame), points.axes, points.row, points.distinct, frame)


@dataclass(frozen=True)
class Points:
    """The points of a circuit over a stretch of weather: distinct hours, times the nodes of its axes.

    `batch` has every condition that the circuit needs, shape (distinct x nodes,); `first` the first hour of each
    distinct one.
    """

    batch: dict[str, np.ndarray]
    axes: dict[str, np.ndarray]
    row: np.ndarray
    first: np.ndarray

    @property
    def distinct(self) -> int:
        """Hours that differ in what the circuit depends on."""
        return len(self.first)

    @property
    def count(self) -> int:
        """Points, nodes of the axes counted."""
        return self.distinct * int(np.prod([len(a) for a in self.axes.values()]))

    def teller(self, describe: Any) -> Any:
        """Point -> text, from hour -> text."""
        each = self.count // max(self.distinct, 1)

        def tell(point: int) -> str:
            hour = int(self.first[point // each])
            return describe(hour) if describe else f"hour {hour}"

        return tell


def points_of(circuit: Circuit, conditions: Mapping[str, np.ndarray], axes: Mapping[str, np.ndarray],
              runs: np.ndarray) -> Points:
    """The points at which a circuit may be asked: hours that agree in all it depends on are one.

    Parameters
    ----------
    circuit : Circuit
    conditions : mapping of arrays, shape (hours,)
        Weather and what components make of it [SI].
    axes : mapping of arrays
        Condition that the march decides -> its nodes [SI].
    runs : array of bool, shape (hours,)
        Hours in which the circuit can run.

    Returns
    -------
    Points
    """
    hours = np.flatnonzero(runs)
    names = [n for n in circuit.needs if n not in axes]
    used = {name: nodes for name, nodes in axes.items() if name in circuit.needs}
    if names:
        stacked = np.stack([conditions[n][hours] for n in names], axis=1)
        unique, first, back = np.unique(stacked, axis=0, return_index=True, return_inverse=True)
    else:
        unique, first, back = np.zeros((1, 0)), np.zeros(1, dtype=int), np.zeros(len(hours), dtype=int)
    grid = np.array(list(product(*used.values()))) if used else np.zeros((1, 0))
    batch = {name: np.repeat(unique[:, i], len(grid)) for i, name in enumerate(names)}
    batch |= {name: np.tile(grid[:, i], len(unique)) for i, name in enumerate(used)}
    row = np.full(len(runs), -1)
    row[hours] = back.ravel()
    return Points(batch, used, row, hours[first])
