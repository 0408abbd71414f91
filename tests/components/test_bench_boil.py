"""Boil-off calorimetry against steam tables and arithmetic by hand."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.bench_boil import boil_off_heat, boiling_point, latent_heat
from components.bench_fit import fit_collector
from loopnet.site.place import standard_pressure

from .bench_made import EXACT, KETTLE, made_boil


# Latent heat of water at 1 atm, 2256.5 kJ/kg (IAPWS, as printed in steam tables: seen; tolerance half its last digit).
@pytest.mark.book
def test_latent_heat_at_one_atmosphere():
    assert latent_heat(101325.0) / 1e3 == pytest.approx(2256.5, abs=0.06)


# IAPWS R7-97 Table 36: water boils at 372.755919 K under 0.1 MPa (seen); the tables are of IAPWS-95, within 1 mK.
@pytest.mark.book
def test_boiling_point():
    assert boiling_point(1e5) == pytest.approx(372.756, abs=2e-3)


# By hand: 1.2 kg/h x 2256.5 kJ/kg / 3600 s/h = 752.17 W; from 20 degC it takes besides
# 1.2 x (419.06 - 83.96) / 3.6 = 111.7 W (enthalpies of liquid: IAPWS, as printed in steam tables, from memory).
@pytest.mark.book
def test_a_kettle_by_hand():
    rate = 1.2 / 3600.0
    assert float(boil_off_heat(rate, 101325.0)) == pytest.approx(752.17, abs=0.05)
    assert float(boil_off_heat(rate, 101325.0, 293.15)) == pytest.approx(752.17 + 111.7, abs=0.15)


# The same through the whole fit: at sea level, 1.2 kg/h on 2 m2 under 900 W/m2 is 376.08 W/m2, 41.79 %.
@pytest.mark.book
def test_a_kettle_by_hand_through_the_fit():
    table = pd.DataFrame({"time": ["10:00", "10:30", "11:00", "11:30", "12:00"], "dni [W/m2]": 900.0,
                          "ambient [degC]": 20.0, "boiled [kg/h]": [1.19, 1.21, 1.2, 1.19, 1.21]})
    fit = fit_collector(table, aperture="2 m2", instruments=EXACT)
    assert fit.points["measured"].iloc[2] == pytest.approx(376.08, abs=0.03)
    assert [c.name for c in fit.coefficients] == ["eta0"]
    assert fit["eta0"].value == pytest.approx(0.41787, abs=1e-4)
    assert any("cannot be told apart from the optics" in text for text in fit.warnings)


def test_a_volume_of_cold_water_weighs_what_it_does():
    """A litre of water at 20 degC is 0.9982 kg (handbook value, from memory)."""
    kilos, litres = (fit_collector(made_boil(noise=0).rename(columns={"boiled [kg/h]": head}), aperture=1.8,
                                   altitude="1200 m") for head in ("boiled [kg/h]", "boiled [L/h]"))
    assert litres["eta0"].value / kilos["eta0"].value == pytest.approx(0.9982, abs=2e-4)


def test_known_coefficients_come_back_from_a_kettle():
    """Sun from 420 to 940 W/m2 tells losses from optics at one temperature."""
    pressure = standard_pressure(1200.0)
    table = made_boil(kelvin=boiling_point(pressure) - 273.15, latent=latent_heat(pressure), noise=0.0)
    fit = fit_collector(table, aperture=1.8, altitude="1200 m", instruments=EXACT)
    assert fit.values == pytest.approx(KETTLE, rel=1e-9)
    by_pressure = fit_collector(table, aperture=1.8, pressure=pressure, instruments=EXACT)
    assert by_pressure.values == pytest.approx(fit.values, rel=1e-12)


@pytest.mark.law
@settings(max_examples=30, deadline=None)
@given(st.floats(3e4, 2e6), st.floats(1e-6, 1e-2), st.floats(280.0, 330.0))
def test_boiling_takes_more_when_colder_water_comes_in_and_grows_with_the_rate(pressure, rate, feed):
    batch, cold, warm = (float(boil_off_heat(rate, pressure, f)) for f in (None, feed, feed + 5.0))
    assert batch < warm < cold
    assert float(boil_off_heat(2 * rate, pressure, feed)) == pytest.approx(2 * cold, rel=1e-12)
    assert latent_heat(pressure * 1.1) < latent_heat(pressure)
    many = boil_off_heat(np.array([rate, 2 * rate]), np.full(2, pressure), np.full(2, feed))
    np.testing.assert_allclose(many, [cold, 2 * cold], rtol=1e-12)
