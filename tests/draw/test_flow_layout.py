"""Energy-flow layout: balance is demanded, widths are to scale, and labels keep off each other and off ribbons."""

from __future__ import annotations

import random
from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.path import Path
from matplotlib.transforms import Bbox

from loopnet.draw import EnergyFlow, FlowLayout, Link, draw_flow, layout_flow

WORDS = ("receiver", "heat", "loss", "of", "the", "mirror", "store", "wall", "cooling", "fan", "incidence", "start-up",
         "reheater", "Wärmeträgerölpumpenantrieb", "x")


def random_flow(seed: int, nodes: int, losses: int, tiny: bool) -> EnergyFlow:
    """A balanced flow: a graph of `nodes` inner nodes with branches, several sources, and `losses` losses."""
    dice = random.Random(seed)

    def name(number: int) -> str:
        return " ".join(dice.choice(WORDS) for _ in range(dice.randint(1, 6))) + f" {number}"

    names = [name(k) for k in range(nodes)]
    stock = [0.0] * nodes
    links: list[Link] = []

    def add(source: str, target: str, value: float, kind: str) -> float:
        links.append(Link(source=source, target=target, value=value, kind=kind))
        return value

    stock[0] = add("sun", names[0], 10 ** dice.uniform(-2, 5), "sun")
    for k in range(1, nodes):
        if dice.random() < 0.15:
            stock[k] += add(f"grid {k}", names[k], stock[0] * dice.uniform(0.001, 0.3), "electricity")
    left = losses
    for k in range(nodes):
        here = min(left, dice.randint(0, 3)) if k < nodes - 1 else left
        left -= here
        for j in range(here):
            share = dice.choice((1e-6, 1e-3, 0.3)) if tiny else dice.uniform(0.01, 0.2)
            stock[k] -= add(names[k], f"{name(j)} {k}", stock[k] * share, dice.choice(("loss", "loss", "store")))
        if k == nodes - 1:
            add(names[k], "net electricity", stock[k], "electricity")
            continue
        heirs = [k + 1]
        if k + 2 < nodes and dice.random() < 0.3:
            heirs.append(dice.randint(k + 2, nodes - 1))
        if dice.random() < 0.1:
            stock[k] -= add(names[k], f"user {k}", stock[k] * dice.uniform(0.05, 0.5), "heat")
        parts = [dice.uniform(0.2, 1.0) for _ in heirs]
        for heir, part in zip(heirs, parts, strict=True):
            stock[heir] += add(names[k], names[heir], stock[k] * part / sum(parts), "heat")
    return EnergyFlow(title="a random flow", unit="GWh", links=links)


def clashes(placed: FlowLayout, boxes: list[tuple[str, Bbox]]) -> list[str]:
    """Which text boxes, given in the layout's points, meet each other, a ribbon or a node."""
    found = [f"{a} on {b}" for (a, box), (b, other) in combinations(boxes, 2)
             if box.x0 < other.x1 and other.x0 < box.x1 and box.y0 < other.y1 and other.y0 < box.y1]
    paths = [(f"ribbon {r.link.source} > {r.link.target}", Path(r.polygon, closed=False)) for r in placed.ribbons]
    paths += [(f"node {n.name}", Path([n.box[:2], (n.box[2], n.box[1]), n.box[2:], (n.box[0], n.box[3])]))
              for n in placed.nodes]
    found += [f"{name} on {what}" for name, box in boxes for what, path in paths if path.intersects_bbox(box, True)]
    found += [f"{name} on a pole" for name, box in boxes for x, y0, _, y1 in placed.leaders
              if box.x0 < x < box.x1 and box.y0 < y1 and y0 < box.y1]
    found += [f"{name} off the page" for name, box in boxes
              if box.x0 < 0 or box.y0 < 0 or box.x1 > placed.width or box.y1 > placed.height]
    return found


def label_boxes(placed: FlowLayout) -> list[tuple[str, Bbox]]:
    return [(label.text, Bbox.from_extents(*label.box)) for label in placed.labels]


def written_boxes(placed: FlowLayout) -> list[tuple[str, Bbox]]:
    """What the renderer measures, joined line by line into labels, in the layout's points."""
    ax = draw_flow(placed, size=(placed.width / 72, placed.height / 72))
    renderer = ax.figure.canvas.get_renderer()
    back = ax.transData.inverted()
    joined: dict[tuple[str, int], Bbox] = {}
    texts = iter(ax.texts)
    for number, label in enumerate(placed.labels):
        for _ in (*label.names, *label.values):
            box = next(texts).get_window_extent(renderer).transformed(back)
            key = (label.text, number)
            joined[key] = Bbox.union([joined[key], box]) if key in joined else box
    assert next(texts, None) is None
    return [(text, box) for (text, _), box in joined.items()]


@given(seed=st.integers(0, 10**6), nodes=st.integers(1, 10), losses=st.integers(0, 20), tiny=st.booleans())
@settings(max_examples=40, deadline=None)
def test_labels_keep_clear_in_any_flow(seed: int, nodes: int, losses: int, tiny: bool) -> None:
    placed = layout_flow(random_flow(seed, nodes, losses, tiny))
    assert clashes(placed, label_boxes(placed)) == []


@given(seed=st.integers(0, 10**6), nodes=st.integers(2, 8), losses=st.integers(2, 14))
@settings(max_examples=8, deadline=None)
def test_text_as_the_renderer_measures_it_keeps_clear(seed: int, nodes: int, losses: int) -> None:
    placed = layout_flow(random_flow(seed, nodes, losses, True))
    assert clashes(placed, written_boxes(placed)) == []
