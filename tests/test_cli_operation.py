"""How a year is run and what money costs, by option: what is given reaches the model and is named in what comes out.
Two days of April stand for a year."""

from __future__ import annotations

import json

import numpy as np
import pytest

import loopnet.site
from loopnet.commands.given import finance_of, finance_words, given, operation_of, operation_words
from loopnet.commands.work import cases_of, quick_words, years_words
from loopnet.errors import DataError, ParameterError
from loopnet.money import Finance
from loopnet.plants import find_plant
from loopnet.study import assess
from loopnet.year import Operation

from .command import run

RUNS = ("rank", "show", "cost", "diff", "breakeven")


@pytest.fixture(autouse=True)
def short(monkeypatch, basin):
    """The weather where none is given: 1 and 2 April."""
    monkeypatch.setattr(loopnet.site, "tamarisk_basin", lambda: basin.slice(2160, 48))


def figures(*arguments):
    said = run(*arguments, "--json", "-")
    assert said.status == 0, said.err
    return json.loads(said.out)


def asked(command):
    """A command with the plants and numbers that it cannot do without."""
    more = {"diff": ["sand_silo"], "breakeven": ["--vary", "finance.rate", "--low", "0.06", "--high", "0.08"]}
    return [command, "sand_silo", *more.get(command, [])]


# -- what reaches the model --------------------------------------------------------------------------------------------


def test_an_outage_rests_the_plant():
    whole, half = figures("show", "sand_silo"), figures("show", "sand_silo", "--outage", "04-01")
    assert half["losses_kwh"]["outage"] > 0.3 * half["sun_on_aperture_kwh"]
    assert "outage" not in {name for name, kwh in whole["losses_kwh"].items() if kwh}
    assert half["net_electricity_kwh"] < whole["net_electricity_kwh"]
    other = figures("show", "sand_silo", "--outage", "04-02", "--outage", "12-25")
    assert half["losses_kwh"]["outage"] + other["losses_kwh"]["outage"] == pytest.approx(
        whole["sun_on_aperture_kwh"], rel=1e-9)
    never = run("show", "sand_silo", "--outage", "04-01", "--outage", "04-02")
    assert never.status == 2
    assert "a plant that delivers something" in never.err


def test_files_and_pairs_reach_the_model_as_python_does(tmp_path, basin):
    (tmp_path / "run.toml").write_text('outages = ["04-02"]\nready = 0.9\nstandby = "1 %"\nleast_up = "3 hour"\n')
    (tmp_path / "money.toml").write_text('rate = "5 %"\nlife = 30\ndepreciation = [0.5, 0.5]\n')
    found = figures("show", "sand_silo", "--operation", tmp_path / "run.toml", "--ready", "96 %", "--finance",
                    tmp_path / "money.toml", "--finance", "life=20")
    operation = Operation(outages=("04-02",), ready=0.96, standby=0.01, least_up="3 hour")
    finance = Finance(rate=0.05, life=20, depreciation=(0.5, 0.5))
    a = assess(find_plant("sand_silo"), basin.slice(2160, 48), operation=operation, finance=finance)
    assert found["net_electricity_kwh"] == pytest.approx(a.year.net, rel=1e-12)
    assert found["usd_per_kwh_electricity"] == pytest.approx(a.cost.usd_per_kwh, rel=1e-12)
    assert found["operation"] == json.loads(json.dumps(operation.to_dict()))
    assert found["finance"] == json.loads(json.dumps(finance.to_dict()))


@pytest.mark.law
def test_a_share_in_order_is_a_share_of_what_is_delivered():
    """Faults spread evenly take as much of the sun; the store gives some of it back, and own use stays."""
    whole, part = (figures("show", "sand_silo", "--ready", share) for share in ("1", "0.8"))
    assert part["losses_kwh"]["out of order"] > 0.0
    assert 0.5 * whole["net_electricity_kwh"] < part["net_electricity_kwh"] < whole["net_electricity_kwh"]


def test_diff_follows_the_dispatch():
    found = figures("diff", "sand_silo", "oil_salt", "--dispatch", "evening=18-22")
    assert found["dispatch"] == dict.fromkeys(("sand_silo", "oil_salt"), "evening window, 18 to 22 h")


# -- what is told ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", RUNS)
def test_figures_and_head_name_weather_rule_and_operation(command, basin, tmp_path):
    said = run(*asked(command), "--ready", "0.95", "--dispatch", "evening=18-22", "--finance", "rate=0.06", "--json",
               tmp_path / "x.json")
    assert said.status == 0, said.err
    found = json.loads((tmp_path / "x.json").read_text())
    plant = found[0] if command == "rank" else found
    assert plant["weather"] == basin.slice(2160, 48).name
    assert "evening window, 18 to 22 h" in str(plant["dispatch"])
    assert plant["operation"]["ready"] == 0.95
    assert plant["finance"]["rate"] == 0.06
    head = " ".join(said.out[:1200].split())
    for words in ("Tamarisk Basin", "operation: no outage; in order 95 % of the time; standby 0.55 % of gross power",
                  "money: rate 0.06 1/year"):
        assert words in head, head
    assert "load: evening window, 18 to 22 h" in said.out


