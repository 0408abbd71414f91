"""The picture of an exploration: which dots, which line, and names that lie over nothing."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopnet.draw import Cloud, cloud, draw_pareto, save
from loopnet.draw.pareto import MARKS, OTHER, place_labels
from loopnet.draw.text import Box
from loopnet.explore import Candidate, Exploration, Pruning, Row

from ..explore.fake_judge import setting


def row(number, cost, firm, store="silos", product="electricity", **words):
    candidate = Candidate.of({"store": store, "x": float(number), **words})
    return Row(f"{number}.s", candidate, "s", {"product": product, "title": f"plant {number} with {store}",
                                               "full_supply": firm}, {"usd_per_kwh": cost, "capital_usd": 1e8})


def exploration(rows, **changes):
    made = Exploration(title="made", rows=tuple(rows), pruning=Pruning(1, 1, {}, {}), refused={}, search="factorial",
                       goal="cost", setting=setting())
    return replace(made, **changes)


ROWS = [row(1, 0.10, 0.4), row(2, 0.12, 0.6, "rock"), row(3, 0.11, 0.3), row(4, 0.20, 0.9), row(5, 0.05, 0.9,
                                                                                               product="heat")]


def test_dots_are_those_of_one_product_in_the_units_of_people():
    shown = cloud(exploration(ROWS))
    assert sorted((d.x, d.y, d.family, d.on_front) for d in shown.dots) == [
        (30.0, 11.0, "silos", False), (40.0, 10.0, "silos", True), (60.0, 12.0, "rock", True),
        (90.0, 20.0, "silos", True)]
    assert shown.families == ("rock", "silos")
    assert "4 plants that deliver electricity" in shown.title
    assert cloud(exploration(ROWS), product="heat").dots[0].y == 5.0


def test_the_line_is_no_better_than_any_plant_known():
    shown = cloud(exploration(ROWS))
    assert shown.staircase == ((40.0, 10.0), (40.0, 12.0), (60.0, 12.0), (60.0, 20.0), (90.0, 20.0))
    capital = cloud(exploration([replace(r, money={**r.money, "capital_usd": c}) for r, c in zip(
        ROWS, (3e6, 2e6, 5e6, 1e6, 1e6), strict=True)]), criteria=("cost", "capital"))
    assert capital.staircase == ((1.0, 20.0), (2.0, 20.0), (2.0, 12.0), (3.0, 12.0), (3.0, 10.0))


def test_what_lies_far_out_is_counted_and_not_drawn():
    many = [row(i, 0.10 + 0.002 * i, 0.4) for i in range(20)]
    shown = cloud(exploration([*many, row(99, 9.0, 0.3), row(98, 8.0, 0.95)]))
    assert shown.beyond == 1
    assert max(d.y for d in shown.dots) == 800.0  # on the front: drawn, wherever it lies


def test_rare_families_are_gathered():
    rows = [row(i, 0.1 + 0.001 * i, 0.4, store=f"store {i % 12}") for i in range(30)]
    shown = cloud(exploration(rows))
    assert len(shown.families) == len(MARKS)
    assert shown.families[-1] == OTHER
    assert {d.family for d in shown.dots} == set(shown.families)


@pytest.mark.law
@given(st.lists(st.tuples(st.floats(0, 400), st.floats(0, 300)), min_size=1, max_size=12))
def test_names_meet_neither_each_other_nor_a_dot_nor_the_edge(anchors):
    room, sizes = Box(0, 0, 400, 300), [(80.0, 20.0)] * len(anchors)
    dots = [Box(x - 2, y - 2, x + 2, y + 2) for x, y in anchors]
    boxes = [box for box in place_labels(anchors, sizes, room, dots) if box]
    for i, box in enumerate(boxes):
        assert not any(box.meets(other) for other in [*boxes[i + 1:], *dots])
        assert min(box.x0, box.y0, 400 - box.x1, 300 - box.y1) >= 0
    assert boxes or len(anchors) > 6


def names(ax):
    return {t.get_gid(): t for t in ax.texts if (t.get_gid() or "").startswith("label:")}


def test_the_best_is_named_in_bold_and_its_leader_ends_at_its_dot():
    ax = draw_pareto(exploration(ROWS))
    said = names(ax)
    assert said["label:plant 1 with silos"].get_weight() == "bold"
    assert {"label:plant 2 with rock", "label:plant 4 with silos"} <= set(said)
    leaders = [line for line in ax.lines if line.get_gid() != "front"]
    ends = {(round(float(x[0]), 6), round(float(y[0]), 6)) for x, y in (line.get_data() for line in leaders)}
    assert ends == {(40.0, 10.0), (60.0, 12.0), (90.0, 20.0)}
    low, high = ax.get_xlim()
    assert low < 30.0 < 90.0 < high


def test_a_name_is_never_read_as_markup(tmp_path: Path):
    odd = [replace(r, figures={**r.figures, "title": "$x_1$ <b> & \\frac"}) for r in ROWS]
    ax = draw_pareto(exploration(odd))
    assert all("$x_1$" in " ".join(t.get_text().split()) for t in names(ax).values())
    assert save(ax, tmp_path / "p.png").stat().st_size > 10_000


def test_no_plants_make_an_empty_picture(tmp_path: Path):
    shown = cloud(exploration([]))
    assert isinstance(shown, Cloud)
    assert shown.dots == ()
    save(draw_pareto(shown), tmp_path / "none.png")


def test_the_same_exploration_gives_the_same_bytes(tmp_path: Path):
    rng = np.random.default_rng(1)
    rows = [row(i, c, f, store=s) for i, (c, f, s) in enumerate(zip(
        rng.uniform(0.1, 0.3, 60), rng.uniform(0.2, 0.9, 60), rng.choice(["a", "b", "c"], 60), strict=True))]
    one, two = (save(draw_pareto(exploration(rows)), tmp_path / f"{i}.svg").read_bytes() for i in (1, 2))
    assert one == two
