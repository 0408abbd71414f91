"""`loopnet supply` in words, figures and a picture; twenty days of spring stand for a year."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest

import loopnet.site
import loopnet.study
import loopnet.study.supply
from loopnet.commands.supply import _delivery
from loopnet.errors import LoopnetError, SpecificationError
from loopnet.plants import find_plant
from loopnet.report_supply import supply_sentences
from loopnet.study import SupplyCurve, supply_curve
from loopnet.study.supply import LONG, STORES, SupplyPoint, _times
from loopnet.year import Operation

from .command import run

HOUR = 3600.0


@pytest.fixture
def short(monkeypatch, basin):
    """The weather where none is given."""
    monkeypatch.setattr(loopnet.site, "tamarisk_basin", lambda: basin.slice(60 * 24, 10 * 24))


def made(full, bridged, darkest=60.0, own=12.0):
    """A curve of stores of 6, 12, 24 and 48 h over 8,760 h."""
    points = [SupplyPoint(6.0 * 2**i * HOUR, f, 0.5 * (1 - f), f, b * HOUR, b * HOUR, darkest * HOUR, f)
              for i, (f, b) in enumerate(zip(full, bridged, strict=True))]
    return SupplyCurve("made", "Made", "made sky", 8760.0, 0.8, tuple(points), own=own * HOUR)


# -- the command -------------------------------------------------------------------------------------------------------


def test_words_figures_and_picture_agree(short, tmp_path):
    said = run("supply", "sand_silo", "--hours", "18, 6", "--firm", "70 %", "--dispatch", "round-the-clock", "--outage",
               "03-05", "--quick", "--json", tmp_path / "s.json", "--plots", tmp_path)
    assert said.status == 0, said.err
    found = json.loads((tmp_path / "s.json").read_text())
    assert found["firm"] == pytest.approx(0.7)
    assert found["dispatch"] == "round the clock"
    assert found["operation"]["outages"] == ["03-05"]
    assert found["full_supply"] == 20e6
    assert found["own_store"] == 18 * HOUR
    assert [p["store"] for p in found["points"]] == [6 * HOUR, 18 * HOUR]
    rows = re.findall(r"^(\d+)(?: as drawn)? +([\d,]+) +([\d,]+) +([\d.]+) % ", said.out, re.MULTILINE)
    for (store, below, still, full), p in zip(rows, found["points"], strict=True):
        assert float(store) == p["store"] / HOUR
        assert int(below) == round((1 - p["full"]) * 240)
        assert int(still) == round(p["stopped"] * 240)
        assert float(full) == pytest.approx(100 * p["full"], abs=0.06)
    text = " ".join(said.out.split())
    for words in ("18 as drawn", "Full supply is 20 MW of electricity", "load: round the clock", "rests 03-05",
                  "invented data", "quick: read from operating maps", "those whose mean is 70 %"):
        assert words in text
    assert max(map(len, said.out.splitlines())) <= 110
    assert (tmp_path / "sand_silo_supply.png").stat().st_size > 10_000


def test_progress_is_shown_to_people(short):
    said = run("supply", "sand_silo", "--hours", "8", "--quick", terminal=True)
    assert "store of 8 h: " in said.err
    assert "store of 8 h: march" not in said.out


@pytest.mark.parametrize(("arguments", "words"), [
    (("sand_silo", "--hours", "six"), "--hours: cannot read these sizes of store; got 'six'"),
    (("sand_silo", "--hours", "0.1"), "--hours: cannot read"), (("sand_silo", "--hours", ","), "--hours: cannot read"),
    (("sand_silo", "--firm", "2"), "--firm: out of range; got 2"),
    (("sand_silo", "--firm", "x"), "--firm: cannot read"),
    (("fresnel_steam",), "without a store there is no size of store to vary"), (("sandsilo",), "no such plant")])
def test_bad_questions_end_in_a_line(arguments, words):
    said = run("supply", *arguments)
    assert said.status == 2
    assert words in said.err
    assert all(part in said.err for part in ("; got ", "; allowed: ", ". Try: "))
    assert len(said.err.splitlines()) == 1


def test_full_supply_of_heat_is_what_users_want():
    assert _delivery(4e6, False) == "all that its users want, up to 4 MW of heat,"
    assert _delivery(20e6, True) == "20 MW of electricity"


# -- the study ---------------------------------------------------------------------------------------------------------


@pytest.mark.law
def test_a_plant_that_rests_or_fails_supplies_less(basin):
    sky, plant = basin.slice(60 * 24, 6 * 24), find_plant("sand_silo")
    whole, rests, fails = (supply_curve(plant, sky, store_hours=[8 * HOUR], operation=o, exact=False).points[0]
                           for o in (None, Operation(outages=("03-03",)), Operation(ready=0.8)))
    assert rests.full < whole.full
    assert rests.stopped >= whole.stopped
    assert fails.delivered < whole.delivered


def test_a_size_that_cannot_be_built_is_a_row_with_its_reason(basin, monkeypatch):
    size = loopnet.study.supply.size

    def some(plant):
        if plant.design.store_hours < 6 * HOUR:
            raise SpecificationError("too small to stand", where="silos", got="4 h")
        return size(plant)

    monkeypatch.setattr(loopnet.study.supply, "size", some)
    sky, plant = basin.slice(60 * 24, 2 * 24), find_plant("sand_silo")
    found = supply_curve(plant, sky, store_hours=["4 hour", "8 hour"], exact=False)
    assert [p.store for p in found.points] == [8 * HOUR]
    assert found.failed == ((4 * HOUR, "silos: too small to stand; got 4 h"),)
    assert found.to_dict()["failed"] == [{"store": 4 * HOUR, "why": "silos: too small to stand; got 4 h"}]
    with pytest.raises(LoopnetError, match="too small"):
        supply_curve(plant, sky, store_hours=["4 hour"])


def test_sizes_where_none_are_given():
    assert _times(None, 18 * HOUR) == sorted({18 * HOUR, *(float(t.split()[0]) * HOUR for t in STORES)})
    assert _times(None, 16 * HOUR).count(16 * HOUR) == 1
    season = _times(None, 10 * LONG)
    assert 10 * LONG in season
    assert min(season) == 2.5 * LONG


# -- what is said ------------------------------------------------------------------------------------------------------


def test_a_curve_that_flattens_blames_the_sun():
    said = " ".join(supply_sentences(made((0.4, 0.7, 0.79, 0.795), (4, 9, 20, 40))))
    assert "As it is drawn, with a store of 12 h, the plant runs at full load in 70 % of the hours" in said
    assert "misses it in 2,628 hours, and stands still in 1,314 of these" in said
    assert "Full load in 75 % of the hours takes a store of about 18.7 h" in said  # 12 + 12 x 5 / 9
    assert "Beyond 24 h a larger store hardly helps" in said
    assert "1,796 hours is sun" in said
    assert "lasts 60 h: no store that was tried" in said
    assert "by a store of 48 h, lasts 40 h" in said


def test_a_curve_that_rises_asks_for_more():
    said = " ".join(supply_sentences(made((0.4, 0.5, 0.6, 0.9), (4, 9, 20, 60))))
    assert "from 24 to 48 h it saves 2,628 hours, and 876 hours are missed with it" in said
    assert "a store of 48 h carries full load through it" in said
    assert "Beyond" not in said
    alone = made((0.4, 0.5, 0.6, 0.9), (4, 9, 20, 60))
    assert "still helps" not in " ".join(supply_sentences(replace(alone, points=alone.points[:1])))
