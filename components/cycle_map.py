"""The off-design map of a cycle: load, source and air in, power, return temperature and flow out, read in between.

It is made once, in a batch, from the equations of the rated circuit; its error is measured between its nodes."""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from loopnet.errors import SpecificationError
from loopnet.solve import Circuit, Sized, rate
from loopnet.solve.solution import design_conditions
from loopnet.solve.view import Frame
from loopnet.year.table import chebyshev, weights

__all__ = ["CycleMap", "cycle_map"]

UNITS = {"load": "-", "source": "K", "ambient": "K", "wet_bulb": "K", "power": "W", "net": "W", "heat": "W",
         "return": "K", "flow": "kg/s", "fresh_water": "kg/s"}
NODES = {"load": 4, "source": 3, "ambient": 9, "wet_bulb": 7}
"""Nodes of each axis that a map begins with."""
MOST = 25
ROUNDS = 6
GOOD = 5e-4
"""Share of the rated power up to which the last terms along an axis may matter before it gets more nodes [-]."""
CHECKS = 40


@dataclass(frozen=True)
class CycleMap:
    """What a cycle gives at any load, source temperature and air.

    `axes` are the nodes, `values` what was solved there, each of the axes' shape: "power" (gross) and "net" [W], "heat"
    drawn [W], "return" [K], "flow" of the hot medium [kg/s], and with a cooling tower "fresh_water" [kg/s]. `error` is
    the largest miss of power and net at points between, over the rated power; of other values over their largest.
    """

    plant: str
    cycle: str
    axes: Mapping[str, np.ndarray]
    values: Mapping[str, np.ndarray] = field(repr=False)
    error: Mapping[str, float]
    checks: int

    @property
    def points(self) -> int:
        """Points that were solved for the map, those for its error not counted."""
        return int(np.prod([len(nodes) for nodes in self.axes.values()]))

    def at(self, **given: ArrayLike) -> dict[str, np.ndarray]:
        """Read the map.

        Parameters
        ----------
        **given : float or array, shape (points,)
            A value of each axis: load [-], source [K], ambient [K], wet_bulb [K].

        Returns
        -------
        dict of arrays, shape (points,)
            By name [each in the unit that `values` has it in].

        Raises
        ------
        SpecificationError
            If an axis is not given, or there is no such axis.

        Warns
        -----
        UserWarning
            Where a value lies outside its axis: what is read there is extrapolated.
        """
        if set(given) != set(self.axes):
            raise SpecificationError("a cycle map is read with one value of each axis",
                                     where=f"map of {self.cycle} of plant {self.plant!r}",
                                     got=", ".join(given) or "none", allowed=", ".join(self.axes),
                                     hint="map.at(" + ", ".join(
                                         f"{name}=..." for name in self.axes) + ")")
        places = np.broadcast_arrays(*(np.atleast_1d(np.asarray(given[name], dtype=float)) for name in self.axes))
        for (name, nodes), x in zip(self.axes.items(), places, strict=True):
            low, high = _ends(nodes)
            if np.any(outside := (x < low - 1e-6 * abs(low)) | (x > high + 1e-6 * abs(high))):
                warnings.warn(f"map of {self.cycle}: {name} {_shown(name, x[outside][0])} lies outside "
                              f"{_shown(name, low)} to {_shown(name, high)}; extrapolated", stacklevel=2)
        stack = np.stack(list(self.values.values()), axis=-1)
        out = np.broadcast_to(stack, (len(places[0]), *stack.shape))
        for nodes, x in zip(self.axes.values(), places, strict=True):
            out = np.einsum("ij,ij...->i...", weights(nodes, x), out)
        return {name: out[:, i] for i, name in enumerate(self.values)}

    def to_frame(self) -> Any:
        """One row per node: axes and values, temperatures in degC, power in MW."""
        import pandas as pd

        grid = np.array(list(product(*self.axes.values())))
        table = {name: grid[:, i] for i, name in enumerate(self.axes)} | {n: x.ravel() for n, x in self.values.items()}
        return pd.DataFrame({_column(name): _people(name, x) for name, x in table.items()})

    def to_dict(self) -> dict[str, Any]:
        """Axes and values as lists [SI], and the error [-]."""
        return {"plant": self.plant, "cycle": self.cycle, "axes": {n: x.tolist() for n, x in self.axes.items()},
                "values": {n: x.tolist() for n, x in self.values.items()}, "error": dict(self.error),
                "checks": self.checks}

    def __repr__(self) -> str:
        shape = " x ".join(f"{len(nodes)} {name}" for name, nodes in self.axes.items())
        return (f"CycleMap({self.cycle!r} of {self.plant!r}, {shape}, off by {self.error['power']:.1e} of rated power "
                f"at {self.checks} points between)")

    def _repr_html_(self) -> str:
        return str(self.to_frame().to_html(index=False, float_format=lambda x: f"{x:,.4g}"))


