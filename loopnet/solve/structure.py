"""Can the equations be solved at all, and in which order: matching, diagnosis in the user's words, blocks."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass

import networkx as nx

from loopnet.errors import SpecificationError
from loopnet.solve.paths import spoken

__all__ = ["Block", "blocks", "circuits", "diagnose"]


@dataclass(frozen=True)
class Block:
    """Equations that must be solved together, with as many unknowns."""

    equations: tuple[str, ...]
    unknowns: tuple[str, ...]


def _bipartite(reads: Mapping[str, Iterable[str]], unknowns: Iterable[str]) -> nx.Graph:
    graph: nx.Graph = nx.Graph()
    graph.add_nodes_from(("e", name) for name in reads)
    graph.add_nodes_from(("u", name) for name in unknowns)
    graph.add_edges_from((("e", e), ("u", u)) for e, names in reads.items() for u in names if not u.startswith("?"))
    return graph


def _matching(graph: nx.Graph) -> dict[tuple[str, str], tuple[str, str]]:
    top = [node for node in graph if node[0] == "e"]
    return nx.bipartite.hopcroft_karp_matching(graph, top_nodes=top)


Explain = Callable[[Collection[str], Collection[str]], list[tuple[str, str]]]
"""From unknowns too many and equations too many to (text, hint) of what is known to go wrong there."""


def blocks(reads: Mapping[str, Iterable[str]], unknowns: Iterable[str], *, where: str = "plant",
           explain: Explain | None = None) -> list[Block]:
    """Order a square system into blocks that are solved one after another.

    Parameters
    ----------
    reads : mapping of str to names
        What each equation reads; names with a question mark are conditions and do not count.
    unknowns : names
        All unknowns.
    where : str
        What the equations describe, for the error.
    explain : callable, optional
        Knows the reason of common mistakes: gets the unknowns and the equations of the part that is not well posed.

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
        raise diagnose(graph, match, free, surplus, where=where, explain=explain)
    order: nx.DiGraph = nx.DiGraph()
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
             surplus: list[str], *, where: str = "plant", explain: Explain | None = None) -> SpecificationError:
    """What is over- and under-determined (Dulmage and Mendelsohn), as an error in the user's words.

    An equation that bears the name of an unknown defines it, and is no specification.
    """
    loose = _reach(graph, match, "u", free)
    tight = _reach(graph, match, "e", surplus)
    said = explain(loose, tight) if explain else []
    if not said and free:
        said.append(_loose(loose))
    if not said and surplus or free and surplus:
        said.append(_tight([e for e in tight if ("u", e) not in graph] or tight))
    texts, hints = zip(*said, strict=True)
    return SpecificationError("; ".join(texts), where=where, got=f"{_count(free, 'unknown')}, "
                              f"{_count(surplus, 'equation')}", hint="; ".join(hints))


def _count(items: list[str], what: str) -> str:
    return f"{len(items)} {what}{'s' if len(items) != 1 else ''} too many"


def _loose(loose: list[str]) -> tuple[str, str]:
    """Text and hint for unknowns that nothing sets: flows first, for these people know."""
    flows = [n for n in loose if n.startswith("m[")]
    if flows:
        return ("nothing sets the flow of " + ", ".join(map(spoken, flows)),
                "give an outlet temperature, a flow ratio, a load or a power that fixes it")
    if others := [n for n in loose if "[" not in n]:
        return "nothing sets " + _listed(others), "give one specification more"
    return ("nothing sets " + _listed(loose),
            "close the loop's pressure with one pump, fan or lift, or give one specification more")


def _tight(tight: list[str]) -> tuple[str, str]:
    """Text and hint for equations that fight: specifications before balances, which nobody can drop."""
    specs = [n for n in tight if "[" not in n and not n.endswith((".pressure", ".energy", ".transfer"))] or tight
    return "these specifications fight: " + _listed(specs), "drop one of them, or free what it fixes"


def _listed(names: list[str], most: int = 20) -> str:
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")


def _reach(graph: nx.Graph, match: Mapping[tuple[str, str], tuple[str, str]], side: str,
           starts: list[str]) -> list[str]:
    """Names on one side that alternating paths reach from unmatched ones, in the order of the graph: the part of the
    system that is not well posed."""
    seen = {(side, name) for name in starts}
    todo = list(seen)
    while todo:
        node = todo.pop()
        steps = graph[node] if node[0] == side else [match[node]] if node in match else []
        for other in steps:
            if other not in seen:
                seen.add(other)
                todo.append(other)
    return [name for kind, name in graph if kind == side and (kind, name) in seen]


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