def test_what_an_operator_knew_is_named(tmp_path):
    (tmp_path / "p.csv").write_text("hour, price [USD/MWh]\n" + "".join(f"{h}, {20 + h}\n" for h in range(24)))
    for rule, words in (("plan", "as yesterday"), ("plan-perfect", "sun known beforehand"), ("prices", "as yesterday")):
        said = run("cost", "sand_silo", "--dispatch", f"{rule}={tmp_path / 'p.csv'}")
        assert said.status == 0, said.err
        assert words in " ".join(said.out[:600].split()), said.out[:600]


def test_quick_tells_its_error(basin):
    exact = figures("rank", "sand_silo")[0]
    quick = figures("rank", "sand_silo", "--quick")[0]
    assert 0.0 < quick["estimated_error"] < 0.02
    assert quick["net_electricity_kwh"] == pytest.approx(exact["net_electricity_kwh"], rel=0.02)
    assert "estimated_error" not in exact
    assert "quick: read from operating maps; delivery is right to some" in run("rank", "sand_silo", "--quick").out
    assert quick_words(0.0, True) == ["quick: no year needed an operating map"]
    assert quick_words(0.01, False) == []


def test_cases_go_on_as_quick_as_they_began_and_forget_nothing(basin):
    sky = basin.slice(2160, 24)
    a = assess(find_plant("sand_silo"), sky, exact=False)
    (case,) = cases_of([a], sky, None, None, exact=False, operation=Operation(ready=0.9))
    assert (case.exact, case.operation.ready) == (False, 0.9)
    assert case.operated[1] is a.year
    assert cases_of([a], sky, None, None)[0].exact


def test_years_on_end_are_told_apart():
    one, three = (figures("show", "sand_silo", "--years", n) for n in (1, 3))
    assert "years_on_end" not in one
    assert three["years_on_end"] == 3
    first, second = three["delivered_before_kwh"]
    assert first == pytest.approx(one["net_electricity_kwh"], rel=1e-9)
    assert second > first  # the store begins as it ended, not empty
    said = " ".join(run("show", "sand_silo", "--years", 3).out.split())
    assert (f"3 years on end, the store going on as it stood; it delivers {first / 1e6:,.2f} GWh in the first and "
            f"{three['net_electricity_kwh'] / 1e6:,.2f} GWh in the last") in said


def test_a_store_that_changed_has_not_settled(basin):
    from dataclasses import replace

    a = assess(find_plant("sand_silo"), basin.slice(2160, 24))
    for before, words in ((1.0, "(settled: +0 % on"), (1.1, "not settled: -9.1 %")):
        assert words in years_words(replace(a, year=replace(a.year, delivered_before=(before * a.year.net,))))
    assert years_words(a) == ""


@pytest.mark.parametrize(("operation", "words"), [
    (None, "no outage, always in order; standby 0.55 % of gross power"),
    (Operation(outages=("03-01",), standby=0.0, ramp=1, least_down="2 hour"),
     "rests 03-01; always in order; no standby power; rests at least 2 h between runs; changes its load by at most 1 "
     "level from step to step")])
def test_operation_in_words(operation, words):
    assert operation_words(operation) == words


def test_money_in_words():
    assert finance_words(None) == finance_words(Finance()) == ""
    assert finance_words(Finance(rate=0.1, nominal=True)) == "rate 0.1 1/year, nominal True"


# -- what is refused ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("options", "words"), [
    (("--outage", "13-40"), "--outage: cannot read these days; got '13-40'"),
    (("--ready", "96"), "--ready: out of range; got 96"),
    (("--ready", "often"), "--ready: cannot read this as a quantity"),
    (("--operation", "nope.toml"), "--operation nope.toml: cannot read this file"),
    (("--operation", "raedy=0.9"), "Try: ready"),
    (("--operation", "ramp=0.5"), "ramp: not of the right kind"),
    (("--operation", "standby=30 %"), "--operation: Operation.standby: out of range"),
    (("--finance", "rate=7"), "--finance: Finance.rate: out of range; got 7 1/year; allowed: 0"),
    (("--finance", "nominal=1"), "true or false"),
    (("--finance", "depreciation=[0.5]"), "add up to 1"),
    (("--years", "0"), "--years: no such number of years; got 0; allowed: 1 to 100")])
def test_bad_options_end_in_a_line(options, words):
    said = run("show", "sand_silo", *options)
    assert said.status == 2
    assert words in said.err
    assert all(part in said.err for part in ("; got ", "; allowed: ", ". Try: "))
    assert len(said.err.splitlines()) == 1
    assert said.out == ""


def test_a_file_that_is_not_toml(tmp_path):
    (tmp_path / "a.toml").write_text("ready : 0.9\n")
    (tmp_path / "b.toml").write_bytes(b"ready = \xff")
    for name, words in (("a.toml", "not valid TOML"), ("b.toml", "not UTF-8")):
        with pytest.raises(DataError, match=words):
            operation_of([str(tmp_path / name)], None, None)


def test_nothing_asked_is_nothing_given():
    assert operation_of(None, None, None) is None
    assert finance_of(None) is None
    assert given(Operation, [], "--operation") == Operation()
    with pytest.raises(ParameterError):
        finance_of(["rate=[1,2]"])
    assert np.isclose(finance_of(["rate = 4.5 %"]).rate, 0.045)
