"""Commands that explain: cost, breakeven, diff with its bridge, rank with how sure it is; two days stand for a year."""

import json
from math import fsum

import pytest

import loopnet.site
from loopnet.output import beside_others
from loopnet.plants import find_plant
from loopnet.study import assess

from .command import run


@pytest.fixture(autouse=True)
def short(monkeypatch, basin):
    """The weather where none is given."""
    monkeypatch.setattr(loopnet.site, "tamarisk_basin", lambda: basin.slice(2160, 48))


def figures(*arguments):
    said = run(*arguments, "--json", "-")
    assert said.status == 0, said.err
    return json.loads(said.out)


def test_diff_gives_terms_that_add_up():
    data = figures("diff", "oil_salt", "sand_silo")
    assert fsum(data["terms_usd_per_kwh"].values()) == pytest.approx(data["difference_usd_per_kwh"], abs=1e-9)
    assert "store: capital" in data["terms_usd_per_kwh"]


def test_diff_tells_the_bridge_and_draws_it(tmp_path):
    said = run("diff", "oil_salt", "sand_silo", "--plots", tmp_path)
    assert "Bridge from oil_salt to sand_silo" in said.out
    assert "For sand_silo:" in " ".join(said.out.split())
    assert (tmp_path / "bridge.png").stat().st_size > 5000


def test_breakeven_by_the_contract():
    base = figures("breakeven", "sand_silo", "--vary", "receiver.particle", "--target", "0.09")
    assert base["unit"] == "USD/kW"
    assert base["reached"] is (base["value"] is not None)
    never = figures("breakeven", "sand_silo", "--vary", "receiver.particle", "--target", "0.001")
    assert (never["reached"], never["value"]) == (False, None)
    assert "Even as a gift" in never["why"]
    tie = figures("breakeven", "sand_silo", "--vary", "receiver.particle", "--tie", "oil_salt")
    assert tie["tie_with"] == "oil_salt"
    assert tie["usd_per_kwh"] == pytest.approx(tie["goal_usd_per_kwh"], rel=1e-6)


def test_breakeven_in_words():
    said = run("breakeven", "sand_silo", "--vary", "finance.rate", "--low", "0.02", "--high", "0.12", "--target", "0.1")
    assert said.status == 0, said.err
    assert "finance.rate" in said.out
    assert "% a year" in said.out
    assert "Values that were tried" in said.out


@pytest.mark.parametrize(("arguments", "words"), [
    (("breakeven", "sand_silo", "--vary", "field.outlit"), "field.outlet"),
    (("breakeven", "sand_silo", "--vary", "finance.rate", "--low", "0.02"), "two ends"),
    (("rank", "sand_silo", "--uncertain", "5"), "too few draws")])
def test_bad_questions_end_in_a_line(arguments, words):
    said = run(*arguments)
    assert said.status == 2
    assert words in said.err
    assert len(said.err.splitlines()) == 1


def test_cost_explains(tmp_path):
    said = run("cost", "sand_silo", "--plots", tmp_path)
    assert said.status == 0, said.err
    text = " ".join(said.out.split())
    for words in ("Weak point", "What moves it most", "discount rate", "What others cost", "photovoltaics"):
        assert words in text
    assert {p.name for p in tmp_path.iterdir()} == {"cost.png", "tornado.png", "references.png"}
    data = figures("cost", "sand_silo")
    assert data["tornado"]["likely_usd_per_kwh"] == pytest.approx(data["usd_per_kwh"])
    assert all(r["product"] == "electricity" for r in data["references"])


def test_others_beside_a_plant_deliver_the_same(basin):
    sky = basin.slice(2160, 48)
    (name, draw), = beside_others([assess(find_plant("sand_silo"), sky)], sky)
    words = " ".join(text.get_text() for text in draw().texts)
    assert name == "references.png"
    assert "photovoltaics" in words
    assert "heat from gas" not in words


def test_rank_says_how_sure_it_is(tmp_path):
    data = figures("rank", "oil_salt", "sand_silo", "--uncertain", "1000", "--prices-only")
    assert fsum(plant["probability_first"] for plant in data) == pytest.approx(1.0)
    assert data[0]["probability_first"] > 0.5
    assert all(plant["probability_first_standard_error"] < 0.02 for plant in data)
    assert "probability_first" not in figures("rank", "sand_silo")[0]
    said = run("rank", "oil_salt", "sand_silo", "--uncertain", "1000", "--prices-only", "--plots", tmp_path)
    text = " ".join(said.out.split())
    for words in ("1,000 draws", "What decides between", "What no range holds", "prices alone, which enter exactly"):
        assert words in text
    assert (tmp_path / "chances.png").stat().st_size > 5000
