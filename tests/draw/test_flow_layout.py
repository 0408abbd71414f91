"""Energy-flow layout: balance is demanded, widths are to scale, and labels keep off each other and off ribbons."""

from __future__ import annotations

import random
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.path import Path
from matplotlib.transforms import Bbox

from loopnet.draw import EnergyFlow, FlowLayout, Link, draw_flow, layout_flow
from loopnet.draw.ribbon import ribbon_polygon
from loopnet.errors import ConvergenceError, ParameterError, TopologyError

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
@settings(max_examples=20, deadline=None)
def test_labels_keep_clear_in_any_flow(seed: int, nodes: int, losses: int, tiny: bool) -> None:
    placed = layout_flow(random_flow(seed, nodes, losses, tiny))
    assert clashes(placed, label_boxes(placed)) == []


@given(seed=st.integers(0, 10**6), nodes=st.integers(2, 8), losses=st.integers(2, 14))
@settings(max_examples=8, deadline=None)
def test_text_as_the_renderer_measures_it_keeps_clear(seed: int, nodes: int, losses: int) -> None:
    placed = layout_flow(random_flow(seed, nodes, losses, True))
    assert clashes(placed, written_boxes(placed)) == []


def oil_year() -> EnergyFlow:
    """A year of an oil plant with salt tanks; invented numbers."""
    rows = (
        ("sun on aperture", "absorbed", 298.5, "sun"), ("sun on aperture", "cosine and incidence", 78, "loss"),
        ("sun on aperture", "mirror and receiver optics", 109, "loss"), ("sun on aperture", "defocused", 21, "loss"),
        ("sun on aperture", "too little sun", 9, "loss"), ("sun on aperture", "field warm-up", 4.5, "loss"),
        ("absorbed", "receiver heat loss", 32, "loss"), ("absorbed", "hot header", 266.5, "heat"),
        ("hot header", "header heat loss", 6.2, "loss"), ("hot header", "collected heat", 260.3, "heat"),
        ("collected heat", "store", 150, "heat"), ("collected heat", "steam generator", 110.3, "heat"),
        ("store", "store wall loss", 1.9, "loss"), ("store", "change in store", 0.4, "store"),
        ("store", "steam generator", 147.7, "heat"), ("steam generator", "turbine", 258, "heat"),
        ("turbine", "condenser", 150, "loss"), ("turbine", "start-up heat", 6, "loss"),
        ("turbine", "generator loss", 2, "loss"), ("turbine", "gross electricity", 100, "electricity"),
        ("gross electricity", "pumps", 6.5, "electricity"), ("gross electricity", "fans", 0.02, "electricity"),
        ("gross electricity", "mirror drives", 1.1, "electricity"),
        ("gross electricity", "cooling fans", 3.1, "electricity"),
        ("gross electricity", "net electricity", 89.28, "electricity"),
    )
    return EnergyFlow(title="Oil loop with salt tanks (invented)", unit="GWh",
                      links=[Link(source=a, target=b, value=v, kind=k) for a, b, v, k in rows])


def test_a_plants_year_fits_the_page_it_was_given() -> None:
    placed = layout_flow(oil_year())
    assert (placed.width, placed.height) == (792.0, 432.0)
    assert min(label.size for label in placed.labels if label.role != "scale") >= 7.0
    assert clashes(placed, label_boxes(placed)) == []
    assert clashes(placed, written_boxes(placed)) == []


def test_sun_at_the_left_products_at_the_right_and_the_trunk_level() -> None:
    placed = layout_flow(oil_year())
    boxes = {node.name: node.box for node in placed.nodes}
    assert boxes["sun on aperture"].x0 == min(box.x0 for box in boxes.values())
    assert boxes["net electricity"].x1 == max(box.x1 for box in boxes.values())
    trunk = {("sun on aperture", "absorbed"), ("hot header", "collected heat"), ("turbine", "gross electricity"),
             ("gross electricity", "net electricity"), ("store", "steam generator")}
    for ribbon in placed.ribbons:
        if (ribbon.link.source, ribbon.link.target) in trunk:
            trunk.discard((ribbon.link.source, ribbon.link.target))
            assert len(ribbon.polygon) == 4
            assert len({round(float(y), 6) for y in ribbon.polygon[:, 1]}) == 2
    assert not trunk


