"""Can the equations be solved at all, and in which order: matching, diagnosis in the user's words, blocks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import networkx as nx

from loopnet.errors import SpecificationError

__all__ = ["Block", "blocks", "circuits", "diagnose"]


@dataclass(frozen=True)
class Block:
    """Equations that must be solved together, with as many unknowns."""

    equations: tuple[str, ...]
    unknowns: tuple[str, ...]


def _bipartite(reads: Mapping[str, Iterable[str]], unknowns: Iterable[str]) -> nx.Graph:
    graph = nx.Graph()
    graph.add_nodes_from(("e", name) for name in reads)
    graph.add_nodes_from(("u", name) for name in unknowns)
    graph.add_edges_from((("e", e), ("u", u)) for e, names in reads.items() for u in names if not u.startswith("?"))
    return graph


def _matching(graph: nx.Graph) -> dict[tuple[str, str], tuple[str, str]]:
    top = [node for node in graph if node[0] == "e"]
    return nx.bipartite.hopcroft_karp_matching(graph, top_nodes=top)


def blocks(reads: Mapping[str, Iterable[str]], unknowns: Iterable[str]) -> list[Block]:
    """Order a square system into blocks that are solved one after another.

    Parameters
    ----------
    reads : mapping of str to names
        What each equation reads; names with a question mark are conditions and do not count.
    unknowns : names
        All unknowns.

    Returns
    -------
    list of Block
        In solving order; most have one unknown.

    Raises
    ------
    SpecificationError
        If the system is not square and perfectly matched; the text says what is left over.

    Examples
    --------
    >>> [b.unknowns for b in blocks({"sum": ["x", "y"], "x": ["x"]}, ["x", "y"])]
    [('x',), ('y',)]
    """
    names = list(unknowns)
    graph = _bipartite(reads, names)
    match = _matching(graph)
    free = [u for u in names if ("u", u) not in match]
    surplus = [e for e in reads if ("e", e) not in match]
    if free or surplus:
        raise diagnose(graph, match, free, surplus)
    order = nx.DiGraph()
    order.add_nodes_from(reads)
    for equation in reads:
        for _, unknown in graph[("e", equation)]:
            owner = match[("u", unknown)][1]
            if owner != equation:
                order.add_edge(owner, equation)
    condensed = nx.condensation(order)
    result = []
    for node in nx.lexicographical_topological_sort(condensed):
        members = tuple(sorted(condensed.nodes[node]["members"]))
        result.append(Block(members, tuple(match[("e", e)][1] for e in members)))
    return result


def diagnose(graph: nx.Graph, match: Mapping[tuple[str, str], tuple[str, str]], free: list[str],
             surplus: list[str]) -> SpecificationError:
    """What is over- and under-determined (Dulmage and Mendelsohn), as an error in the user's words."""
    texts, hints = [], []
    if free:
        loose = _reach(graph, match, [("u", u) for u in free])
        flows = sorted(n for kind, n in loose if kind == "u" and n.startswith("m["))
        others = sorted(n for kind, n in loose if kind == "u" and not n.startswith(("m[", "h[", "p[")))
        if flows:
            texts.append("nothing sets the flow of " + ", ".join(f"loop {n[2:-1]!r}" for n in flows))
            hints.append("give an outlet temperature, a flow ratio, a load or a power that fixes it")
        elif others:
            texts.append("nothing sets " + ", ".join(others[:6]))
            hints.append("give one specification more")
        else:
            texts.append("nothing sets " + ", ".join(sorted(n for kind, n in loose if kind == "u")[:4]))
            hints.append("close the loop's pressure with one pump, fan or lift, or give one specification more")
    if surplus:
        tight = sorted(n for kind, n in _reach(graph, match, [("e", e) for e in surplus]) if kind == "e")
        specs = [n for n in tight if not n.endswith((".pressure", ".energy"))] or tight
        texts.append("these specifications fight: " + ", ".join(specs[:8]) + (" ..." if len(specs) > 8 else ""))
        hints.append("drop one of them, or free what it fixes")
    return SpecificationError("; ".join(texts), where="plant", got=f"{len(free)} unknown(s) too many, "
                              f"{len(surplus)} equation(s) too many", hint="; ".join(hints))


def _reach(graph: nx.Graph, match: Mapping[tuple[str, str], tuple[str, str]],
           starts: list[tuple[str, str]]) -> set[tuple[str, str]]:
    """Nodes that alternating paths reach from unmatched ones: the part of the system that is not well posed."""
    seen, todo = set(starts), list(starts)
    side = starts[0][0]
    while todo:
        node = todo.pop()
        steps = graph[node] if node[0] == side else [match[node]] if node in match else []
        for other in steps:
            if other not in seen:
                seen.add(other)
                todo.append(other)
    return seen


def circuits(reads: Mapping[str, Iterable[str]], unknowns: Iterable[str],
             cut: Iterable[str] = ()) -> list[tuple[list[str], list[str]]]:
    """Parts that share no unknown: where a plant is rated, stores cut it into circuits by themselves.

    Parameters
    ----------
    reads : mapping of str to names
        What each equation reads.
    unknowns : names
        All unknowns.
    cut : names
        Components at which the plant may fall apart; all that belongs to another component stays together.

    Returns
    -------
    list of (equations, unknowns)
        Largest first.
    """
    graph, cut = _bipartite(reads, unknowns), set(cut)
    for node in list(graph):
        owner = node[1].split(".")[0]
        if "[" not in owner and owner not in cut:
            graph.add_edge(node, ("component", owner))
    parts = []
    for nodes in nx.connected_components(graph):
        parts.append(([e for e in reads if ("e", e) in nodes], [u for u in unknowns if ("u", u) in nodes]))
    return sorted(parts, key=lambda part: -len(part[1]))
