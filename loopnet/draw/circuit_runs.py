"""A circuit read for drawing: what stands as a symbol, what rides on a line, and in which column and row each goes.
Pipes and movers that merely pass a stream on ride on the run between two symbols."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field
from typing import Any

import networkx as nx

from loopnet.draw.text import Block
from loopnet.errors import TopologyError

__all__ = ["Run", "Way", "place_symbols", "read_runs"]

Node = Hashable
_RIDERS = ("pipe", "mover", "junction")
_FIRST = ("field", "receiver")


@dataclass(frozen=True, eq=False)
class Run:
    """The way of one stream from symbol to symbol: its edges (attributes, in flow order) and the riders between."""

    source: Node
    target: Node
    loop: str
    edges: tuple[dict[str, Any], ...]
    riders: tuple[Node, ...]


@dataclass(eq=False)
class Way:
    """A run with the text it carries: `inner` blocks for edges and `outer` for riders, and the width they need."""

    run: Run
    rightward: bool
    inner: list[Block]
    outer: list[Block]
    rings: list[float]
    need: float = 0.0
    slot: float = 0.0  # height over the row's middle at the source, and at the target
    end: float = 0.0
    medium: str = ""
    stops: list[float] = field(default_factory=list)

    @property
    def inner_height(self) -> float:
        return max([text.height for text in self.inner] + [0.0]) + 3

    @property
    def outer_height(self) -> float:
        return max([text.height + (ring or 0.0) for text, ring in zip(self.outer, self.rings, strict=True)]
                   + [max(self.rings, default=0.0)]) + 3


def _rides(graph: nx.MultiDiGraph, node: Node) -> bool:
    """Whether a node can ride on a line: one stream in, one out, both of the same loop."""
    if graph.nodes[node].get("family") not in _RIDERS or graph.in_degree(node) != 1 or graph.out_degree(node) != 1:
        return False
    (before, _, one), = graph.in_edges(node, data=True)
    other, = graph.out_edges(node, data=True)
    return before != node and one.get("loop") == other[2].get("loop")


def read_runs(graph: nx.MultiDiGraph) -> tuple[list[Node], list[Run]]:
    """Tell symbols from riders, and follow each stream from symbol to symbol.

    Parameters
    ----------
    graph : networkx.MultiDiGraph
        Nodes with `title` and `family`, edges with `loop`, `medium` and perhaps `text`.

    Returns
    -------
    symbols : list
        Nodes that stand for themselves.
    runs : list of Run
        Every edge of the graph is in exactly one.

    Raises
    ------
    TopologyError
        If the graph has no node.
    """
    if graph.number_of_nodes() == 0:
        raise TopologyError("a circuit without components", where="draw_circuit", allowed="one node or more")
    riders = {node for node in graph if _rides(graph, node)}
    for part in nx.weakly_connected_components(graph):
        if part <= riders:  # a ring of riders only: let its first node stand
            riders.discard(next(node for node in graph if node in part))
    symbols = [node for node in graph if node not in riders]
    runs = []
    for start in symbols:
        for _, node, edge in graph.out_edges(start, data=True):
            edges, passed = [edge], []
            while node in riders:
                passed.append(node)
                (_, node, edge), = graph.out_edges(node, data=True)
                edges.append(edge)
            runs.append(Run(start, node, str(edges[0].get("loop", "")), tuple(edges), tuple(passed)))
    return symbols, runs


def place_symbols(graph: nx.MultiDiGraph, symbols: list[Node], runs: list[Run]) -> dict[Node, tuple[int, int]]:
    """Column and row of each symbol: columns by how many loops away from the field it is, rows near its neighbours.

    Parameters
    ----------
    graph : networkx.MultiDiGraph
        The circuit.
    symbols, runs : list
        As `read_runs` gives them.

    Returns
    -------
    dict
        Node -> (column, row), columns from 0 at the left, rows from 0 at the top.
    """
    near: dict[Node, list[Node]] = {node: [] for node in symbols}
    for run in runs:
        if run.source != run.target:
            near[run.source].append(run.target)
            near[run.target].append(run.source)
    column: dict[Node, int] = {}
    order: list[Node] = []
    starts = [node for node in symbols if graph.nodes[node].get("family") in _FIRST]
    for start in [*starts, *symbols]:
        if start in column:
            continue
        column[start] = 0
        wave = [start]
        if start in starts:
            wave = starts
            column |= dict.fromkeys(starts, 0)
        while wave:
            order += wave
            following = []
            for node in wave:
                for other in near[node]:
                    if other not in column:
                        column[other] = column[node] + 1
                        following.append(other)
            wave = following
    row: dict[Node, int] = {}
    taken: set[tuple[int, int]] = set()
    for node in order:
        neighbours = [row[other] for other in near[node] if other in row]
        wish = round(sum(neighbours) / len(neighbours)) if neighbours else 0
        tries = sorted(range(len(symbols) + 1), key=lambda r: (abs(r - wish), -r))
        row[node] = next(r for r in tries if (column[node], r) not in taken)
        taken.add((column[node], row[node]))
    used = sorted(set(row.values()))
    return {node: (column[node], used.index(row[node])) for node in symbols}
