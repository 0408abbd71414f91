"""Pictures for a page: plain attributes, ids of their own, and colours that can be read on dark paper."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

from loopnet.draw import EnergyFlow, Link, draw_cost_bars, draw_flow
from loopnet.draw.palette import INK, KINDS, LOOPS, MUTED, PAPER, rgb
from loopnet.page.svg import dark_colour, dark_rules, svg_of

ROWS = {"<b>oil</b> & $x$": {"field": 0.06, "store": 0.03, "credit": -0.01}}


def contrast(one: str, two: str) -> float:
    """(L1 + 0.05) / (L2 + 0.05) of relative luminances: WCAG 2.1, "contrast ratio"; from memory."""
    def luminance(colour: str) -> float:
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in rgb(colour)]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    low, high = sorted((luminance(one), luminance(two)))
    return (high + 0.05) / (low + 0.05)


def variables(css: str) -> tuple[dict[str, str], dict[str, str]]:
    light, dark = (dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", block)) for block in re.findall(
        r":root \{(.*?)\}", css, re.DOTALL)[:2])
    return light, dark


CSS = (files("loopnet.page") / "data" / "report.css").read_text(encoding="utf-8")


def test_a_picture_is_plain():
    text = svg_of(draw_cost_bars(ROWS), "a1", "Costs of <b>", "what & why")
    assert "style=" not in text
    assert "<style" not in text
    assert "xlink" not in text
    assert '<title id="a1-title">Costs of &lt;b&gt;</title><desc id="a1-desc">what &amp; why</desc>' in text
    assert "&lt;b&gt;oil&lt;/b&gt; &amp; $x$" in text
    assert set(re.findall(r' id="([\w-]+)"', text)) >= {"a1-title", "a1-desc"}
    assert all(i.startswith("a1-") for i in re.findall(r' id="([\w-]+)"', text))
    assert set(re.findall(r"#(a1[\w-]+)", text)) == set(re.findall(r' id="([\w-]+)"', text)) - {
        "a1-title", "a1-desc"}


def test_two_pictures_share_no_id():
    first, second = (svg_of(draw_cost_bars(ROWS), name, "t", "d") for name in ("a", "b"))
    assert set(re.findall(r' id="([\w-]+)"', first)).isdisjoint(re.findall(r' id="([\w-]+)"', second))
    assert first == svg_of(draw_cost_bars(ROWS), "a", "t", "d")


@pytest.mark.filterwarnings("ignore:Glyph")
def test_control_characters_do_not_break_it():
    text = svg_of(draw_cost_bars({"oil\x1b": {"field": 0.06}}), "a", "t\x00", "d")
    assert "oil\ufffd" in text


def test_hatches_are_light():
    flow = EnergyFlow(title="a dish", unit="kWh", links=(
        Link(source="sun", target="air", value=10.0, kind="sun"), Link(source="air", target="kept", value=2.5,
                                                                       kind="store"),
        Link(source="air", target="hot air", value=7.5, kind="heat")))
    text = svg_of(draw_flow(flow), "a", "t", "d")
    assert "<pattern" in text
    assert len(text) < 30_000


@pytest.mark.book
def test_text_can_be_read_in_light_and_dark():
    # WCAG 2.1, success criterion 1.4.3 (AA): 4.5 for text, 3 for large text and (1.4.11) parts of pictures; from memory
    light, dark = variables(CSS)
    assert set(light) == set(dark)
    for colours in (light, dark):
        for name in ("ink", "quiet", "accent"):
            for under in ("paper", "tint"):
                assert contrast(colours[name], colours[under]) >= 4.5, (name, under)
    for colour in (INK, MUTED):
        assert contrast(colour, light["paper"]) >= 4.5
        assert contrast(dark_colour(colour), dark["paper"]) >= 4.5
    for colour, _ in LOOPS:
        assert contrast(dark_colour(colour), dark["paper"]) >= 3.0, colour
    for kind in ("sun", "heat", "electricity", "store"):
        assert contrast(dark_colour(KINDS[kind]), dark["paper"]) >= 3.0, kind


def test_paper_of_pictures_is_that_of_the_page():
    light, dark = variables(CSS)
    assert light["paper"] == PAPER
    assert dark["paper"] == dark_colour(PAPER)


def test_every_colour_has_a_counterpart():
    rules = dark_rules([svg_of(draw_cost_bars(ROWS), "a", "t", "d")])
    assert f'svg [fill="{INK}"]{{fill:{dark_colour(INK)}}}' in rules
    assert rules == "\n".join(sorted(set(rules.splitlines())))
