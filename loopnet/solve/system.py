"""A plant as equations and unknowns: the same equations for sizing and rating, with other unknowns."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

from loopnet.errors import SpecificationError
from loopnet.plant import Loop, Plant, SideRef, Stream, Unknown
from loopnet.solve.paths import branches, pressure_levels
from loopnet.solve.view import ComponentLink, Frame, StreamLink

__all__ = ["Mode", "System", "assemble"]

Mode = Literal["sizing", "rating"]


@dataclass
class System:
    """Named unknowns and named residuals of a plant in one mode.

    `reads` maps each equation to what it reads, found by running it once on a recording frame: unknowns by their
    name, conditions with a question mark before it.
    """

    plant: Plant
    mode: Mode
    links: dict[str, ComponentLink]
    unknowns: dict[str, Unknown]
    equations: dict[str, Callable[[Frame], Any]]
    reads: dict[str, frozenset[str]] = field(default_factory=dict)
    term_reads: dict[str, frozenset[str]] = field(default_factory=dict)
    reads_of: dict[Any, tuple[str, ...]] = field(default_factory=dict)

    def frame(self, values: dict[str, Any], conditions: Mapping[str, Any], design: Mapping[str, Any]) -> Frame:
        """A frame on which the equations of this system can run."""
        return Frame(self.links, values, conditions, design, self.plant.design, self.reads_of)

    def starts(self, points: int = 1) -> dict[str, Any]:
        """Start values of all unknowns, each of shape (points,)."""
        return {name: np.full(points, unknown.start) for name, unknown in self.unknowns.items()}

    def record(self, conditions: Mapping[str, Any], design: Mapping[str, Any]) -> None:
        """Run each equation once on a recording frame and keep what it read."""
        frame = self.frame(self.starts(), conditions, design)
        for name, residual in self.equations.items():
            frame.reads = set()
            with np.errstate(all="ignore"):
                residual(frame)
            reads = frame.reads
            self.reads[name] = frozenset(r for r in reads if r in self.unknowns or r.startswith("?"))
        for name, component in self.plant.components.items():
            frame.reads = set()
            with np.errstate(all="ignore"):
                list(component.terms(frame.view(name)))
            self.term_reads[name] = frozenset(frame.reads)
        frame.reads = None


def _start_temperatures(plant: Plant) -> dict[Stream, float]:
    """First guesses of stream temperatures [K]: from the components at their ends, else from a neighbour.

    Pipes and movers pass a temperature on in both directions; a store passes it from one of its paths to the other.
    """
    guessed: dict[Stream, float] = {}
    for stream in plant.streams:
        for ref, end in ((stream.source, "outlet"), (stream.target, "inlet")):
            hint = plant.components[ref.component].guess().get(f"{ref.side}.{end}")
            if hint is not None:
                guessed.setdefault(stream, hint)
    into = {s.target: s for s in plant.streams}
    alike: list[tuple[Stream, Stream]] = []
    for stream in plant.streams:
        ref = stream.source
        family = plant.components[ref.component].family
        if family in ("pipe", "mover"):
            alike.append((stream, into[ref]))
        elif family == "store":
            sides = type(plant.components[ref.component]).sides
            alike += [(stream, into[SideRef(ref.component, side)]) for side in sides if side != ref.side]
    for _ in plant.streams:
        for one, other in alike:
            for have, lack in ((one, other), (other, one)):
                if have in guessed:
                    guessed.setdefault(lack, guessed[have])
    return {stream: guessed.get(stream, 400.0) for stream in plant.streams}


def assemble(plant: Plant, mode: Mode, conditions: Mapping[str, Any], design: Mapping[str, Any],
             without: str = "", own_use: float = 1.0) -> System:
    """Collect the unknowns and equations of a plant and record what each equation reads.

    Parameters
    ----------
    plant : Plant
        A plant that `check_plant` has let pass.
    mode : "sizing" or "rating"
        Sizing frees hardware; rating freezes it at the values in `design`.
    conditions : mapping
        One point of every condition that the equations may read, each of shape (1,) [SI].
    design : mapping
        Values of the sized plant [SI]; empty when sizing.
    without : "", "load" or "focus"
        Role of the equations to leave out.
    own_use : float
        Share of the plant's own electricity that counts in its net power [-]; below one on the way to a solution only.

    Returns
    -------
    System

    Raises
    ------
    SpecificationError
        If no net power is asked for, or nothing drives a closed path.
    """
    flows, temperatures = branches(plant), _start_temperatures(plant)
    heat = (plant.design.net_power or 1e7) / 0.35
    spans: dict[str, list[float]] = {}
    unknowns: dict[str, Unknown] = {}
    stream_links: dict[Stream, StreamLink] = {}
    for stream in plant.streams:
        loop = plant.loops[stream.loop]
        link = StreamLink(str(stream), flows[stream], f"h[{stream}]", f"p[{stream}]", loop.medium)
        stream_links[stream] = link
        enthalpy = float(loop.medium.h(temperatures[stream], loop.pressure))
        spans.setdefault(link.m, []).append(enthalpy)
        unknowns[link.h] = Unknown(link.h, "J/kg", enthalpy)
        unknowns[link.p] = _pressure(link.p, loop)
    sunny = {flows[s] for s in plant.streams if plant.components[s.target.component].family == "field"}
    for name, span in spans.items():
        carried = heat * (plant.design.solar_multiple if name in sunny else 1.0)
        unknowns[name] = Unknown(name, "kg/s", carried / max(max(span) - min(span), 2e4), low=0.0)
    links: dict[str, ComponentLink] = {}
    equations: dict[str, Callable[[Frame], Any]] = {}
    consumed, generated = [], []
    for name, component in plant.components.items():
        sides = {}
        for side in type(component).sides:
            ref = SideRef(name, side)
            inlet = next(s for s in plant.streams if s.target == ref)
            outlet = next(s for s in plant.streams if s.source == ref)
            sides[side] = (stream_links[inlet], stream_links[outlet])
        links[name] = ComponentLink(name, sides)
        for unknown in component.unknowns():
            if mode == "sizing" or not unknown.hardware:
                unknowns[f"{name}.{unknown.name}"] = unknown
        for equation in component.equations():
            if equation.when in ("always", mode) and (not without or equation.role != without):
                equations[f"{name}.{equation.name}"] = _bind(name, equation.residual)
        consumed += [f"{name}.{item}" for item in type(component).consumes]
        generated += [f"{name}.{item}" for item in type(component).generates]
    equations |= pressure_levels(plant, stream_links)
    if mode == "sizing" and generated:
        if plant.design.net_power is None:
            raise SpecificationError("the plant makes electricity but no net power is asked for",
                                     where=f"plant {plant.name!r}", hint="Design(net_power='20 MW')")
        target = plant.design.net_power
        equations["plant.net_power"] = lambda frame: (
            sum(frame.get(name) for name in generated) - own_use * sum(frame.get(name) for name in consumed) - target)
    if mode == "rating":
        unknowns = {name: _restart(unknown, design.get(name)) for name, unknown in unknowns.items()}
    system = System(plant, mode, links, unknowns, equations)
    system.record(conditions, design)
    return system


def _pressure(name: str, loop: Loop) -> Unknown:
    """Pressure of a stream; that of a gas stays near the level of its loop, so that a far guess does not run away."""
    if loop.medium.phase == "gas":
        return Unknown(name, "Pa", loop.pressure, low=0.03 * loop.pressure, high=30.0 * loop.pressure)
    return Unknown(name, "Pa", loop.pressure, low=1.0)


def _bind(name: str, residual: Callable[[Any], Any]) -> Callable[[Frame], Any]:
    return lambda frame: residual(frame.view(name))


def _restart(unknown: Unknown, value: Any) -> Unknown:
    if value is None:
        return unknown
    return Unknown(unknown.name, unknown.unit, float(value), unknown.low, unknown.high)
