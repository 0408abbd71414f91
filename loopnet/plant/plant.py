"""The plant as it is drawn: components joined by streams into loops, on a networkx graph that users can reach."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from difflib import get_close_matches
from itertools import pairwise
from typing import Any

import networkx as nx

from loopnet.errors import ParameterError, TopologyError
from loopnet.media import Medium, medium
from loopnet.params import check_range
from loopnet.plant.component import Component
from loopnet.plant.design import Design
from loopnet.shown import shown
from loopnet.units import Quantity, to_si

__all__ = ["Loop", "Placed", "Plant", "SideRef", "Stream"]


@dataclass(frozen=True)
class SideRef:
    """One side of one component of a plant, as in ``charger.hot``."""

    component: str
    side: str

    def __str__(self) -> str:
        return self.component if self.side == "main" else f"{self.component}.{self.side}"


@dataclass(frozen=True)
class Placed:
    """A component with its name in a plant; its sides are attributes, as in ``charger.hot``."""

    name: str
    component: Component

    def __getattr__(self, side: str) -> SideRef:
        if side.startswith("_") or side not in type(self.component).sides:
            raise AttributeError(f"{self.name} has no side {side!r}; it has {', '.join(type(self.component).sides)}")
        return SideRef(self.name, side)


@dataclass(frozen=True)
class Stream:
    """An edge of the plant: medium flowing from the outlet of one side to the inlet of another."""

    loop: str
    source: SideRef
    target: SideRef

    def __str__(self) -> str:
        return f"{self.source} -> {self.target}"


class Loop:
    """The closed path, or paths, of one medium."""

    def __init__(self, plant: Plant, name: str, fluid: Medium, pressure: float) -> None:
        self.plant, self.name, self.medium, self.pressure = plant, name, fluid, pressure

    def through(self, *path: Placed | SideRef) -> Loop:
        """Join the outlet of each side to the inlet of the next; end where it began to close the circle.

        Parameters
        ----------
        *path : Placed or SideRef
            Components (where they have a single side) or sides such as ``charger.hot``, in flow order.

        Returns
        -------
        Loop
            The loop itself, so that another path can follow.

        Raises
        ------
        TopologyError
            If fewer than two sides are named, a component with several sides is named without its side, or a
            port is joined twice.
        """
        refs = [self.plant._side(item) for item in path]
        if len(refs) < 2:
            raise TopologyError("a path needs at least two sides", where=f"loop {self.name!r}",
                                got=", ".join(map(str, refs)) or "none", hint="loop.through(a, b, c, a)")
        for source, target in pairwise(refs):
            self.plant._join(Stream(self.name, source, target))
        return self

    def __repr__(self) -> str:
        return f"Loop({self.name!r}, {self.medium.name!r}, {self.pressure:g} Pa)"


def _level(loop: str, pressure: Quantity) -> float:
    """Pressure level of a loop [Pa], refused where it is none."""
    where = f"loop {loop!r}.pressure"
    try:
        level = to_si(pressure, "Pa")
    except ParameterError as why:
        raise ParameterError(why.what, where=where, got=why.got, allowed=why.allowed,
                             hint=why.hint or "pressure='14 bar', absolute") from None
    return check_range(level, where=where, unit="Pa", low=1e3, high=3e7)


class Plant:
    """Components joined by streams into loops.

    >>> plant = Plant("empty")
    >>> plant.graph.number_of_nodes()
    0
    """

    def __init__(self, name: str, *, title: str = "", design: Design | None = None) -> None:
        self.name, self.title, self.design = name, title or name, design or Design()
        self.loops: dict[str, Loop] = {}
        self.components: dict[str, Component] = {}
        self.streams: list[Stream] = []

    # -- drawing ---------------------------------------------------------------------------------------------------

    def add(self, name: str, component: Component) -> Placed:
        """Place a component under a name of its own."""
        if not isinstance(component, Component):
            raise TopologyError("not a component", where=f"plant {self.name!r}", got=type(component).__name__,
                                allowed="an object of a class derived from Component", hint="see components/")
        if not isinstance(name, str) or not name.isidentifier():
            raise TopologyError("this is not a plain name", where=f"plant {self.name!r}", got=repr(name),
                                allowed="letters, digits and underscores, no digit first",
                                hint="a name such as hot_pipe")
        if name in self.components:
            raise TopologyError("this name is taken", where=f"plant {self.name!r}", got=repr(name),
                                hint="each component has a name of its own")
        self.components[name] = component
        return Placed(name, component)

    def loop(self, name: str, fluid: str | Medium, *, pressure: Quantity = 101325.0) -> Loop:
        """Start a loop of one medium; `pressure` [Pa] is that at its pressure-holding point."""
        if name in self.loops:
            raise TopologyError("this loop exists already", where=f"plant {self.name!r}", got=repr(name),
                                hint="go on with the loop that exists: loop.through(...)")
        level = _level(name, pressure)
        self.loops[name] = Loop(self, name, medium(fluid, pressure=level), level)
        return self.loops[name]

    def _side(self, item: Placed | SideRef) -> SideRef:
        if isinstance(item, SideRef):
            return item
        if not isinstance(item, Placed):
            raise TopologyError("a path is made of placed components and their sides", where=f"plant {self.name!r}",
                                got=type(item).__name__, hint="use what plant.add(...) returned")
        sides = type(item.component).sides
        if len(sides) != 1:
            raise TopologyError("this component has several sides", where=item.name, got=item.name,
                                allowed=", ".join(f"{item.name}.{side}" for side in sides), hint="name the side")
        return SideRef(item.name, sides[0])

    def _join(self, stream: Stream) -> None:
        for ref, end in ((stream.source, "outlet"), (stream.target, "inlet")):
            if ref.component not in self.components:
                raise TopologyError("this component is not in the plant", where=f"plant {self.name!r}",
                                    got=ref.component, hint="plant.add(...) it first")
            for other in self.streams:
                if (other.source if end == "outlet" else other.target) == ref:
                    raise TopologyError(f"the {end} of {ref} is joined twice", where=f"loop {stream.loop!r}",
                                        got=f"{stream} and {other}", hint="join each port once")
        self.streams.append(stream)

    # -- reading ---------------------------------------------------------------------------------------------------

    @property
    def graph(self) -> nx.MultiDiGraph:
        """The plant as a graph: nodes carry `component`, `family` and `title`, edges `loop`, `medium`, `stream`."""
        graph: nx.MultiDiGraph = nx.MultiDiGraph(name=self.name)
        for name, component in self.components.items():
            graph.add_node(name, component=component, family=component.family, title=name.replace("_", " "))
        for stream in self.streams:
            graph.add_edge(stream.source.component, stream.target.component, loop=stream.loop, stream=stream,
                           medium=self.loops[stream.loop].medium.name,
                           source_side=stream.source.side, target_side=stream.target.side)
        return graph

    def side_loop(self, ref: SideRef) -> Loop:
        """The loop to which a side is joined."""
        for stream in self.streams:
            if ref in (stream.source, stream.target):
                return self.loops[stream.loop]
        raise TopologyError("this side is not joined", where=str(ref), hint="put it on a path of a loop")

    def media_of(self, name: str) -> dict[str, Medium]:
        """Side -> medium of one component."""
        sides = type(self.components[name]).sides
        return {side: self.side_loop(SideRef(name, side)).medium for side in sides}

    def of_family(self, family: str) -> Iterator[str]:
        """Names of the components of one family."""
        return (name for name, component in self.components.items() if component.family == family)

    # -- changing, always in a copy ----------------------------------------------------------------------------------

    def copy(self) -> Plant:
        """An independent plant with the same components, loops and design."""
        twin = Plant(self.name, title=self.title, design=self.design)
        twin.components, twin.streams = dict(self.components), list(self.streams)
        twin.loops = {n: Loop(twin, n, loop.medium, loop.pressure) for n, loop in self.loops.items()}
        return twin

    def with_medium(self, loop: str, fluid: str | Medium, *, pressure: Quantity | None = None) -> Plant:
        """A copy in which one loop carries another medium; flows, sizes, limits and costs follow."""
        self._known(loop, self.loops, "loop")
        twin = self.copy()
        level = self.loops[loop].pressure if pressure is None else _level(loop, pressure)
        twin.loops[loop] = Loop(twin, loop, medium(fluid, pressure=level), level)
        return twin

    def with_component(self, name: str, **changes: Any) -> Plant:
        """A copy in which parameters of one component are changed."""
        self._known(name, self.components, "component")
        component = self.components[name]
        known = list(component.__dataclass_fields__)
        for key in changes:
            if key not in known:
                raise ParameterError("no such parameter", where=name, got=key, allowed=", ".join(known),
                                     hint=", ".join(get_close_matches(key, known)) or "one of the allowed names")
        twin = self.copy()
        twin.components[name] = replace(component, **changes)
        return twin

    def with_design(self, **changes: Any) -> Plant:
        """A copy with some design targets changed."""
        twin = self.copy()
        twin.design = self.design.with_(**changes)
        return twin

    def _known(self, name: str, names: dict[str, Any], what: str) -> None:
        if name not in names:
            close = get_close_matches(name, list(names), n=1)
            raise TopologyError(f"no such {what}", where=f"plant {self.name!r}", got=repr(name),
                                allowed=", ".join(names),
                                hint=close[0] if close else f"one of the {what}s of the plant")

    def __repr__(self) -> str:
        return f"Plant({self.name!r}, {len(self.components)} components, {len(self.loops)} loops)"

    def _repr_html_(self) -> str:
        return shown(self)
