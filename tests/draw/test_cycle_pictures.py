"""Pictures of cycles and exchangers: where words and points go, and what is drawn."""

from __future__ import annotations

from itertools import combinations
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from loopnet.draw import cycle_pictures, draw_cycle, draw_exchanges, save
from loopnet.draw.cycle_entropy import layout_cycle
from loopnet.draw.cycle_heat import layout_exchange, panels_of
from loopnet.draw.cycle_labels import Frame, Places
from loopnet.draw.text import Box
from loopnet.errors import SpecificationError
from loopnet.plant import Cycle, CyclePath, CycleState, HeatCurve, HeatExchange
from loopnet.plants import find_plant
from loopnet.site import tamarisk_basin
from loopnet.solve import size
from loopnet.study.cycles import cycles_of, exchanges_of, hour_frame

ENDS = np.array([0.0, 1.0])


@pytest.fixture(scope="module")
def towers():
    return {name: size(find_plant(name)) for name in ("salt_tower", "dish_oil")}


def made_cycle(states):
    """A cycle through given states (s, T), with one kind of way all round."""
    rows = tuple(CycleState(f"state {i}", 1e5 * (i + 1), T, 1e6, s, np.nan, 1.0) for i, (s, T) in enumerate(states))
    ways = tuple(CyclePath("way", "work", np.array([a.s, b.s]), np.array([a.T, b.T]))
                 for a, b in zip(rows, (*rows[1:], rows[0]), strict=True))
    return Cycle("engine", "made", "nothing", rows, ways)


def test_numbers_keep_off_one_another(towers):
    for sized in towers.values():
        made = layout_cycle(cycles_of(sized)[0])
        assert not any(a.box.meets(b.box) for a, b in combinations(made.marks, 2))
        inside = made.frame.box
        for mark in made.marks:
            assert mark.box.x0 >= inside.x0
            assert mark.box.x1 <= inside.x1
            assert mark.box.y0 >= inside.y0
        told = [int(number) for mark in made.marks for number in mark.text.split(", ")]
        assert sorted(told) == list(range(1, len(made.cycle.states) + 1))


def test_states_on_one_another_share_a_mark():
    made = layout_cycle(made_cycle([(1000.0, 300.0), (1000.0, 300.001), (2000.0, 500.0), (3000.0, 300.0)]))
    assert [mark.text for mark in made.marks] == ["1, 2", "3", "4"]


def test_many_states_in_a_heap_are_still_told_apart():
    rng = np.random.default_rng(3)
    heap = [(1000.0 + 60.0 * x, 400.0 + 12.0 * y) for x, y in rng.uniform(0, 1, (18, 2))] + [(3000.0, 700.0)]
    made = layout_cycle(made_cycle(heap))
    assert not any(a.box.meets(b.box) for a, b in combinations(made.marks, 2))


def test_table_beside_the_diagram_leaves_out_what_tells_nothing(towers):
    steam = layout_cycle(cycles_of(towers["salt_tower"])[0])
    assert [head for head, _, _ in steam.columns] == ["", "state", "bar", "degC", "vapour", "flow"]
    assert steam.rows[0][:4] == ("1", "main steam", "110", "540")
    gas = layout_cycle(made_cycle([(1000.0, 300.0), (2000.0, 500.0), (1500.0, 400.0)]))
    assert [head for head, _, _ in gas.columns] == ["", "state", "bar", "degC"]
    assert steam.frame.box.x1 < min(x for _, x, _ in steam.columns)


def test_frame_and_trace():
    frame = Frame(Box(10.0, 20.0, 110.0, 70.0), (0.0, 2.0), (0.0, 100.0))
    assert frame.at(1.0, 50.0).tolist() == [60.0, 45.0]
    line = frame.trace(np.array([0.0, 2.0]), np.array([0.0, 0.0]), pitch=4.0)
    assert np.diff(line[:, 0]).max() <= 4.2
    assert line[-1].tolist() == [110.0, 20.0]


