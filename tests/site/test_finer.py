"""Shorter steps: the energy of each hour stays, the sun stays below the horizon, a plant's year hardly moves."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.errors import ParameterError
from loopnet.plants import find_plant
from loopnet.site import finer, tamarisk_basin
from loopnet.solve import size
from loopnet.year import run_year

YEAR = tamarisk_basin()


@pytest.mark.law
@given(st.integers(0, 8700), st.sampled_from([1800, 900, 600, 300]))
@settings(max_examples=15, deadline=None)
def test_the_energy_of_each_hour_stays(first, step):
    day = YEAR.slice(first, 24)
    fine = finer(day, step)
    for key in ("dni", "ghi", "dhi"):
        mean = fine.columns[key].reshape(24, -1).mean(axis=1)
        assert mean == pytest.approx(day.columns[key], abs=1e-9)
        assert fine.columns[key].min() >= 0.0
    for key in ("ambient", "dew_point", "wind", "pressure"):
        assert day.columns[key].min() <= fine.columns[key].min() <= fine.columns[key].max() <= day.columns[key].max()


def test_the_sun_shines_only_when_it_is_up():
    fine = finer(YEAR.slice(24 * 100, 24 * 5), "10 minute")
    dark = fine.sun["up"].to_numpy() == 0.0
    hours = YEAR.slice(24 * 100, 24 * 5)
    lit = np.repeat(hours.sun["up"].to_numpy() > 0.0, 6)  # an hour in which it rises has dark parts
    assert (dark & lit).any()
    assert fine.columns["dni"][dark & lit].max() == 0.0


def test_the_same_step_is_the_same_weather():
    assert finer(YEAR, 3600) is YEAR


@pytest.mark.parametrize("step", [7200, 1000, 0, -900, 0.5])
def test_a_step_that_does_not_divide_the_hour_is_refused(step):
    with pytest.raises(ParameterError, match="does not divide"):
        finer(YEAR, step)


@pytest.mark.law
@pytest.mark.parametrize("name", ["sand_silo", "air_tower"])
def test_a_plant_hardly_notices_and_its_energy_closes(name):
    # totals of a week move by the starts of field and turbine, which quarter hours tell more finely
    sized, week = size(find_plant(name)), YEAR.slice(24 * 150, 24 * 7)
    hourly, quarter = run_year(sized, week), run_year(sized, finer(week, "15 minute"))
    assert quarter.imbalance < 1e-9
    assert len(quarter.hourly) == 4 * len(hourly.hourly)
    assert quarter.collected == pytest.approx(hourly.collected, rel=0.03)
    assert quarter.net == pytest.approx(hourly.net, rel=0.05)
