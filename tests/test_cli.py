"""The command line does what its contract says: figures, their sums, tables that read well, files, exit status."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from math import fsum
from pathlib import Path

import pytest

import loopnet.plants
import loopnet.study
from loopnet.report import WIDTH, hazards

from .command import run

NUMBERS = ("heat_collected_kwh", "sun_on_aperture_kwh", "capacity_factor", "capital_usd", "aperture_m2",
           "store_kwh_heat", "steady_imbalance", "year_imbalance")
NUMBERS_OR_NONE = ("net_electricity_kwh", "heat_to_user_kwh", "sun_to_electricity", "usd_per_kwh_electricity",
                   "usd_per_kwh_heat", "net_power_w", "worst_pinch_k")
SHIPPED = ("air_rock", "air_tower", "dish_oil", "film_ground", "film_rock", "fresnel_steam", "oil_salt", "salt_tower",
           "sand_days", "sand_silo")
HEAT = ("film_ground",)
"""Plants that make heat alone."""


@pytest.fixture(scope="module")
def ranked(tmp_path_factory):
    """The main job, run once: what it said, its JSON, its folder of pictures, and the ranking behind it."""
    folder = tmp_path_factory.mktemp("rank")
    kept = []
    rank = loopnet.study.rank
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(loopnet.study, "rank", lambda *a, **k: kept.append(rank(*a, **k)) or kept[0])
        said = run("rank", "--json", folder / "new" / "figures.json", "--plots", folder / "more" / "plots")
    assert said.status == 0, said.err
    return said, json.loads((folder / "new" / "figures.json").read_text()), folder / "more" / "plots", kept[0]


@pytest.fixture
def known(ranked, monkeypatch):
    """Plants that were ranked are not computed again."""
    def rank(plants, weather, progress):
        found = [ranked[3][plant.name] for plant in plants]
        for a in found:
            progress(a.name, "march", 0.5)
        return loopnet.study.Ranking(weather.name, tuple(found))

    monkeypatch.setattr(loopnet.study, "rank", rank)


# -- the contract of rank ----------------------------------------------------------------------------------------------


def test_every_figure_is_there_with_its_type(ranked):
    assert sorted(plant["name"] for plant in ranked[1]) == list(SHIPPED)
    for plant in ranked[1]:
        for key in NUMBERS:
            assert isinstance(plant[key], float), key
        for key in NUMBERS_OR_NONE:
            assert plant[key] is None or isinstance(plant[key], float), key
        for key in ("warnings", "cautions"):
            assert all(isinstance(text, str) for text in plant[key])
            assert len(set(plant[key])) == len(plant[key])
        assert plant["cautions"]
        for key in ("losses_kwh", "costs_usd"):
            assert all(isinstance(value, float) for value in plant[key].values())


def test_what_a_plant_does_not_make_is_null(ranked):
    for plant in ranked[1]:
        made, other = ("heat", "electricity") if plant["name"] in HEAT else ("electricity", "heat")
        energy = {"electricity": "net_electricity_kwh", "heat": "heat_to_user_kwh"}
        assert plant[energy[made]] > 0
        assert plant[f"usd_per_kwh_{made}"] > 0
        assert plant[energy[other]] is None
        assert plant[f"usd_per_kwh_{other}"] is None


def test_best_comes_first_and_heat_last(ranked):
    costs = [plant["usd_per_kwh_electricity"] for plant in electric(ranked)]
    assert costs == sorted(costs)
    assert tuple(plant["name"] for plant in ranked[1][len(costs):]) == HEAT


def electric(ranked):
    """The plants that make electricity."""
    return [plant for plant in ranked[1] if plant["name"] not in HEAT]


@pytest.mark.law
def test_sun_is_losses_deliveries_and_change_in_store(ranked):
    for plant in ranked[1]:
        gains = {"bought electricity (a gain)"} if plant["name"] in HEAT else set()
        assert {name for name, kwh in plant["losses_kwh"].items() if kwh < 0} == gains, plant["losses_kwh"]
        parts = (*plant["losses_kwh"].values(), plant["net_electricity_kwh"] or 0.0, plant["heat_to_user_kwh"] or 0.0,
                 plant["change_in_store_kwh"])
        assert fsum(parts) == pytest.approx(plant["sun_on_aperture_kwh"], rel=1e-6), plant["name"]


@pytest.mark.law
def test_net_is_gross_less_own_use(ranked):
    for plant in electric(ranked):
        assert plant["gross_electricity_kwh"] - plant["parasitic_electricity_kwh"] == pytest.approx(
            plant["net_electricity_kwh"], rel=1e-12)


@pytest.mark.law
def test_costs_add_up_to_the_capital(ranked):
    for plant in ranked[1]:
        assert fsum(plant["costs_usd"].values()) == pytest.approx(plant["capital_usd"], rel=1e-9)


@pytest.mark.law
def test_ratios_are_those_of_the_energies(ranked):
    for plant in electric(ranked):
        full = plant["net_power_w"] / 1e3 * 8760
        assert plant["capacity_factor"] == pytest.approx(plant["net_electricity_kwh"] / full, rel=1e-12)
        assert plant["sun_to_electricity"] == pytest.approx(
            plant["net_electricity_kwh"] / plant["sun_on_aperture_kwh"], rel=1e-12)
        assert 0 < plant["net_electricity_kwh"] < plant["heat_collected_kwh"] < plant["sun_on_aperture_kwh"]


@pytest.mark.law
def test_certificates_hold(ranked):
    for plant in ranked[1]:
        assert 0 <= plant["steady_imbalance"] <= 1e-8
        assert 0 <= plant["year_imbalance"] <= 1e-6
        if plant["name"] == "fresnel_steam":  # water from field to turbine and back: nothing exchanges heat
            assert plant["worst_pinch_k"] is None
        else:
            assert plant["worst_pinch_k"] > 0


@pytest.mark.law
def test_sun_on_aperture_is_at_most_beam_times_area(ranked):
    from loopnet.site import tamarisk_basin

    beam = tamarisk_basin().summary()["dni_kwh_m2"]
    for plant in ranked[1]:
        assert plant["sun_on_aperture_kwh"] == pytest.approx(beam * plant["aperture_m2"], rel=1e-3)


def test_a_plant_that_only_makes_heat(tmp_path):
    """Electricity is null; what fans buy is a gain among the losses, and a cost: no turbine serves them."""
    readme = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
    path = tmp_path / "tile_dryers.py"
    path.write_text(next(block for block in readme.split("```python\n") if "HeatUser(" in block).split("```")[0])
    said = run("rank", path, "--json", "-")
    assert said.status == 0, said.err
    (plant,) = json.loads(said.out)
    for key in ("net_electricity_kwh", "sun_to_electricity", "usd_per_kwh_electricity", "net_power_w"):
        assert plant[key] is None, key
    assert plant["usd_per_kwh_heat"] > 0
    bought = plant["losses_kwh"]["bought electricity (a gain)"]
    assert bought == -plant["parasitic_electricity_kwh"] < 0
    parts = (*plant["losses_kwh"].values(), plant["heat_to_user_kwh"], plant["change_in_store_kwh"])
    assert fsum(parts) == pytest.approx(plant["sun_on_aperture_kwh"], rel=1e-6)
    assert fsum(plant["costs_usd"].values()) == pytest.approx(plant["capital_usd"], rel=1e-9)


# -- what a person reads -----------------------------------------------------------------------------------------------


def test_the_table_keeps_names_whole_and_agrees_with_the_json(ranked):
    lines = ranked[0].out.splitlines()
    assert max(map(len, lines)) <= WIDTH
    heads = [i for i, line in enumerate(lines) if line.startswith("Ranked by")]
    assert [lines[i] for i in heads] == [f"Ranked by what a kWh of {good} costs, cheapest first"
                                         for good in ("electricity", "heat")]
    table = [line for i, count in zip(heads, (len(SHIPPED) - len(HEAT), len(HEAT)), strict=True)
             for line in lines[i + 4:i + 4 + count]]
    assert max(len(line.rstrip()) for line in table) <= 100
    for plant, line in zip(ranked[1], table, strict=True):
        cells = line.split()
        assert cells[0] == plant["name"]
        cost = plant["usd_per_kwh_electricity"] or plant["usd_per_kwh_heat"]
        assert float(cells[1]) == pytest.approx(100 * cost, abs=0.006)
        made = plant["net_electricity_kwh"] or plant["heat_to_user_kwh"]
        assert float(cells[2]) == pytest.approx(made / 1e6, abs=0.06)
        assert cells[-1] == plant["weak_point"]


def test_the_winner_is_named_in_a_sentence(ranked):
    best, second = ranked[1][:2]
    text = " ".join(ranked[0].out.split())
    cents = f"{100 * best['usd_per_kwh_electricity']:.2f}"
    assert f"({best['name']}) is cheapest: a kWh of electricity costs {cents} US cents" in text
    assert f"next is {second['name']} with" in text
    assert f"{100 * best['sun_to_electricity']:.1f} kWh leave the gate as electricity" in text
    assert "(invented data)" in text
    warm = ranked[1][-1]
    assert f"A kWh of heat from {warm['name']} costs {100 * warm['usd_per_kwh_heat']:.2f} US cents" in text


def test_rank_says_each_caution_once_and_short(ranked):
    out = ranked[0].out
    tail = out[out.index("Cautions in short"):]
    assert "loopnet show PLANT" in tail
    media = {loop.medium.name for a in ranked[3] for loop in a.plant.loops.values()}
    assert len(media) >= 4
    for name in media:
        assert len(re.findall(rf"^  {name}  ", tail, re.MULTILINE)) == 1
    said = [line for line in tail.splitlines()[1:] if line and not line.startswith("wrote ")]
    assert len(said) <= 16


def test_warnings_stand_beside_their_plant(ranked):
    for plant in ranked[1]:
        for warning in plant["warnings"]:
            assert re.search(rf"{plant['name']}\s.*{re.escape(warning[:30])}|^\s+{re.escape(warning[:30])}",
                             ranked[0].out, re.MULTILINE)


def test_pictures_of_every_plant(ranked):
    names = {path.name for path in ranked[2].iterdir()}
    assert names == {f"{name}_{kind}.png" for name in SHIPPED for kind in ("energy", "circuit")} | {
        "costs.png", "references_electricity.png", "references_heat.png"}
    for path in ranked[2].iterdir():
        assert path.read_bytes().startswith(b"\x89PNG")
        assert f"wrote {path}" in ranked[0].out


def test_show_tells_every_caution_and_every_loss(known, ranked):
    said = run("show", "sand_silo")
    assert said.status == 0, said.err
    text = " ".join(said.out.split())
    a = ranked[3]["sand_silo"]
    assert [s for group in hazards([a.plant]).values() for s in group] == list(a.cautions)
    for caution in a.cautions:
        assert text.count(" ".join(caution.split())) == 1
    for loss in a.year.losses():
        assert not a.year.losses()[loss] or f"lost: {loss}" in text
    for line in a.bill:
        assert line.item.split(",")[0] in text
    assert a.cost.formula().splitlines()[0] in text
    assert max(map(len, said.out.splitlines())) <= WIDTH


def test_diff_adds_up(known, ranked, tmp_path):
    said = run("diff", "sand_silo", "oil_salt", "--json", tmp_path / "d.json")
    assert said.status == 0, said.err
    found = json.loads((tmp_path / "d.json").read_text())
    one, two = (ranked[3][name].cost.usd_per_kwh for name in ("sand_silo", "oil_salt"))
    assert found["difference_usd_per_kwh"] == pytest.approx(two - one, rel=1e-12)
    assert fsum(found["money"].values()) == pytest.approx(two - one, rel=1e-9)
    assert fsum(found["energy"].values()) == pytest.approx(0.0, abs=1e-6)
    word = "more" if two > one else "less"
    assert f"oil_salt costs {100 * abs(two - one):.2f} ct/kWh {word} than sand_silo" in said.out
    rows = {line.split("  ")[0]: line.split()[-3:] for line in said.out.splitlines() if line.count(".") >= 3}
    assert float(rows["net electricity"][0]) == pytest.approx(
        100 * ranked[3]["sand_silo"].year.net / ranked[3]["sand_silo"].year.sun, abs=0.006)


def test_check_prints_a_balance():
    said = run("check", "sand_silo")
    assert said.status == 0
    assert "drawn soundly" in said.out
    assert re.search(r"balance: largest imbalance \d\.\de-\d+ ", said.out)


# -- files and streams -------------------------------------------------------------------------------------------------


def test_json_alone_on_standard_output(tmp_path):
    """Two plants of one name, one of them from a file with a component of its own, ranked for real."""
    path = tmp_path / "mine.py"
    path.write_text("from dataclasses import dataclass\nfrom architectures.sand_silo import build as base\n"
                    "from components.mover import Mover\n\n\n@dataclass(frozen=True, kw_only=True)\n"
                    'class TallLift(Mover):\n    """Goes higher."""\n\n\ndef build():\n    plant = base()\n'
                    "    plant.components['lift'] = TallLift(height='200 m')\n    return plant\n")
    said = run("rank", "sand_silo", path, "--json", "-", "--plots", tmp_path / "plots")
    assert (said.status, said.err) == (0, "")
    found = {plant["name"]: plant for plant in json.loads(said.out)}
    assert list(found) == ["sand_silo", "sand_silo_2"]
    assert found["sand_silo_2"]["parasitic_electricity_kwh"] > found["sand_silo"]["parasitic_electricity_kwh"]
    assert (tmp_path / "plots" / "sand_silo_2_energy.png").is_file()


def test_progress_only_on_a_terminal_and_only_on_standard_error(known):
    quiet, watched = run("rank", "oil_salt"), run("rank", "oil_salt", terminal=True)
    assert quiet.err == ""
    assert "oil_salt" in watched.err
    assert quiet.out == watched.out


@pytest.mark.parametrize("option", ["--json", "--plots"])
def test_a_path_that_cannot_be_written_is_refused_before_the_work(option, tmp_path, monkeypatch):
    monkeypatch.setattr(loopnet.study, "rank", lambda *a, **k: pytest.fail("worked before looking"))
    (tmp_path / "file").write_text("in the way")
    said = run("rank", option, tmp_path / "file" / "deeper" / "x")
    assert said.status == 2
    assert f"{option} {tmp_path}" in said.err
    assert "got Not a directory" in said.err
    assert run("rank", "--json", tmp_path).status == 2
    assert (tmp_path / "file").read_text() == "in the way"


# -- options and ends --------------------------------------------------------------------------------------------------


def test_help_and_version():
    from importlib.metadata import version

    said = run("--help")
    assert said.status == 0
    for word in ("--debug", "--version", "rank", "show", "diff", "check", "Exit status: 0 done, 1", "2 bad input"):
        assert word in said.out
    assert run("--version").out == f"loopnet {version('loopnet')}\n"
    for command in ("rank", "show", "diff", "check"):
        assert "--debug" in run(command, "--help").out


@pytest.mark.parametrize("arguments", [["--debug", "check", "nope"], ["check", "--debug", "nope"],
                                       ["check", "nope", "--debug"]])
def test_debug_anywhere_shows_the_traceback(arguments):
    said = run(*arguments)
    assert said.status == 2
    assert "Traceback (most recent call last)" in said.err
    assert said.err.rstrip().splitlines()[-1].startswith("loopnet: PLANT: no such plant")


def test_stopped_from_the_keyboard(monkeypatch):
    def stop(name):
        raise KeyboardInterrupt

    monkeypatch.setattr(loopnet.plants, "find_plant", stop)
    assert run("check", "sand_silo") == (130, "", "loopnet: stopped\n")


def test_a_fault_of_our_own_is_one_line(monkeypatch):
    def fail(name):
        raise RuntimeError("wires crossed")

    monkeypatch.setattr(loopnet.plants, "find_plant", fail)
    said = run("check", "sand_silo")
    assert said.status == 1
    assert said.err.startswith("loopnet: not foreseen: RuntimeError: wires crossed. Try: the same command with --debug")
    assert said.err.count("\n") == 1


def test_help_loads_nothing_heavy():
    code = ("import sys, loopnet.cli; loopnet.cli.main(['--help']); "
            "print(sorted({'numpy', 'scipy', 'pandas', 'matplotlib', 'CoolProp', 'pvlib', 'networkx', 'pint'} "
            "& set(sys.modules)))")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