def test_widths_are_to_scale_and_hairlines_say_so() -> None:
    placed = layout_flow(oil_year())
    for node in placed.nodes:
        assert node.box.y1 - node.box.y0 == pytest.approx(node.value * placed.scale, rel=1e-9)
    assert placed.scale_bar.box.y1 - placed.scale_bar.box.y0 == pytest.approx(placed.scale_bar.value * placed.scale)
    thin = [ribbon.link.target for ribbon in placed.ribbons if ribbon.hairline]
    assert thin == [link.target for link in oil_year().links if link.value * placed.scale < 0.8]
    assert {"change in store", "fans"} <= set(thin)
    for ribbon in placed.ribbons:
        assert ribbon.width == pytest.approx(ribbon.link.value * placed.scale)
        assert ribbon.hairline == (ribbon.width < 0.8)
        if not ribbon.drop and len(ribbon.polygon) == 4:
            assert float(np.ptp(ribbon.polygon[:, 1])) == pytest.approx(max(ribbon.width, 0.8))


@given(seed=st.integers(0, 10**6), nodes=st.integers(1, 8), losses=st.integers(0, 12))
@settings(max_examples=10, deadline=None)
def test_ribbons_fill_both_sides_of_each_node(seed: int, nodes: int, losses: int) -> None:
    placed = layout_flow(random_flow(seed, nodes, losses, False))
    for node in placed.nodes:
        for side in ("out", "in"):
            slots = []
            for ribbon in placed.ribbons:
                y = ribbon.polygon[:, 1]
                if side == "out" and ribbon.link.source == node.name:
                    ends = float(y[0]), float(y[-1])
                elif side == "in" and ribbon.link.target == node.name:
                    ends = float(y[len(y) // 2 - 1]), float(y[len(y) // 2])
                else:
                    continue
                middle, half = sum(ends) / 2, ribbon.width / 2
                assert abs(ends[0] - ends[1]) == pytest.approx(max(ribbon.width, 0.8))
                slots.append((middle + half, middle - half))
            slots.sort(reverse=True)
            if slots:
                edges = [node.box.y1, *(y for slot in slots for y in slot), node.box.y0]
                assert edges[0::2] == pytest.approx(edges[1::2], abs=0.8 if node.box.y1 - node.box.y0 < 0.81 else 1e-6)


def test_a_bent_ribbon_keeps_its_width_all_the_way() -> None:
    # computed by hand: a path of legs 40 and 60 with width 10 and inner radius 6 covers 100 * 10, less the corner:
    # two squares of 11 * 10 give way to a quarter ring pi/4 * (16^2 - 6^2)
    outline = ribbon_polygon([(0, 0), (40, 0), (40, -60)], 10.0, 6.0)
    x, y = outline[:, 0], outline[:, 1]
    area = 0.5 * abs(float(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1))))
    assert area == pytest.approx(1000 - 220 + np.pi / 4 * 220, rel=2e-3)


def test_every_loss_is_named_with_value_and_share() -> None:
    labels = {label.text: " ".join((*label.names, *label.values)) for label in layout_flow(oil_year()).labels}
    assert labels["condenser"].replace(",", "") == "condenser 150 GWh 29 %"
    assert labels["fans"].replace(",", "") == "fans 0.02 GWh < 0.1 %"
    assert set(oil_year().losses()) <= labels.keys()


@pytest.mark.parametrize("count", [1, 10, 20])
def test_many_losses_of_one_node(count: int) -> None:
    links = [Link(source="sun", target=f"loss number {k} of a field", value=10.0 ** -(k % 7), kind="loss")
             for k in range(count)]
    flow = EnergyFlow(title="losses", unit="MWh", links=[*links, Link(source="sun", target="user", value=5.0)])
    placed = layout_flow(flow)
    assert sum(label.role == "drop" for label in placed.labels) == count
    assert clashes(placed, label_boxes(placed)) == []
    assert placed.width <= 1.5 * 792


