"""What notebooks show: every name is escaped, pictures are inline and small, nothing is slow, nothing is fetched."""

from __future__ import annotations

import ast
import re
from dataclasses import fields
from html.parser import HTMLParser
from pathlib import Path
from time import process_time
from typing import Any

import pytest

import loopnet.money as money
from architectures.sand_silo import build
from loopnet.draw.figure import new_axes
from loopnet.draw.inline import inline_svg
from loopnet.notebook import WRITERS, html
from loopnet.notebook.pieces import columns, table, warn
from loopnet.notebook.plants import chosen, sizes
from loopnet.notebook.years import months
from loopnet.plant import Plant
from loopnet.site import tamarisk_basin
from loopnet.study import (
    Assessment,
    Case,
    Ranking,
    SupplyCurve,
    assess,
    break_even,
    bridge,
    diff,
    fit_surfaces,
    tornado,
    uncertainty,
)
from loopnet.study.supply import SupplyPoint

ROOT = Path(__file__).parents[2]
EVIL = '<script>alert("x")</script>&'
VOID = {"br", "hr", "img"}


@pytest.fixture(scope="module")
def assessed() -> Assessment:
    """The sand plant under a name and a title that are no names, in a year."""
    plant = build()
    plant.name, plant.title = EVIL, EVIL
    return assess(plant, tamarisk_basin())


@pytest.fixture(scope="module")
def results(assessed: Assessment) -> dict[str, Any]:
    return {"Plant": assessed.plant, "Sized": assessed.sized, "Year": assessed.year, "Bill": assessed.bill,
            "LevelisedCost": assessed.cost, "Assessment": assessed, "Ranking": Ranking(EVIL, (assessed,)),
            "Difference": diff(assessed, assessed), **answers(assessed)}


def answers(assessed: Assessment) -> dict[str, Any]:
    """What can be asked about it without another year, apart from a made curve of supply."""
    weather = tamarisk_basin()
    case, other = Case.of(assessed, weather), Case.of(assessed, weather, finance=money.Finance(rate=0.05))
    point = {item.name: 1.0 for item in fields(SupplyPoint)}
    return {"Bridge": bridge(assessed, other.assessment), "Tornado": tornado(case),
            "Uncertainty": uncertainty([case], fit_surfaces([case], only=()), samples=200),
            "BreakEven": break_even(case, "mirrors", tie=other),
            "CashFlow": money.cash_flow(assessed.cost, electricity=0.12),
            "SupplyCurve": SupplyCurve(EVIL, EVIL, "made", 8760.0, 0.8, tuple(
                SupplyPoint(**{**point, "store": 3600.0 * hours, "full": 0.1 * hours}) for hours in (2, 4, 6)))}


