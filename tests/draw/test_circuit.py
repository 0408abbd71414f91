"""Circuit pictures: the three plants read from left to right, and no label meets a label, a line or a symbol."""

from __future__ import annotations

from itertools import combinations, pairwise

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.draw import CircuitLayout, circuit_layout, draw_circuit
from loopnet.draw.text import Box
from loopnet.errors import TopologyError

from .circuits import air_circuit, oil_circuit, random_circuit, sand_circuit

PLANTS = {"oil": oil_circuit, "air": air_circuit, "sand": sand_circuit}


def legs(placed: CircuitLayout) -> list[tuple[int, Box]]:
    """Every straight leg of every line as a thin box, with the number of its line."""
    found = []
    for number, line in enumerate(placed.lines):
        for (ax, ay), (bx, by) in zip(line.points, line.points[1:], strict=False):
            assert ax == bx or ay == by or abs(ay - by) < 1e-9, "a line runs neither level nor upright"
            found.append((number, Box(min(ax, bx), min(ay, by), max(ax, bx), max(ay, by))))
    return found


def clashes(placed: CircuitLayout, boxes: list[tuple[str, Box]]) -> list[str]:
    found = [f"{a} on {b}" for (a, box), (b, other) in combinations(boxes, 2) if box.meets(other)]
    found += [f"{name} on a line" for name, box in boxes for _, leg in legs(placed) if box.meets(leg, 0.5)]
    found += [f"{name} on {symbol.name}" for name, box in boxes for symbol in placed.symbols if box.meets(symbol.box)]
    page = Box(0, 0, placed.width, placed.height)
    found += [f"{name} off the page" for name, box in boxes
              if box.x0 < page.x0 or box.y0 < page.y0 or box.x1 > page.x1 or box.y1 > page.y1]
    found += [f"{a.name} on {b.name}" for a, b in combinations(placed.symbols, 2) if a.box.meets(b.box)]
    cards = [symbol for symbol in placed.symbols if not symbol.facing]
    found += [f"line {number} through {card.name}" for number, leg in legs(placed) for card in cards
              if leg.meets(card.box, -0.5)]
    for (one, a), (other, b) in combinations(legs(placed), 2):
        level = a.y0 == a.y1 and b.y0 == b.y1 and abs(a.y0 - b.y0) < 1 and a.x0 < b.x1 and b.x0 < a.x1
        upright = a.x0 == a.x1 and b.x0 == b.x1 and abs(a.x0 - b.x0) < 1 and a.y0 < b.y1 and b.y0 < a.y1
        if one != other and (level or upright):
            found.append(f"lines {one} and {other} lie on each other")
    return found


def label_boxes(placed: CircuitLayout) -> list[tuple[str, Box]]:
    return [(label.text, label.box) for label in placed.labels]


def written_boxes(placed: CircuitLayout) -> list[tuple[str, Box]]:
    """What the renderer measures for every line of text, in the layout's points."""
    ax = draw_circuit(placed)
    renderer = ax.figure.canvas.get_renderer()
    back = ax.transData.inverted()
    found = []
    for text in ax.texts:
        box = text.get_window_extent(renderer).transformed(back)
        found.append((text.get_text(), Box(box.x0, box.y0 + 0.15 * box.height, box.x1, box.y1 - 0.05 * box.height)))
    return found


@pytest.mark.parametrize("name", PLANTS)
def test_plants_are_drawn_without_a_clash(name: str) -> None:
    placed = circuit_layout(PLANTS[name](), title=f"{name} plant")
    assert clashes(placed, label_boxes(placed)) == []
    assert clashes(placed, written_boxes(placed)) == []


@pytest.mark.parametrize(("name", "order"), [
    ("oil", ["field", "charger", "store", "boiler", "turbine"]),
    ("air", ["field", "store", "boiler", "turbine"]),
    ("sand", ["receiver", "store", "boiler", "turbine"]),
])
def test_field_stands_left_store_in_the_middle_cycle_right(name: str, order: list[str]) -> None:
    boxes = {symbol.name: symbol.box for symbol in circuit_layout(PLANTS[name]()).symbols}
    assert [boxes[a].x1 < boxes[b].x0 for a, b in pairwise(order)] == [True] * (len(order) - 1)
    assert len({boxes[node].y0 for node in order}) == 1


def test_hot_lines_run_over_cold_ones_and_movers_face_the_flow() -> None:
    placed = circuit_layout(oil_circuit())
    hot = [line for line in placed.lines if line.points[-1][0] > line.points[0][0]]
    cold = [line for line in placed.lines if line not in hot]
    assert len(hot) == len(cold) == 4
    assert min(line.points[0][1] for line in hot) > max(line.points[0][1] for line in cold)
    facing = {symbol.name: symbol.facing for symbol in placed.symbols}
    assert (facing["oil_pump"], facing["salt_pump"], facing["hot_pump"], facing["store"]) == (-1, -1, 1, 0)


def test_every_title_text_and_medium_is_written() -> None:
    graph = oil_circuit()
    written = " ".join(label.text.replace("\n", " ") for label in circuit_layout(graph).labels)
    for _, data in graph.nodes(data=True):
        assert data["title"] in written
    for _, _, data in graph.edges(data=True):
        assert data["text"].replace("\n", " ") in written
    assert written.count("nitrate salt") == 2
    assert "diphenyl oxide oil" in written
    assert "water and steam" in written


@given(seed=st.integers(0, 10**6), nodes=st.integers(1, 30))
@settings(max_examples=40, deadline=None)
def test_any_circuit_is_drawn_without_a_clash(seed: int, nodes: int) -> None:
    graph = random_circuit(seed, nodes)
    placed = circuit_layout(graph, title="a circuit")
    assert clashes(placed, label_boxes(placed)) == []
    assert {symbol.name for symbol in placed.symbols} == set(graph)


def test_long_names_and_bare_nodes() -> None:
    graph = nx.MultiDiGraph()
    graph.add_edge("Wärmeträgerölumwälzpumpenantriebsmotorkühlung", 7)
    graph.add_edge(7, "Wärmeträgerölumwälzpumpenantriebsmotorkühlung", loop="a", medium="m" * 60, text="x" * 80)
    placed = circuit_layout(graph)
    assert clashes(placed, label_boxes(placed)) == []


def test_a_ring_of_pipes_still_has_a_symbol() -> None:
    graph = nx.MultiDiGraph()
    for node in "abc":
        graph.add_node(node, title=node, family="pipe")
    for a, b in ("ab", "bc", "ca"):
        graph.add_edge(a, b, loop="one", medium="air", text="")
    placed = circuit_layout(graph)
    assert sum(symbol.facing == 0 for symbol in placed.symbols) == 1
    assert clashes(placed, label_boxes(placed)) == []


def test_an_empty_circuit_is_refused() -> None:
    with pytest.raises(TopologyError, match="without components"):
        circuit_layout(nx.MultiDiGraph())


def test_loops_differ_in_colour_and_dashes() -> None:
    ax = draw_circuit(oil_circuit())
    looks = {}
    for line in ax.lines:
        gid = line.get_gid() or ""
        if gid.startswith("line:") and line.get_color() != "#ffffff":
            looks.setdefault(gid, set()).add((line.get_color(), str(line._unscaled_dash_pattern)))
    assert len(looks) == 4
    assert all(len(found) == 1 for found in looks.values())
    flat = [next(iter(found)) for found in looks.values()]
    assert len({colour for colour, _ in flat}) == 4
    assert len({dashes for _, dashes in flat}) == 4