def test_words_take_the_free_side_of_a_line():
    line = Frame(Box(0, 0, 200, 200), (0.0, 1.0), (0.0, 1.0)).trace(np.array([0.0, 1.0]), np.array([0.0, 1.0]))
    places = Places(Box(0, 0, 200, 200), line)
    box = places.settle((100.0, 100.0), 30.0, 10.0)
    assert not np.any((line[:, 0] > box.x0) & (line[:, 0] < box.x1) & (line[:, 1] > box.y0) & (line[:, 1] < box.y1))
    assert not box.meets(places.settle((100.0, 100.0), 30.0, 10.0))


def test_words_find_room_on_a_crowded_page():
    places = Places(Box(0, 0, 200, 100), taken=[Box(0, 0, 200, 80)])
    assert places.settle((100.0, 5.0), 40.0, 10.0).y0 >= 80.0


@pytest.mark.parametrize("name", ["salt_tower", "dish_oil"])
def test_panels_of_a_plant(towers, name):
    panels = panels_of(exchanges_of(towers[name]), 740.0, 330.0)
    for panel in panels:
        boxes = [mark.box for mark in panel.marks] + [box for _, _, box in panel.names]
        assert not any(a.meets(b) for a, b in combinations(boxes, 2))
        assert sum(mark.least for mark in panel.marks) == 1
        assert {n for n, _, _ in panel.names} >= {c.name for c in panel.exchange.cold}
    frames = [panel.frame.box for panel in panels]
    assert not any(a.meets(b) for a, b in combinations(frames, 2))


def test_pinch_is_drawn_where_it_is():
    exchange = HeatExchange("boiler", "steam generator", 2e6, ENDS, np.array([420.0, 620.0]), (
        HeatCurve("water", np.array([0.0, 0.25]), np.array([330.0, 460.0])),
        HeatCurve("steam", np.array([0.25, 1.0]), np.array([460.0, 460.0]))), "oil")
    panel = layout_exchange(exchange, Box(0.0, 0.0, 300.0, 200.0))
    (mark,) = (mark for mark in panel.marks if mark.least)  # one place, one difference: one mark
    assert mark.text == "pinch 10.0 K\nwater and steam, at 25 %"
    assert mark.low[0] == mark.high[0] == pytest.approx(300.0 * 0.25, rel=2e-3)
    (y0, y1), top = panel.frame.y, mark.high[1] - mark.low[1]
    assert top == pytest.approx(10.0 / (y1 - y0) * 200.0)


def test_nothing_to_draw_is_said():
    with pytest.raises(SpecificationError, match="no exchanger to draw"):
        draw_exchanges([])


def test_pictures_repeat_byte_for_byte(towers, tmp_path):
    pictures = cycle_pictures(towers["salt_tower"])
    assert list(pictures) == ["cycle", "exchangers"]
    for name, draw in pictures.items():
        files = [save(draw(), tmp_path / f"{name}{i}.png", dpi=60).read_bytes() for i in range(2)]
        assert files[0] == files[1]


def test_drawn_texts_are_those_laid_out(towers):
    cycle = cycles_of(towers["dish_oil"])[0]
    ax = draw_cycle(cycle)
    words = {text.get_text() for text in ax.texts}
    assert {"1", "main steam", "hot reheat", "371"} <= words
    ax = draw_exchanges(exchanges_of(towers["dish_oil"]))
    words = {text.get_text() for text in ax.texts}
    assert {"pinch 6.0 K", "economiser", "reheater", "charger: exchanger, 173 MW"} <= words


def test_an_hour_of_a_year_has_its_own_cycle(towers):
    """Half load on a cold day: less pressure, a cooler condenser; a night without load has none."""
    sized, sky = towers["salt_tower"], tamarisk_basin()
    day = sky.slice(0.0, 24.0)
    hot = float(sized.values[sized.frame.links["tanks"].sides["discharge"][1].h])
    year = SimpleNamespace(hourly=pd.DataFrame({"load": [0.5, 0.0], "generating": [1.0, 0.0], "hot": [hot, hot]}))
    (cycle,) = cycles_of(hour_frame(sized, day, year, 0), sized.plant)
    design = cycles_of(sized)[0]
    assert cycle.states[0].p == pytest.approx(0.5 * design.states[0].p, rel=0.03)
    assert cycle.states[8].T < design.states[8].T
    with pytest.raises(SpecificationError, match="no cycle to look at"):
        hour_frame(sized, day, year, 1)
