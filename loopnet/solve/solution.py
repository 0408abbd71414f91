"""Solve a plant: size it at its design point, or rate its circuits at many points; results carry a certificate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import numpy as np
import pandas as pd

from loopnet.errors import ConvergenceError
from loopnet.plant import Plant, check_plant
from loopnet.shown import shown
from loopnet.solve.certificate import Certificate, certify, check_media, component_terms
from loopnet.solve.newton import solve_block
from loopnet.solve.paths import who_drives
from loopnet.solve.structure import Block, blocks, circuits
from loopnet.solve.system import System, assemble
from loopnet.solve.view import Frame
from loopnet.solve.warm import LARGE, warm_starts

__all__ = ["Circuit", "Sized", "rate", "size"]

OWN_USE = (0.0, 0.3, 0.6, 0.8, 0.9, 1.0)
"""Shares of the plant's own electricity that are counted one after the other where a direct search fails."""


@dataclass(frozen=True)
class Sized:
    """A plant at its design point: hardware, flows and temperatures, with the certificate.

    `values` holds every unknown [SI] by name; `view(component)` reads them as equations do.
    """

    plant: Plant
    values: Mapping[str, float]
    certificate: Certificate
    findings: tuple[str, ...]
    frame: Frame = field(repr=False, compare=False)

    def view(self, component: str) -> Any:
        """What the equations of a component saw."""
        return self.frame.view(component)

    def terms(self) -> pd.DataFrame:
        """Energy terms [W] at the design point: component, label, kind, watt."""
        rows = [(name, t.label, t.kind, float(np.squeeze(t.value)))
                for name, terms in component_terms(self.plant, self.frame, list(self.plant.components)).items()
                for t in terms]
        return pd.DataFrame(rows, columns=["component", "label", "kind", "watt"])

    def to_frame(self) -> pd.DataFrame:
        """Streams: loop, medium, flow [kg/s], temperature [degC], pressure [bar]."""
        rows = []
        for stream in self.plant.streams:
            link = self.frame.links[stream.source.component].sides[stream.source.side][1]
            fluid = link.medium
            h, p = self.values[link.h], self.values[link.p]
            temperature = fluid.T(h) if fluid.pressure_free else fluid.T(h, p)
            rows.append((stream.loop, fluid.name, str(stream.source), str(stream.target), self.values[link.m],
                         float(temperature) - 273.15, p / 1e5))
        return pd.DataFrame(rows, columns=["loop", "medium", "from", "to", "flow_kg_s", "temperature_degC", "bar"])

    def to_dict(self) -> dict[str, float]:
        """Every unknown [SI] by name."""
        return dict(self.values)

    def __repr__(self) -> str:
        return f"Sized({self.plant.name!r}, {len(self.values)} unknowns, {self.certificate})"

    def _repr_html_(self) -> str:
        return shown(self)


def design_conditions(plant: Plant) -> dict[str, np.ndarray]:
    """Sun and air at the design point and what components make of them, each of shape (1,) [SI]."""
    site = {name: np.array([value]) for name, value in plant.design.conditions().items()}
    given = {**site, **prepared(plant, site)}
    if not list(plant.of_family("store")):  # a field larger than its load has nowhere to put the rest: it looks away
        given |= {f"{name}.focus": np.array([1.0 / plant.design.solar_multiple]) for name in plant.of_family("field")}
    return given