def test_a_second_user_and_grid_power() -> None:
    rows = (("sun", "absorber", 100, "sun"), ("absorber", "radiation", 20, "loss"), ("absorber", "air", 80, "heat"),
            ("grid", "air", 3, "electricity"), ("air", "kiln", 30, "heat"), ("air", "engine", 53, "heat"),
            ("engine", "reject", 33, "loss"), ("engine", "power", 20, "electricity"))
    flow = EnergyFlow(title="two users", unit="MWh", links=[Link(source=a, target=b, value=v, kind=k)
                                                            for a, b, v, k in rows])
    placed = layout_flow(flow)
    boxes = {node.name: node.box for node in placed.nodes}
    assert boxes["kiln"].x1 == boxes["power"].x1 == max(box.x1 for box in boxes.values())
    assert flow.sun == 100
    assert clashes(placed, label_boxes(placed)) == []
    first = EnergyFlow(title="", unit="", links=flow.links, products=("power",))
    assert {node.name for node in layout_flow(first).nodes} == boxes.keys() - {"kiln"}


def test_lumping_keeps_the_balance_and_only_small_losses() -> None:
    lumped = oil_year().lumped(0.02)
    lumped.check()
    assert lumped.sun == pytest.approx(oil_year().sun, rel=1e-12)
    assert sum(lumped.losses().values()) == pytest.approx(sum(oil_year().losses().values()), rel=1e-12)
    labels = {link.label for link in lumped.links} - {""}
    assert labels == {"other losses"}
    assert "defocused" in lumped.losses()
    assert "too little sun" not in lumped.losses()
    texts = [text.get_text() for text in draw_flow(oil_year(), lump_below=0.02).texts]
    assert texts.count("other losses") == 2


def test_an_unbalanced_node_is_named() -> None:
    links = [Link(source="sun", target="field", value=1.0, kind="sun"), Link(source="field", target="user", value=0.9)]
    with pytest.raises(ConvergenceError, match="balance") as caught:
        EnergyFlow(title="gap", unit="MWh", links=links).check()
    assert caught.value.where == "field"
    with pytest.raises(ConvergenceError):
        layout_flow(EnergyFlow(title="gap", unit="MWh", links=links))
    near = [links[0], Link(source="field", target="user", value=1.0 - 9e-7)]
    EnergyFlow(title="near", unit="MWh", links=near).check()
    with pytest.raises(ConvergenceError, match="balance"):
        EnergyFlow(title="off", links=[links[0], Link(source="field", target="user", value=1 - 2e-6)]).check()


def test_bad_flows_are_refused() -> None:
    a, b = Link(source="a", target="b", value=1.0), Link(source="b", target="a", value=1.0)
    with pytest.raises(TopologyError, match="circle"):
        EnergyFlow(links=(a, b)).check()
    with pytest.raises(TopologyError, match="without links"):
        EnergyFlow()
    with pytest.raises(TopologyError, match="product"):
        layout_flow(EnergyFlow(links=(a,), products=("c",)))
    with pytest.raises(TopologyError, match="itself"):
        Link(source="a", target="a", value=1.0)
    for value in (-1.0, float("nan"), float("inf")):
        with pytest.raises(ParameterError, match="finite"):
            Link(source="a", target="b", value=value)
    with pytest.raises(ParameterError, match="kind"):
        Link(source="a", target="b", value=1.0, kind="noise")
    with pytest.raises(ParameterError, match="no energy"):
        layout_flow(EnergyFlow(links=(Link(source="a", target="b", value=0.0),)))


def test_the_scale_bar_keeps_clear_of_the_first_label() -> None:
    for seed in (126, 0):  # in the first, the label of the sun once stood on the scale bar
        dice = random.Random(seed)
        placed = layout_flow(random_flow(seed, dice.randint(1, 10), dice.randint(0, 20), dice.random() < 0.5))
        bar = Bbox.from_extents(*placed.scale_bar.box)
        assert clashes(placed, [*label_boxes(placed), ("the bar", bar)]) == []
