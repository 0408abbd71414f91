"""Pictures of why and how sure: steps of a waterfall join, bars have the length of their cost, no texts collide."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from loopnet.draw import draw_beside, draw_chances, draw_tornado, draw_waterfall, save
from loopnet.draw.beside import layout_beside
from loopnet.draw.chances import cost_curves
from loopnet.draw.palette import lightness, rgb
from loopnet.draw.rows import COLOURS, Span, layout_rows
from loopnet.draw.tornado import layout_tornado
from loopnet.draw.waterfall import layout_waterfall
from loopnet.errors import ParameterError
from loopnet.study import Bridge, BridgeTerm, Reference, Surface, Tornado, Uncertain, Uncertainty
from loopnet.study.tornado import Sway


def term(name: str, usd: float) -> BridgeTerm:
    return BridgeTerm(name=name, kind="energy", usd_per_kwh=usd, first=0.5, second=0.6, unit="-")


BRIDGE = Bridge(first="oil", second="sand with a long name", start=0.14, end=0.105, product="electricity", terms=(
    term("optics", 0.01), term("cycle", -0.02), term("pumps, fans, lifts: capital", -0.0254), term("own use", 0.0004)))
THINGS = [Uncertain(name=f"thing {k}", path=f"thing.{k}", unit="USD/kW", low=1e3, likely=2e4, high=1.6e5)
          for k in range(20)]
TORNADO = Tornado(plant="sand", product="electricity", likely=0.1, sways=tuple(
    Sway(what=u, at_low=0.1 - 0.001 * (20 - k), at_high=0.1 + 0.002 * (20 - k)) for k, u in enumerate(THINGS)))
OTHERS = (Reference(name="solar cells by day", product="electricity", low=0.03, high=0.07, year=2024,
                    status="second-hand", source="somebody"),
          Reference(name="a single number", product="electricity", low=0.104, high=0.104, year=2025,
                    status="second-hand", source="somebody else"))


@pytest.fixture(scope="module")
def chances() -> Uncertainty:
    surfaces = tuple(Surface(plant=name, product="electricity", inputs=(), keys=(), logarithmic=np.zeros(1, bool),
                             coefficients=np.zeros((1, 1)), pairs=False, runs=1, error_rms=0.0, error_worst=0.0,
                             likely=0.1) for name in ("sand", "salt"))
    costs = np.random.default_rng(1).normal([[0.10], [0.12]], 0.01, (2, 4000))
    return Uncertainty(product="electricity", surfaces=surfaces, costs=costs, draws={"x": costs[0]}, ranges={},
                       shape="pert", seed=1, seconds=0.1)


def collisions(labels):
    return [(a.text, b.text) for a, b in combinations(labels, 2) if a.box.meets(b.box, -0.5)]


LAYOUTS = {"waterfall": layout_waterfall(BRIDGE), "tornado": layout_tornado(TORNADO),
           "beside": layout_beside({"sand": 0.105, "oil": 0.14}, OTHERS, "electricity")}


@pytest.mark.parametrize("name", LAYOUTS)
def test_texts_keep_clear_and_on_the_page(name):
    placed = LAYOUTS[name]
    assert collisions(placed.labels) == []
    for label in placed.labels:
        assert label.box.x0 >= 0
        assert label.box.y0 >= 0
        assert label.box.x1 <= placed.width
        assert label.box.y1 <= placed.height


def test_steps_of_a_waterfall_join_and_have_their_length():
    bars = [box for _, box, _ in LAYOUTS["waterfall"].bars]
    scale = (bars[0].x1 - bars[0].x0) / BRIDGE.start
    terms = list(BRIDGE.gathered(0.006 * 0.14).values())
    assert [b.x1 - b.x0 for b in bars[1:-1]] == pytest.approx([scale * abs(v) for v in terms])
    level = BRIDGE.start
    for bar, usd in zip(bars[1:-1], terms, strict=True):
        ends = sorted((level, level + usd))
        assert (bar.x0 - bars[0].x0, bar.x1 - bars[0].x0) == pytest.approx([scale * e for e in ends])
        level += usd
    assert bars[-1].x1 - bars[0].x0 == pytest.approx(scale * BRIDGE.end)
    assert [kind for _, _, kind in LAYOUTS["waterfall"].bars] == ["total", "strong", "less", "less", "strong", "total"]


def test_tornado_is_cut_and_says_so():
    placed = LAYOUTS["tornado"]
    assert len({name for name, _, _ in placed.bars}) == 15
    assert any("5 narrower ones" in label.text for label in placed.labels)
    wide = [max(b.x1 for n, b, _ in placed.bars if n == name) - min(b.x0 for n, b, _ in placed.bars if n == name)
            for name in dict.fromkeys(n for n, _, _ in placed.bars)]
    assert wide == sorted(wide, reverse=True)
    assert "1,000 to 160,000 USD/kW" in placed.bars[0][0]


def test_dearer_and_cheaper_differ_in_grey():
    light, dark = (lightness(rgb(COLOURS[kind])) for kind in ("strong", "less"))
    assert light - dark > 15.0


def test_rows_refuse_what_cannot_be_drawn():
    with pytest.raises(ParameterError, match="nothing to draw"):
        layout_rows([])
    with pytest.raises(ParameterError, match="finite"):
        layout_rows([Span("x", 0.0, float("nan"), "?")])


@pytest.mark.law
def test_curves_have_an_area_of_one_and_stand_where_the_draws_are(chances):
    curves = cost_curves(chances)
    assert [c.plant for c in curves] == ["sand", "salt"]
    for curve, middle in zip(curves, (0.10, 0.12), strict=True):
        assert np.trapezoid(curve.density, curve.grid) == pytest.approx(1.0, abs=5e-3)
        assert curve.grid[np.argmax(curve.density)] == pytest.approx(middle, abs=0.002)
        # a normal curve of this width is 39.9 high, and somewhat lower when smoothed
        assert 36.0 < curve.density.max() < 41.5


def test_pictures_are_written(chances, tmp_path):
    pictures = {"waterfall": draw_waterfall(BRIDGE), "tornado": draw_tornado(TORNADO, most=4),
                "beside": draw_beside({"sand": 0.105}, OTHERS, "electricity"), "chances": draw_chances(chances)}
    for name, axes in pictures.items():
        assert save(axes, tmp_path / f"{name}.png", dpi=60).stat().st_size > 3000
    texts = [t.get_text() for t in pictures["chances"].texts]
    assert f"{100 * chances.probability_first['sand']:.1f} % first" in texts