def prepared(plant: Plant, site: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    """What components make of sun and air alone, by "component.name"; `site` maps condition to array [SI]."""
    return {f"{name}.{key}": np.asarray(value, dtype=float) for name, component in plant.components.items()
            for key, value in component.prepare(site).items()}


def _blocks(system: System) -> list[Block]:
    """Blocks of the whole system; what is not well posed is said in the words of its plant."""
    return blocks(system.reads, system.unknowns, where=f"plant {system.plant.name!r}",
                  explain=partial(who_drives, system.plant))


def _solve(system: System, order: list[Block], values: dict[str, Any], conditions: Mapping[str, Any],
           design: Mapping[str, Any], points: int, describe: Any = None) -> None:
    for block in order:
        report = solve_block(system, block, values, conditions, design, points)
        if len(report.failed):
            point = int(report.failed[0])
            place = describe(point) if describe else "the design point"
            stuck = _at_bound(system, block, values, point)
            raise ConvergenceError(
                f"no solution found for {', '.join(block.equations[:6])}{' ...' if len(block.equations) > 6 else ''}",
                where=f"plant {system.plant.name!r}", got=f"{len(report.failed)} of {points} points failed, first "
                f"{place}; worst equation {report.worst}{stuck and '; at its lower limit: ' + stuck}",
                hint=_hint(stuck))


def _at_bound(system: System, block: Block, values: Mapping[str, Any], point: int) -> str:
    """Names of unknowns that the search has pressed against their lower limit."""
    low = {name: system.unknowns[name].low for name in block.unknowns}
    return ", ".join(name for name, bound in low.items()
                     if np.isfinite(bound) and values[name][point] - bound < 1e-3 * abs(system.unknowns[name].start))


def _hint(stuck: str) -> str:
    if stuck.startswith("p["):
        return "the path's pressure falls to nothing: put its pump or fan before what takes the pressure, or raise it"
    return "check that temperatures along the circuit leave room for every approach and loss"


def _sized(plant: Plant, conditions: Mapping[str, Any]) -> tuple[System, dict[str, Any]]:
    """The system of a plant and its solution. Where the search fails because pumps and fans seem to eat all that the
    plant makes, their use is brought in step by step."""
    system = assemble(plant, "sizing", conditions, {})
    order, values = _blocks(system), system.starts()
    try:
        with np.errstate(all="ignore"):
            _solve(system, order, values, conditions, {}, 1)
        return system, values
    except ConvergenceError as direct:
        values = system.starts()
        for share in OWN_USE:
            step = system if share == 1.0 else assemble(plant, "sizing", conditions, {}, own_use=share)
            try:
                with np.errstate(all="ignore"):
                    _solve(step, _blocks(step), values, conditions, {}, 1)
            except ConvergenceError:
                raise direct from None
        return system, values


def size(plant: Plant) -> Sized:
    """Size a plant for its design targets.

    Parameters
    ----------
    plant : Plant

    Returns
    -------
    Sized

    Raises
    ------
    TopologyError, SpecificationError
        If the plant is drawn wrong or not well posed; found before any number is computed.
    ConvergenceError
        If the equations have no solution near, or the certificate fails.
    PropertyRangeError
        If a medium would leave its range.
    """
    check_plant(plant)
    conditions = design_conditions(plant)
    system, values = _sized(plant, conditions)
    names = list(plant.components)
    frame = system.frame(values, conditions, {})
    check_media(plant, frame, names)
    certificate = certify(plant, frame, names, component_terms(plant, frame, names))
    found = tuple(f"{name}: {text}" for name in names for text in plant.components[name].findings(frame.view(name)))
    return Sized(plant, {n: float(x[0]) for n, x in values.items()}, certificate, found, frame)


@dataclass(frozen=True)
class Circuit:
    """Part of a sized plant that shares no unknown with the rest: what lies between its stores.

    `needs` names the conditions that it depends on; hours in which these are the same are the same point.
    """

    plant: Plant
    design: Mapping[str, float]
    system: System = field(repr=False)
    equations: tuple[str, ...]
    unknowns: tuple[str, ...]
    components: tuple[str, ...]
    needs: tuple[str, ...]
    order: tuple[Block, ...] = field(repr=False)

    def solve(self, conditions: Mapping[str, np.ndarray], *, start: Mapping[str, Any] | None = None,
              describe: Any = None) -> Frame:
        """Solve the circuit for a batch of points.

        Parameters
        ----------
        conditions : mapping of arrays, shape (points,)
            At least those in `needs` [SI].
        start : mapping of arrays, optional
            Start values of some unknowns [SI]; for a large batch a sample of it gives them.
        describe : callable, optional
            Point index -> text, to name a point that fails.

        Returns
        -------
        Frame
            The solved values at all points.
        """
        points = len(next(iter(conditions.values()))) if conditions else 1
        values = {u: np.full(points, self.system.unknowns[u].start) for u in self.unknowns}
        if start is None and points >= LARGE:
            start = warm_starts(self, conditions, describe)
        for name, value in (start or {}).items():
            if name in values:
                values[name] = np.array(value, dtype=float)
        with np.errstate(all="ignore"):
            _solve(self.system, list(self.order), values, conditions, self.design, points, describe)
        return self.system.frame(values, conditions, self.design)

    @property
    def outright(self) -> tuple[str, ...]:
        """Unknowns that follow from the conditions alone, each by one equation."""
        reads = self.system.reads
        return tuple(b.unknowns[0] for b in self.order if len(b.unknowns) == 1
                     and all(r == b.unknowns[0] or r.startswith("?") for r in reads[b.equations[0]]))

    def known(self, conditions: Mapping[str, np.ndarray]) -> Frame:
        """What follows from the conditions alone at a batch of points; all other unknowns as at the design point.

        Parameters
        ----------
        conditions : mapping of arrays, shape (points,)
            At least those in `needs` [SI].

        Returns
        -------
        Frame
        """
        points = len(next(iter(conditions.values()))) if conditions else 1
        values = {u: np.full(points, self.design[u]) for u in self.unknowns}
        order = [b for b in self.order if b.unknowns[0] in self.outright]
        _solve(self.system, order, values, conditions, self.design, points)
        return self.system.frame(values, conditions, self.design)

    def certify(self, frame: Frame) -> Certificate:
        """The certificate of a solved frame of this circuit."""
        inner = [n for n in self.components if self.whole(n)]
        return certify(self.plant, frame, inner, component_terms(self.plant, frame, inner))

    def whole(self, component: str) -> bool:
        """Whether all sides of a component lie in this circuit (a store's do not)."""
        links = self.system.links[component].sides.values()
        return all(link.h in self.unknowns for pair in links for link in pair)


def rate(sized: Sized, without: str = "") -> list[Circuit]:
    """The circuits of a sized plant, with hardware frozen: what lies between stores, ready to solve in batches.

    Parameters
    ----------
    sized : Sized
    without : "", "load" or "focus"
        Where nothing is stored: whether the load follows the sun, or the field turns away what the load cannot take.

    Returns
    -------
    list of Circuit
        Largest first.
    """
    plant = sized.plant
    conditions = design_conditions(plant)
    for name, component in plant.components.items():
        for given, (low, high) in component.givens(sized.view(name)).items():
            conditions[f"{name}.{given}"] = np.array([(low + high) / 2])
    system = assemble(plant, "rating", conditions, sized.values, without)
    _blocks(system)  # refuses an ill-posed plant as a whole
    found = []
    for equations, unknowns in circuits(system.reads, system.unknowns, plant.of_family("store")):
        reads = {e: system.reads[e] for e in equations}
        owners = {e.split(".")[0] for e in equations}
        components = tuple(n for n in plant.components if n in owners)
        read = set().union(*reads.values(), *(system.term_reads[n] for n in components))
        needs = sorted(r[1:] for r in read if r.startswith("?"))
        found.append(Circuit(plant, dict(sized.values), system, tuple(equations), tuple(unknowns), components,
                             tuple(needs), tuple(blocks(reads, unknowns))))
    return found