def cycle_map(sized: Sized, *, ambient: tuple[float, float] = (258.15, 318.15),
              wet_bulb: tuple[float, float] = (268.15, 303.15), source: tuple[float, float] | None = None,
              nodes: Mapping[str, int] | None = None) -> CycleMap:
    """Make the map of the turbine or engine of a sized plant.

    Parameters
    ----------
    sized : Sized
        A plant with one turbine or engine whose load the year sets, heated by a store or another source of which a
        temperature is given.
    ambient, wet_bulb : tuple of float
        Range of the dry bulb, and of the wet bulb where a tower needs one [K].
    source : tuple of float, optional
        Range of the source's temperature [K]; that in which it moves over a year if left out.
    nodes : mapping of str to int, optional
        Nodes of some axes; those of the others are added until the last terms along them are small.

    Returns
    -------
    CycleMap

    Raises
    ------
    SpecificationError
        If there is not one such cycle, or its circuit hangs on more than the axes of a map.
    ConvergenceError
        If a corner has no solution: narrow the ranges.
    """
    cycle, circuit = _found(sized)
    names = {"load": f"{cycle}.load", **_source(sized, circuit, cycle)}
    names |= {axis: need for axis in ("ambient", "wet_bulb") for need in (axis, f"{cycle}.{axis}")
              if need in circuit.needs}
    spans = {"load": sized.plant.components[cycle].givens(sized.view(cycle))["load"], "ambient": ambient,
             "wet_bulb": wet_bulb}
    if "source" in names:
        spans["source"] = source or _moves(sized, names["source"])
    fixed = {n: float(x[0]) for n, x in design_conditions(sized.plant).items()
             if n in circuit.needs and n not in names.values()}
    if unknown := set(circuit.needs) - set(fixed) - set(names.values()):
        raise SpecificationError("the circuit of this cycle hangs on more than a map has axes for",
                                 where=f"plant {sized.plant.name!r}", got=", ".join(sorted(unknown)),
                                 allowed="load, source, ambient, wet bulb",
                                 hint="a plant with a store before the cycle")
    solver = _Solver(sized, circuit, cycle, names, fixed)
    count = {axis: (nodes or {}).get(axis, NODES[axis]) for axis in names}
    for _ in range(ROUNDS):
        axes = {axis: chebyshev(*spans[axis], n) for axis, n in count.items()}
        grid = np.array(list(product(*axes.values())))
        values = {n: x.reshape([len(a) for a in axes.values()]) for n, x in solver.solve(grid).items()}
        tails = {axis: _tail(values["power"], i) for i, axis in enumerate(axes)
                 if axis not in (nodes or {}) and count[axis] < MOST}
        if not tails or max(tails.values()) < GOOD:
            break
        count = {axis: min(MOST, n + max(1, n // 2)) if tails.get(axis, 0.0) >= GOOD else n
                 for axis, n in count.items()}
    made = CycleMap(sized.plant.name, cycle, axes, values, {"power": np.nan}, CHECKS)
    return _checked(made, solver, spans)


def _checked(made: CycleMap, solver: _Solver, spans: Mapping[str, tuple[float, float]]) -> CycleMap:
    """The map with its error, at places between the nodes drawn with a fixed seed."""
    draw = np.random.default_rng(5)
    places = {}
    for axis, nodes in made.axes.items():
        between = np.concatenate([[spans[axis][0]], 0.5 * (nodes[1:] + nodes[:-1]), [spans[axis][1]]])
        places[axis] = draw.choice(between, CHECKS)
    truth, read = solver.solve(np.stack(list(places.values()), axis=1)), made.at(**places)
    rated = float(np.max(truth["power"]))
    error = {name: float(np.max(np.abs(read[name] - truth[name]))) / (
        rated if name in ("power", "net") else float(np.max(np.abs(truth[name])))) for name in truth}
    return CycleMap(made.plant, made.cycle, made.axes, made.values, error, CHECKS)


@dataclass(frozen=True)
class _Solver:
    """Solves a circuit at places of the axes."""

    sized: Sized
    circuit: Circuit
    cycle: str
    names: Mapping[str, str]
    fixed: Mapping[str, float]

    def solve(self, grid: np.ndarray) -> dict[str, np.ndarray]:
        """Power and the like at places, shape (points, axes)."""
        conditions = {n: np.full(len(grid), x) for n, x in self.fixed.items()}
        for i, (axis, name) in enumerate(self.names.items()):
            conditions[name] = self._given(name, grid[:, i]) if axis == "source" else grid[:, i].copy()
        frame = self.circuit.solve(conditions, describe=lambda i: ", ".join(
            f"{axis} {_shown(axis, x)}" for axis, x in zip(self.names, grid[i], strict=True)))
        self.circuit.certify(frame)
        return self._read(frame)

    def _given(self, name: str, T: np.ndarray) -> np.ndarray:
        fluid = _medium(self.sized, name)
        return T.copy() if fluid is None else np.asarray(fluid.h(T))

    def _read(self, frame: Frame) -> dict[str, np.ndarray]:
        plant, view = self.sized.plant, frame.view(self.cycle)
        inside = [n for n in plant.components if self.circuit.whole(n)]
        own = sum(frame.view(n)[item] for n in inside for item in type(plant.components[n]).consumes)
        out = {"power": view["power"], "net": view["power"] - own}
        if "source" in self.names:
            through = _path(self.sized, frame, self.names["source"])
            out |= {"heat": through.heat, "return": through.inlet.T, "flow": through.m}
        if f"{self.cycle}.fresh_water" in frame.values:
            out["fresh_water"] = view["fresh_water"]
        return {name: np.asarray(x, dtype=float) for name, x in out.items()}


def _found(sized: Sized) -> tuple[str, Circuit]:
    """The turbine or engine, and the circuit that it lies in."""
    plant = sized.plant
    cycles = [n for n in plant.of_family("cycle") if "load" in plant.components[n].givens(sized.view(n))]
    if len(cycles) != 1:
        raise SpecificationError("a map needs exactly one turbine or engine whose load is set",
                                 where=f"plant {plant.name!r}", got=", ".join(cycles) or "none",
                                 hint="a plant with one turbine")
    if list(plant.of_family("field")) and not list(plant.of_family("store")):
        raise SpecificationError("without a store a cycle hangs on the sun, for which a map has no axis",
                                 where=f"plant {plant.name!r}", got="no store", hint="a plant with a store")
    return cycles[0], next(c for c in rate(sized) if f"{cycles[0]}.load" in c.needs)


def _source(sized: Sized, circuit: Circuit, cycle: str) -> dict[str, str]:
    """What is given of the heat's source: a store's hot end, or another component's quantity in its circuit."""
    found = [need for need in circuit.needs if "." in need and not need.startswith(f"{cycle}.")
             and need.split(".", 1)[1] in sized.plant.components[need.split(".")[0]].givens(
                 sized.view(need.split(".")[0]))]
    return {"source": found[0]} if len(found) == 1 else {}


def _medium(sized: Sized, name: str) -> Any:
    """Medium whose enthalpy is given by a store's name; None where a temperature is given."""
    owner = name.split(".")[0]
    return sized.view(owner).discharge.medium if owner in sized.plant.of_family("store") else None


def _moves(sized: Sized, name: str) -> tuple[float, float]:
    owner, given = name.split(".", 1)
    ends, fluid = sized.plant.components[owner].givens(sized.view(owner))[given], _medium(sized, name)
    low, high = ends if fluid is None else (float(fluid.T(h)) for h in ends)
    return float(low), float(high)


def _path(sized: Sized, frame: Frame, name: str) -> Any:
    owner = name.split(".")[0]
    view = frame.view(owner)
    return view.discharge if owner in sized.plant.of_family("store") else view.main


def _tail(values: np.ndarray, axis: int) -> float:
    """Largest of the last two Chebyshev terms along an axis, over the largest value [-]."""
    n = values.shape[axis]
    order = np.arange(n)
    angle = np.pi * (2 * order[::-1] + 1) / (2 * n)
    terms = 2.0 / n * np.tensordot(np.cos(np.outer(order, angle)), np.moveaxis(values, axis, 0), axes=(1, 0))
    return float(np.max(np.abs(terms[-2:]).sum(axis=0)) / np.max(np.abs(values)))


def _ends(nodes: np.ndarray) -> tuple[float, float]:
    """Range in which Chebyshev nodes lie."""
    if len(nodes) == 1:
        return float(nodes[0]), float(nodes[0])
    half = 0.5 * (nodes[-1] - nodes[0]) / np.cos(np.pi / (2 * len(nodes)))
    middle = 0.5 * (nodes[-1] + nodes[0])
    return float(middle - half), float(middle + half)


def _column(name: str) -> str:
    return f"{name}_{ {'-': 'share', 'K': 'degC', 'W': 'MW', 'kg/s': 'kg_s'}[UNITS[name]] }".replace(" ", "")


def _people(name: str, x: Any) -> Any:
    return {"-": x, "K": x - 273.15, "W": x / 1e6, "kg/s": x}[UNITS[name]]


def _shown(name: str, x: float) -> str:
    return f"{_people(name, float(x)):.4g} {_column(name).rsplit('_', 1)[-1]}"
