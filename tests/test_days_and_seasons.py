"""The two plants that keep heat for long: three days of sand, and a summer in the ground for the winter."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from components.back_up import cover
from components.ground_march import seasons
from components.mover import Mover
from loopnet.media import medium
from loopnet.money import price_book
from loopnet.plants import find_plant
from loopnet.solve import size
from loopnet.year import run_year

HOUR, DAY = 3600.0, 86400.0


def ground_plant(**given):
    plant = find_plant("film_ground")
    plant.components["ground"] = replace(plant.components["ground"], **given)
    return size(plant)


@pytest.fixture(scope="module")
def ground():
    """The plant with ground that has been in use for ten years."""
    return ground_plant(warmed="10 year", begins=0.41)


# ---- days of sand


@pytest.fixture(scope="module")
def dark(basin):
    """Four weeks of both plants of falling sand, with the darkest days of the year in them."""
    weeks = basin.slice(160 * 24, 28 * 24)
    found = {name: run_year(size(find_plant(name)), weeks) for name in ("sand_silo", "sand_days")}
    return {name: (year, year.hourly["delivered"].to_numpy() > 0.0) for name, year in found.items()}


def test_three_days_of_sand_ride_through_a_dark_spell(dark, basin):
    sun = basin.slice(160 * 24, 28 * 24).columns["dni"].reshape(-1, 24).sum(axis=1)
    spell = slice(24 * 17, 24 * 22)  # five days from the last bright one
    assert sun[18:22].max() < 0.35 * sun.max()
    night, days = (on[spell].mean() for _, on in (dark["sand_silo"], dark["sand_days"]))
    assert days > night + 0.15
    assert dark["sand_days"][0].net > 1.1 * dark["sand_silo"][0].net
    for year, _ in dark.values():
        assert year.warnings == ()
        assert year.imbalance < 1e-6


def test_both_sand_plants_are_one_but_for_mirrors_and_silos(all_sized):
    long, short = size(find_plant("sand_days")), all_sized["sand_silo"]
    assert long.findings == ()
    assert long.values["silos.capacity"] == pytest.approx(4.0 * short.values["silos.capacity"], rel=0.02)
    assert long.view("boiler").hot.inlet.T[0] == pytest.approx(short.view("boiler").hot.inlet.T[0], abs=1e-6)


# ---- a summer in the ground


def test_the_ground_plant_is_sized_without_a_finding(ground):
    assert ground.findings == ()
    assert ground.certificate.pinch >= 5.0 - 1e-6
    body = ground.plant.components["ground"]
    view = ground.view("ground")
    assert body.volume(view) == pytest.approx(ground.values["ground.capacity"] / (0.6 * 2.2e6 * 55.0), rel=0.01)
    assert body.pipe_length(view) / body.depth(view) > 500  # boreholes


# Hydraulic power by hand: flow x rise / density, over 75 % and 95 %; water at 35 degC has 994 kg/m3 (IAPWS, memory)
@pytest.mark.book
def test_water_passes_a_pump(ground):
    view = ground.view("pump")
    by_hand = float(view.main.m[0]) * ground.values["pump.rise"] / 994.0 / 0.75 / 0.95
    assert ground.values["pump.electricity"] == pytest.approx(by_hand, rel=5e-3)
    assert [line.item for line in ground.plant.components["pump"].costs(view, price_book())] == ["pump"]


@pytest.mark.parametrize(("density", "says"), [(958.0, False), (0.6, True)])
def test_a_pump_that_would_suck_steam_says_so(density, says):
    side = SimpleNamespace(inlet=SimpleNamespace(rho=np.array([density])), medium=medium("water"))
    assert bool(Mover().findings(SimpleNamespace(main=side))) == says


@pytest.mark.parametrize(("first", "brings"), [(8, False), (176, True)])
def test_winter_draws_and_summer_fills(ground, basin, first, brings):
    days = basin.slice(first * 24, 5 * 24)
    year = run_year(ground, days)
    assert year.warnings == ()
    assert year.imbalance < 1e-6
    assert (year.hourly["to_store"].sum() > year.hourly["from_store"].sum()) == brings
    assert cover(year, days).share > (0.9 if brings else 0.5)
    assert cover(year, days).wanted.mean() < (0.12 if brings else 0.9) * 4e6


def test_ground_that_was_never_warm_gives_nothing_in_its_first_winter(basin):
    assert run_year(ground_plant(), basin.slice(0, 2 * 24)).heat == 0.0


@pytest.mark.law
def test_ground_has_settled_after_the_years_it_says():
    """Each year summer brings what the field does in a mean day, and winter draws what the houses want."""
    ground = ground_plant()
    march = ground.plant.components["ground"].march(ground.view("ground"))
    hot, cold = (float(march.bed.fluid.h(T)) for T in (march.hot0, march.cold0))
    mean = 4e6 / (hot - cold)
    plan = [(0.18 * mean if 60 < day < 300 else 0.05 * mean, hot, 0.35 * mean if not 60 < day < 300 else 0.05 * mean,
             cold, 291.7) for day in range(365)]
    found = [year.efficiency for year in seasons(march, plan, DAY, march.years + 3)]
    assert found[0] < found[1] < found[2]
    assert found[march.years - 1] > found[0] + 0.1
    assert found[-1] - found[march.years - 1] < 0.02


# ---- both


def test_neither_needs_coolprop():
    """Their states ship; a change of a table's grid makes the file stale: python tests/ship_states.py."""
    code = ("import sys; from loopnet.plants import find_plant; from loopnet.solve import size; "
            "from loopnet.site import tamarisk_basin; from loopnet.year import run_year; "
            "[run_year(size(find_plant(n)), tamarisk_basin().slice(4000, 24)) for n in ('film_ground', 'sand_days')]; "
            "sys.exit('CoolProp.CoolProp' in sys.modules)")
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.law
def test_a_profile_of_the_ground_falls_from_the_centre_out(ground):
    march = ground.plant.components["ground"].march(ground.view("ground"))
    warm = march.profile(march.start())
    assert np.all(np.diff(warm[march.bed.shells:]) <= 1e-9)
    assert warm[0] > march.bed.undisturbed + 15.0
