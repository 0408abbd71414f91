"""Cost bars, axes given or made, files that repeat, and an import that costs nothing."""

from __future__ import annotations

import subprocess
import sys
from itertools import combinations
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from loopnet import draw
from loopnet.draw.costs import layout_cost_bars
from loopnet.errors import ParameterError

ROWS = {  # USD/kWh, invented
    "oil loop with salt tanks": {"mirrors": 0.041, "steam cycle": 0.022, "salt store": 0.014, "pumps": 0.0012},
    "falling sand": {"mirrors": 0.038, "steam cycle": 0.043, "lift": 0.002, "heat sold": -0.006},
}
FLOW = draw.EnergyFlow(title="a dish", unit="kWh", links=(
    draw.Link(source="sun", target="receiver", value=10.0, kind="sun"),
    draw.Link(source="receiver", target="hot air", value=7.5, kind="heat"),
    draw.Link(source="receiver", target="radiation", value=2.5, kind="loss")))


def two_nodes() -> nx.MultiDiGraph:
    graph = nx.MultiDiGraph()
    graph.add_node("field", title="field", family="field")
    graph.add_node("user", title="kiln", family="user")
    graph.add_edge("field", "user", loop="air", medium="air", text="480 degC")
    graph.add_edge("user", "field", loop="air", medium="air", text="80 degC")
    return graph


def picture(name: str, ax: Axes | None = None) -> Axes:
    if name == "flow":
        return draw.draw_flow(FLOW, ax)
    return draw.draw_circuit(two_nodes(), ax) if name == "circuit" else draw.draw_cost_bars(ROWS, ax)


def test_bars_are_to_scale_and_their_largest_term_stands_out() -> None:
    placed = layout_cost_bars(ROWS)
    scales = {abs(s.value) / (s.box.x1 - s.box.x0) for s in placed.segments}
    assert max(scales) == pytest.approx(min(scales), rel=1e-9)
    assert [(s.plant, s.term) for s in placed.segments if s.largest] == [
        ("oil loop with salt tanks", "mirrors"), ("falling sand", "steam cycle")]
    credit, = (s for s in placed.segments if s.value < 0)
    assert credit.box.x1 == pytest.approx(min(s.box.x0 for s in placed.segments if s.value > 0))
    texts = [" ".join((*label.names, *label.values)) for label in placed.labels]
    assert {"7.8 ct/kWh", "7.7 ct/kWh", "mirrors 4.1", "steam cycle 4.3", "lift 0.20", "heat sold -0.60"} <= set(texts)


@given(terms=st.lists(st.lists(st.floats(0.0, 0.1), min_size=1, max_size=14), min_size=1, max_size=5))
@settings(max_examples=25, deadline=None)
def test_cost_labels_keep_clear_of_each_other(terms: list[list[float]]) -> None:
    rows = [(f"plant number {k}", {f"component {j}": value for j, value in enumerate(row)})
            for k, row in enumerate(terms)]
    placed = layout_cost_bars(rows, title="cost")
    for a, b in combinations(placed.labels, 2):
        assert not a.box.meets(b.box), (a.text, b.text)
    for label in placed.labels:
        assert min(label.box) >= 0
        assert label.box.x1 <= placed.width
        assert label.box.y1 <= placed.height
        for x, y0, y1 in placed.poles:
            assert not (label.box.x0 < x < label.box.x1 and label.box.y0 < y1 and y0 < label.box.y1)
    assert sum(label.role in ("segment", "drop") for label in placed.labels) == sum(map(len, terms))


@pytest.mark.parametrize("rows", [{}, {"a": {}}, {"a": {"x": float("nan")}}])
def test_bad_cost_rows_are_refused(rows: dict[str, dict[str, float]]) -> None:
    with pytest.raises(ParameterError):
        layout_cost_bars(rows)


@pytest.mark.parametrize("name", ["flow", "circuit", "costs"])
def test_axes_are_returned_and_given_axes_are_used(name: str) -> None:
    figure = Figure(figsize=(12, 5))
    FigureCanvasAgg(figure)
    left, right = figure.subplots(1, 2)
    assert picture(name, left) is left
    assert left.texts
    assert not right.texts
    figure.canvas.draw()
    frame, renderer = left.get_window_extent(), figure.canvas.get_renderer()
    for text in left.texts:
        box = text.get_window_extent(renderer)
        assert frame.x0 - 1 <= box.x0
        assert box.x1 <= frame.x1 + 1
        assert frame.y0 - 1 <= box.y0
        assert box.y1 <= frame.y1 + 1
    own = picture(name)
    assert own.figure is not figure


@pytest.mark.parametrize("name", ["flow", "circuit", "costs"])
@pytest.mark.parametrize("ending", ["png", "svg"])
def test_files_repeat_byte_for_byte(name: str, ending: str, tmp_path: Path) -> None:
    one = draw.save(picture(name), tmp_path / f"one.{ending}").read_bytes()
    two = draw.save(picture(name).figure, tmp_path / f"two.{ending}").read_bytes()
    assert one == two
    assert len(one) > 2000
    for word in (b"Matplotlib v", b"dc:date", b"Software"):
        assert word not in one


def test_an_unknown_ending_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ParameterError, match="format"):
        draw.save(picture("flow"), tmp_path / "flow.gif")


def test_importing_the_room_imports_no_plotting() -> None:
    code = ("import sys, loopnet.draw; assert 'matplotlib' not in sys.modules; "
            "loopnet.draw.draw_flow; assert 'matplotlib' in sys.modules; assert 'matplotlib.pyplot' not in sys.modules")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    with pytest.raises(AttributeError):
        draw.nothing_of_this_name  # noqa: B018
