"""Paths: streams that follow one another share one mass flow, and each path needs one thing that drives it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import TYPE_CHECKING, Any

import networkx as nx

from loopnet.errors import SpecificationError
from loopnet.plant import Component, Plant, Stream

if TYPE_CHECKING:
    from loopnet.solve.view import Frame, StreamLink

__all__ = ["branches", "pressure_levels", "spoken", "who_drives"]


def branches(plant: Plant) -> dict[Stream, str]:
    """Stream -> name of its mass flow; streams that follow one another share one, so that mass is conserved."""
    ways: nx.Graph = nx.Graph()
    ways.add_nodes_from(plant.streams)
    into = {s.target: s for s in plant.streams}
    for stream in plant.streams:
        if (before := into.get(stream.source)) is not None:
            ways.add_edge(before, stream)
    names: dict[Stream, str] = {}
    groups = sorted((sorted(c, key=plant.streams.index) for c in nx.connected_components(ways)),
                    key=lambda c: plant.streams.index(c[0]))
    for group in groups:
        loop = group[0].loop
        alone = sum(g[0].loop == loop for g in groups) == 1
        name = f"m[{loop}]" if alone else f"m[{loop}, {group[0].source}]"
        names.update(dict.fromkeys(group, name))
    return names


def spoken(flow: str) -> str:
    """The path of a mass flow in words.

    >>> spoken("m[oil]"), spoken("m[salt, tanks.charge]")
    ("loop 'oil'", "loop 'salt' from tanks.charge")
    """
    loop, _, start = flow[2:-1].partition(", ")
    return f"loop {loop!r}" + (f" from {start}" if start else "")


def _paths(plant: Plant) -> dict[str, list[Stream]]:
    flows, paths = branches(plant), dict[str, list[Stream]]()
    for stream in plant.streams:
        paths.setdefault(flows[stream], []).append(stream)
    return paths


def pressure_levels(plant: Plant, links: Mapping[Stream, StreamLink]) -> dict[str, Callable[[Frame], Any]]:
    """One equation per closed path that nothing on it ties to a pressure: the level is held where its mover sucks.

    Raises
    ------
    SpecificationError
        If such a path has no mover: pressure drops that nothing makes good have no solution.
    """
    held: dict[str, Callable[[Frame], Any]] = {}
    for name, streams in _paths(plant).items():
        on = [plant.components[s.target.component] for s in streams]
        if any(c.holds_pressure for c in on):
            continue
        movers = [s for s, c in zip(streams, on, strict=True) if c.family == "mover"]
        if not movers:
            raise SpecificationError(_undriven(name), where=f"plant {plant.name!r}", got="no mover on the path",
                                     hint=_PUT)
        level = plant.loops[movers[0].loop].pressure
        held[f"{name}.pressure level"] = _holds(links[movers[0]].p, level)
    return held


def _holds(pressure: str, level: float) -> Callable[[Frame], Any]:
    return lambda frame: frame.get(pressure) - level


def _gives_way(mover: Component) -> bool:
    """Whether the rise of a mover is what its path needs: it has an equation less than unknowns and outlets."""
    own = sum(e.when != "rating" for e in mover.equations())
    return own < len(list(mover.unknowns())) + 2 * len(type(mover).sides)


_PUT = "put one mover on the path: a pump, a fan or a lift"


def _undriven(flow: str) -> str:
    return f"nothing drives {spoken(flow)}: it has no pump, fan or lift"


def who_drives(plant: Plant, loose: Collection[str], tight: Collection[str]) -> list[tuple[str, str]]:
    """Text and hint for each path that is driven by nothing, or by two movers that share its pressure drop anyhow.

    Parameters
    ----------
    plant : Plant
    loose : names
        Unknowns that too few equations fix.
    tight : names
        Equations that are too many for their unknowns.

    Returns
    -------
    list of (text, hint)
    """
    found = []
    for flow, streams in _paths(plant).items():
        names = [s.target.component for s in streams]
        family = {name: plant.components[name].family for name in names}
        movers = [name for name in names if family[name] == "mover"]
        fights = any(e.split(".")[0] in names and e.endswith("pressure") for e in tight)
        if not movers and "cycle" not in family.values() and fights:
            found.append((_undriven(flow), _PUT))
        shared = [name for name in movers if _gives_way(plant.components[name])]
        if len(shared) > 1 and loose:
            found.append((f"{' and '.join(shared)} both drive {spoken(flow)}, and nothing says how they share its "
                          "pressure drop", "keep one of them, or fix the rise of the other"))
    return found