class Reader(HTMLParser):
    """Tags in order, whether they nest, and the text that a reader sees."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.open: list[str] = []
        self.text = ""
        self.attributes: list[tuple[str, str | None]] = []

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: Any) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] != "style":
            self.text += data


def read(text: str) -> Reader:
    reader = Reader()
    reader.feed(text)
    reader.close()
    assert reader.open == []
    return reader


@pytest.mark.parametrize("kind", sorted(WRITERS))
def test_a_name_is_shown_and_not_run(results, kind):
    shown = results[kind]._repr_html_()
    assert shown == html(results[kind])
    found = read(shown)
    assert "script" not in found.tags
    assert not [name for name, _ in found.attributes if name.startswith("on")]
    if kind not in ("Bill", "LevelisedCost", "CashFlow"):  # these do not name their plant
        assert EVIL in found.text


@pytest.mark.parametrize("kind", sorted(WRITERS))
def test_nothing_is_fetched(results, kind):
    shown = html(results[kind])
    assert re.findall(r'(?:src|href|url\()=?["\']?(?!#)(https?:|//|data:)', shown) == []


@pytest.mark.parametrize("kind", sorted(WRITERS))
def test_it_is_quick_and_light(results, kind):
    """100 kB and 0.3 s of a processor that nobody shares, so that a notebook of fifty results still opens. The least of
    three, and twice that, as others may be at work."""
    html(results[kind])  # imports are paid once
    took = []
    for _ in range(3):
        start = process_time()
        shown = html(results[kind])
        took.append(process_time() - start)
    assert min(took) < 0.6
    assert len(shown) < 100_000


def test_who_asks_to_be_shown_has_a_writer():
    """And who has a writer asks: read from the source, as importing every module takes long."""
    asking = {node.name for path in (ROOT / "loopnet").rglob("*.py") for node in ast.parse(path.read_text()).body
              if isinstance(node, ast.ClassDef) and "return shown(self)" in ast.unparse(node)}
    assert asking == set(WRITERS)


def test_figures_are_those_of_the_results(results, assessed):
    year = read(html(assessed.year))
    assert f"{assessed.year.net / 1e6:.4g} GWh of electricity" in year.text
    assert sum(months(assessed.year).values()) * 3.6e6 == pytest.approx(
        float(assessed.year.hourly["delivered"].sum()) * assessed.year.step)
    assert len(re.findall("<rect", html(assessed.year))) == 12
    cost = f"{100 * assessed.cost.usd_per_kwh:.2f}"
    for kind in ("LevelisedCost", "Assessment", "Ranking"):
        assert cost in read(html(results[kind])).text, kind
    assert "costs 0.00 ct/kWh more" in read(html(results["Difference"])).text
    streams = read(html(assessed.sized)).text
    assert "600.0" in streams
    assert "Mass and energy close" in streams
    assert {name for name, *_ in sizes(assessed.sized)} == {"field", "silos", "boiler", "turbine"}


def test_losses_of_the_year_add_up_to_the_sun(assessed):
    shown = html(assessed.year)
    rows = re.findall(r"<td class=l>([^<]*)</td><td>([^<]*)</td><td><span[^>]*></span>(-?[\d.]+) %", shown)
    assert len(rows) > 15
    assert sum(float(share) for _, _, share in rows) == pytest.approx(100.0, abs=0.05 * len(rows))


def test_circuit_names_what_it_shows(assessed):
    for what in (assessed.plant, assessed.sized):
        shown = html(what)
        assert shown.count("<svg") == 1
        assert "loops sand (quartz sand), steam (water)" in shown


def test_cautions_are_there(results):
    for kind in ("Plant", "Sized", "Assessment"):
        assert "local codes and licensed practice decide" in read(html(results[kind])).text.lower(), kind


def test_a_plant_that_is_not_drawn_yet_is_shown():
    assert "Nothing is drawn yet" in html(Plant("empty"))


def test_parameters_at_their_defaults_are_not_told(assessed):
    assert chosen(assessed.plant.components["turbine"]) == ["heaters 5"]  # 100 bar is the default, given as text
    assert "height 140 m" in chosen(assessed.plant.components["lift"])


def test_other_kinds_are_refused():
    with pytest.raises(TypeError, match="WRITERS"):
        html(3)


# -- pieces ------------------------------------------------------------------------------------------------------------


def test_pictures_have_ids_of_their_own():
    """Two pictures on one page: no id of one is that of the other, and all that is referred to is there."""
    def ids(text: str) -> set[str]:
        wanted = set(re.findall(r'(?:url\(#|href="#)([^)"]+)', text))
        has = set(re.findall(r' id="([^"]+)"', text))
        assert wanted == has
        return has

    one, two = new_axes(2.0, 2.0), new_axes(2.0, 2.0)
    one.text(0.5, 0.5, "one")
    two.text(0.5, 0.5, "two")
    first, second = inline_svg(one, "one"), inline_svg(two, "two")
    assert ids(first)
    assert not ids(first) & ids(second)
    assert first == inline_svg(one, "one")
    assert "<!--" not in first
    assert "<?xml" not in first


def test_numbers_of_a_picture_are_rounded_only_where_they_are_places():
    """A scale that is rounded changes the size of letters."""
    picture = new_axes(3.0, 1.0)
    for place, size in enumerate((5.7, 7.3, 9.1)):
        picture.text(0.1, 0.3 * place, "loop", fontsize=size)
    shown = inline_svg(picture, "letters")
    scales = {float(x) for x in re.findall(r"scale\(([\d.]+)", shown)}
    assert {5.7, 7.3, 9.1} <= {round(100 * x, 6) for x in scales}
    assert max(len(x) for path in re.findall(r' d="([^"]*)"', shown) for x in re.findall(r"\.(\d+)", path)) <= 2


def test_pieces_escape_everything():
    for text in (table((EVIL,), [(EVIL,)], bars=[0.5]), columns([1.0, -1.0], [EVIL, "b"], EVIL, EVIL),
                 warn(EVIL, [EVIL])):
        assert "<script" not in text
        assert "&lt;script&gt;" in text


def test_columns_stand_and_hang():
    heights = [float(x) for x in re.findall(r'height="([\d.]+)" fill', columns([3.0, -1.0], ["a", "b"], "GWh", "x"))]
    assert heights[0] == pytest.approx(3 * heights[1], abs=0.2)


def test_empty_parts_leave_no_trace():
    assert warn("Warnings", []) == "" == table(("a",), [])
