"""Pictures of a year as they are painted: texts keep clear of each other and inside, files repeat."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from loopnet import draw
from loopnet.draw.year_page import round_numbers, unit_of
from loopnet.study.supply import SupplyCurve, SupplyPoint

from .made_years import made_year

LONG = "Made plant of a very long name that has to be broken, with a field on either side of the road and a store"
YEAR, HEAT, SHORT = made_year(title=LONG), made_year(electric=False), made_year(20)


def curve(name: str, up: float) -> SupplyCurve:
    points = tuple(SupplyPoint(h * 3600.0, up * h / (h + 9), 0.2, up * h / (h + 7), 1800.0 * h, 3000.0 * h, 4e5, 0.5)
                   for h in (4, 8, 16, 48))
    return SupplyCurve(name, name, "made sky", 8760.0, 0.8, points)


def bed(times: int) -> draw.BedProfiles:
    height, t = np.linspace(7.95, 0.05, 80), np.arange(times) * 1800.0
    return draw.BedProfiles(t, height, 300.0 + 500.0 / (1.0 + np.exp(4.0 - height + t[:, None] / 3e4)), "A made bed")


PICTURES: dict[str, Callable[[Axes | None], Axes]] = {
    "net": lambda ax: draw.draw_hour_map(YEAR, "net", ax),
    "store map": lambda ax: draw.draw_hour_map(YEAR, "store", ax),
    "hot": lambda ax: draw.draw_hour_map(YEAR, "hot", ax), "share": lambda ax: draw.draw_hour_map(SHORT, "load", ax),
    "modes": lambda ax: draw.draw_mode_map(YEAR, ax), "week": lambda ax: draw.draw_week(YEAR, ax=ax),
    "heat": lambda ax: draw.draw_week(HEAT, "06-01", ax, days=3), "store": lambda ax: draw.draw_store_days(YEAR, ax),
    "few days": lambda ax: draw.draw_store_days(SHORT, ax), "bed": lambda ax: draw.draw_bed_profiles(bed(40), ax),
    "lines": lambda ax: draw.draw_bed_profiles(bed(4), ax),
    "supply": lambda ax: draw.draw_supply([curve(LONG, 1.0), curve("another", 0.8), curve("third", 0.6)], ax),
    "one supply": lambda ax: draw.draw_supply(curve("one", 1.0), ax)}


def texts(ax: Axes) -> Iterator[tuple[str, object]]:
    """Every text of a picture with its box on the canvas."""
    canvas = ax.get_figure(root=True).canvas
    canvas.draw()
    renderer = canvas.get_renderer()
    for axes in (ax, *ax.child_axes):
        found = list(axes.texts)
        if axes is not ax:
            for axis, span in ((axes.xaxis, sorted(axes.get_xlim())), (axes.yaxis, sorted(axes.get_ylim()))):
                ticks = [*axis.get_major_ticks(), *axis.get_minor_ticks()]
                found += [label for t in ticks for label in (t.label1, t.label2)
                          if label.get_visible() and span[0] - 1e-9 <= t.get_loc() <= span[1] + 1e-9]
        for text in found:
            if text.get_text().strip():
                yield text.get_text(), text.get_window_extent(renderer)


@pytest.mark.parametrize("shared", [False, True])
@pytest.mark.parametrize("name", PICTURES)
def test_texts_keep_clear_and_inside(name: str, shared: bool) -> None:
    if shared:
        figure = Figure(figsize=(13, 5))
        FigureCanvasAgg(figure)
        given, other = figure.subplots(1, 2)
        ax = PICTURES[name](given)
        assert ax is given
        assert not other.child_axes
    else:
        ax = PICTURES[name](None)
    frame, boxes = ax.get_window_extent(), list(texts(ax))
    assert len(boxes) > 6
    for (one, a), (two, b) in combinations(boxes, 2):
        apart = a.x1 <= b.x0 + 0.5 or b.x1 <= a.x0 + 0.5 or a.y1 <= b.y0 + 0.5 or b.y1 <= a.y0 + 0.5
        assert apart, (one, two)
    for text, box in boxes:
        assert frame.x0 - 1 <= box.x0, text
        assert box.x1 <= frame.x1 + 1, text
        assert frame.y0 - 1 <= box.y0, text
        assert box.y1 <= frame.y1 + 1, text


@pytest.mark.parametrize("name", ["net", "modes", "week", "store", "bed", "supply"])
def test_files_repeat_byte_for_byte(name: str, tmp_path: Path) -> None:
    one = draw.save(PICTURES[name](None), tmp_path / "one.png", dpi=60).read_bytes()
    two = draw.save(PICTURES[name](None), tmp_path / "two.png", dpi=60).read_bytes()
    assert one == two
    assert len(one) > 5000


def test_curves_of_different_firm_levels_are_not_drawn_together() -> None:
    from dataclasses import replace

    from loopnet.errors import ParameterError

    for curves in ([curve("a", 1.0), replace(curve("b", 1.0), firm=0.5)], []):
        with pytest.raises(ParameterError, match="firm"):
            draw.draw_supply(curves)


@pytest.mark.parametrize(("least", "most"), [(0.0, 1.0), (-0.8, 22.3), (0.0, 1032.0), (300.0, 873.0), (0.0, 0.013)])
def test_round_numbers_are_few_and_inside(least: float, most: float) -> None:
    marks = round_numbers(least, most)
    assert 2 <= len(marks) <= 6
    assert least - 1e-9 <= marks[0]
    assert marks[-1] <= most + 1e-9
    steps = np.diff(marks)
    assert steps == pytest.approx(np.full(len(steps), steps[0]))


def test_units_fit_their_numbers() -> None:
    units = (("kW", 1e3), ("MW", 1e6))
    assert [unit_of(x, units)[0] for x in (0.0, 1.9e6, 2e6)] == ["kW", "kW", "MW"]
