"""The order of an energy-flow picture, before any width is known: rows of branches, slots along x, slots at nodes.
Every upright leg gets a place of its own along x, so that no two ever lie on each other."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from loopnet.draw.flow import EnergyFlow, Shape

__all__ = ["Key", "Slots", "assign_slots"]

Key = tuple[str, str | int]


@dataclass(frozen=True)
class Slots:
    """Places, as order only.

    `sequence` lists what stands along x from left to right: ("node", name), ("drop", link), ("out", link) for the
    leg by which a link leaves its row, ("in", link) for the leg by which it enters one. `row` is 0 for the trunk and
    counts upwards. `lane` gives the row of a link that needs a row of its own. `legs` lists for each link its upright
    legs with the lower and upper row they join. `entering` and `leaving` list the links of a node from top to bottom.
    """

    sequence: tuple[Key, ...]
    row: dict[str, int]
    lane: dict[int, int]
    legs: dict[int, list[tuple[Key, int, int]]]
    entering: dict[str, list[int]]
    leaving: dict[str, list[int]]


def assign_slots(flow: EnergyFlow, shape: Shape) -> Slots:
    """Choose rows and orders for a flow that has been read.

    Parameters
    ----------
    flow : EnergyFlow
        The flow.
    shape : Shape
        Its trunk, branches and drops.

    Returns
    -------
    Slots
        Rows, order along x, and order at each node.
    """
    links = flow.links
    rank = {name: number for number, name in enumerate(shape.order)}
    chain_of = {name: number for number, chain in enumerate(shape.chains) for name in chain}
    cross = [n for n in range(len(links)) if n not in shape.straight and n not in shape.drops]
    kinds: dict[int, str] = {}
    span = {number: [float(rank[chain[0]]), float(rank[chain[-1]])] for number, chain in enumerate(shape.chains)}
    lanes: dict[int, tuple[float, float]] = {}
    for n in cross:
        u, v = links[n].source, links[n].target
        if chain_of[v] and shape.chains[chain_of[v]][0] == v:
            kinds[n] = "out"
            span[chain_of[v]][0] = min(span[chain_of[v]][0], rank[u] + 0.5)
        elif chain_of[u] and shape.chains[chain_of[u]][-1] == u:
            kinds[n] = "in"
            span[chain_of[u]][1] = max(span[chain_of[u]][1], rank[v] - 0.5)
        else:
            kinds[n] = "both"
            lanes[n] = (rank[u] + 0.5, rank[v] - 0.5)
    row_of_chain, lane = _rows({k: (s[0], s[1]) for k, s in span.items() if k}, lanes)
    row_of_chain[0] = 0
    row = {name: row_of_chain[chain_of[name]] for name in shape.order}

    legs: dict[int, list[tuple[Key, int, int]]] = {}
    goes_up: dict[int, bool] = {}  # whether the link leaves its source upwards
    comes_down: dict[int, bool] = {}
    for n in cross:
        a, b = row[links[n].source], row[links[n].target]
        if kinds[n] == "both":
            legs[n] = [(("out", n), min(a, lane[n]), max(a, lane[n])), (("in", n), min(b, lane[n]), max(b, lane[n]))]
            goes_up[n], comes_down[n] = lane[n] > a, lane[n] > b
        else:
            legs[n] = [((kinds[n], n), min(a, b), max(a, b))]
            goes_up[n], comes_down[n] = b > a, a > b
    return _in_order(flow, shape, row, lane, legs, kinds, goes_up, comes_down)


def _rows(chains: dict[int, tuple[float, float]],
          lanes: dict[int, tuple[float, float]]) -> tuple[dict[int, int], dict[int, int]]:
    """Short spans low, each in the lowest row over the trunk in which it meets no other."""
    wanted = [(end - start, 0, k, start, end) for k, (start, end) in chains.items()]
    wanted += [(end - start, 1, k, start, end) for k, (start, end) in lanes.items()]
    taken: dict[int, list[tuple[float, float]]] = defaultdict(list)
    found: tuple[dict[int, int], dict[int, int]] = ({}, {})
    for _, which, key, start, end in sorted(wanted):
        row = 1
        while any(start <= other[1] and other[0] <= end for other in taken[row]):
            row += 1
        taken[row].append((start, end))
        found[which][key] = row
    return found


def _in_order(flow: EnergyFlow, shape: Shape, row: dict[str, int], lane: dict[int, int],
              legs: dict[int, list[tuple[Key, int, int]]], kinds: dict[int, str], goes_up: dict[int, bool],
              comes_down: dict[int, bool]) -> Slots:
    sequence: list[Key] = []
    links = flow.links
    for name in shape.order:
        arriving = [n for n in kinds if links[n].target == name and kinds[n] != "out"]
        sequence += [("in", n) for n in sorted(arriving, key=lambda n: -links[n].value)]
        sequence.append(("node", name))
        sequence += [("drop", n) for n in sorted(shape.drops) if links[n].source == name]
        parting = [n for n in kinds if links[n].source == name and kinds[n] != "in"]
        sequence += [("out", n) for n in sorted(parting, key=lambda n: -links[n].value)]
    for name in shape.products:
        sequence.remove(("node", name))
    place = {item: number for number, item in enumerate(sequence)}

    def at(number: int, prefer: str) -> int:
        other = "in" if prefer == "out" else "out"
        return place.get((prefer, number), place.get((other, number), 0))

    entering: dict[str, list[int]] = {}
    leaving: dict[str, list[int]] = {}
    for name in shape.order:
        into = [n for n, link in enumerate(links) if link.target == name]
        out = [n for n, link in enumerate(links) if link.source == name]
        entering[name] = (sorted((n for n in into if n in kinds and comes_down[n]), key=lambda n: -at(n, "in"))
                          + [n for n in into if n in shape.straight]
                          + sorted((n for n in into if n in kinds and not comes_down[n]), key=lambda n: at(n, "in")))
        down = [n for n in out if n in shape.drops or n in kinds and not goes_up[n]]
        leaving[name] = (sorted((n for n in out if n in kinds and goes_up[n]), key=lambda n: at(n, "out"))
                         + [n for n in out if n in shape.straight]
                         + sorted(down, key=lambda n: -(place[("drop", n)] if n in shape.drops else at(n, "out"))))
    return Slots(tuple(sequence), row, lane, legs, entering, leaving)
