"""A week, the store by day, profiles of a bed: the numbers behind the pictures."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from loopnet import draw
from loopnet.draw import BedProfiles
from loopnet.errors import ParameterError, SpecificationError
from loopnet.year import Year

from .made_years import BLACK, DELIVERY, made_year


@pytest.fixture(scope="module")
def year() -> Year:
    return made_year()


# -- a week ------------------------------------------------------------------------------------------------------------


def test_the_darkest_week_is_the_one_with_the_least_sun(year: Year) -> None:
    week = draw.week_of(year)
    days = year.hourly["sun"].to_numpy().reshape(365, 24).sum(axis=1)
    sums = [days[k:k + 7].sum() for k in range(359)]
    assert week.sun.sum() == pytest.approx(min(sums), rel=1e-12)
    assert week.times[0] == pd.Timestamp("2001-01-01") + pd.Timedelta(days=int(np.argmin(sums)))
    assert "darkest" in week.title


def test_a_week_holds_the_hours_of_its_dates(year: Year) -> None:
    week = draw.week_of(year, "04-09")
    part = year.hourly.loc["2001-04-09":"2001-04-15"]
    for name, values in (("sun", week.sun), ("collected", week.collected), ("net", week.delivered),
                         ("store", week.store[1:])):
        assert np.array_equal(values, part[name].to_numpy()), name
    assert week.store[0] == year.hourly.loc["2001-04-08 23:00", "store"].item()
    assert week.times[0] == pd.Timestamp("2001-04-09")
    assert week.times[-1] == pd.Timestamp("2001-04-16")
    assert (week.product, week.full) == ("net power", DELIVERY)
    assert "9 April to 15 April" in week.title
    same = draw.week_of(year, "2001-04-09 13:00")
    assert np.array_equal(same.sun, week.sun)


def test_content_moves_by_what_comes_and_goes(year: Year) -> None:
    for start in ("01-01", "04-09", "06-01"):
        week = draw.week_of(year, start)
        part = year.hourly.loc[f"2001-{start}":].iloc[:168]
        moved = (part["to_store"] - part["from_store"]).to_numpy() * year.step
        assert np.diff(week.store) == pytest.approx(moved, rel=1e-9, abs=1.0)


@pytest.mark.parametrize("start", ["12-29", "2002-01-01", "soon"])
def test_days_beyond_the_year_are_refused(year: Year, start: str) -> None:
    with pytest.raises(ParameterError, match="not in the year"):
        draw.week_of(year, start)


def test_a_short_year_has_no_week_but_has_days() -> None:
    short = made_year(3, black=())
    with pytest.raises(ParameterError, match="shorter"):
        draw.week_of(short)
    assert len(draw.week_of(short, days=2).sun) == 48


def test_a_plant_without_turbine_shows_heat() -> None:
    week = draw.week_of(made_year(30, electric=False, black=(9, 10)))
    assert (week.product, week.full) == ("heat to the load", None)
    assert week.delivered.max() > 0.0


# -- the store by day --------------------------------------------------------------------------------------------------


def test_days_of_the_store(year: Year) -> None:
    made = draw.store_days(year)
    content = year.hourly["store"].to_numpy().reshape(365, 24)
    assert np.array_equal(made.least, content.min(axis=1))
    assert np.array_equal(made.most, content.max(axis=1))
    assert made.mean.mean() == pytest.approx(content.mean(), rel=1e-12)
    assert made.filled.sum() == (content.max(axis=1) >= 0.98 * content.max()).sum() > 0
    assert made.stopped[list(BLACK)].all()
    assert f"filled on {made.filled.sum()} of 365 days; load stops on {made.stopped.sum()}" in made.title
    stops = (year.hourly["generating"].to_numpy() == 0.0).reshape(365, 24).any(axis=1)
    assert np.array_equal(made.stopped, stops)


def test_a_day_counts_as_stopped_from_one_hour_without_load() -> None:
    year = made_year(20, black=())
    always = year.hourly.assign(generating=1.0)
    always.iloc[5 * 24 + 3, always.columns.get_loc("generating")] = 0.0
    assert np.flatnonzero(draw.store_days(replace(year, hourly=always)).stopped).tolist() == [5]


def test_no_store_no_picture_of_it() -> None:
    bare = made_year(10, kept=False)
    with pytest.raises(SpecificationError, match="no store"):
        draw.store_days(bare)
    assert set(draw.year_pictures(bare)) == {"hours", "modes", "week"}
    assert set(draw.year_pictures(made_year(3))) == {"hours", "modes", "store"}


# -- profiles of a bed -------------------------------------------------------------------------------------------------


def test_the_front_of_a_straight_profile_is_eight_tenths_of_its_length() -> None:
    height = np.linspace(0.01, 5.99, 300)
    for long in (0.5, 1.0, 3.0):
        profile = np.interp(height, [3 - long / 2, 3 + long / 2], [300.0, 900.0])
        for order in (1, -1):
            bed = BedProfiles(np.array([0.0]), height[::order], profile[None, ::order])
            assert bed.front()[0] == pytest.approx(0.8 * long, rel=1e-9)


# Fourier, exact solution for conduction between two half-spaces at two temperatures: T = erf-profile, so that 10 % to
# 90 % of the step lie 2 * 1.2816 standard deviations apart, sigma = sqrt(2 a t) (normal tables: z(0.9) = 1.28155)
@pytest.mark.book
def test_the_front_of_a_spreading_step_grows_as_the_root_of_time() -> None:
    from scipy.stats import norm

    height, times = np.linspace(0.005, 9.995, 1000), np.array([1e4, 4e4, 9e4])
    sigma = np.sqrt(2 * 1e-6 * times)
    bed = BedProfiles(times, height, 300.0 + 500.0 * norm.cdf((height - 5.0) / sigma[:, None]))
    assert bed.front() == pytest.approx(2 * 1.28155 * sigma, rel=1e-3)


def test_a_bed_at_one_temperature_has_no_front() -> None:
    bed = BedProfiles(np.arange(2.0), np.arange(5.0), np.array([[300.0] * 5, [800.0] * 5]))
    assert bed.front().tolist() == [0.0, 0.0]


@pytest.mark.parametrize(("times", "heights", "shape"), [
    ([0.0, 1.0], [0.0, 1.0, 2.0], (2, 4)), ([0.0, 0.0], [0.0, 1.0, 2.0], (2, 3)), ([0.0], [0.0, 2.0, 1.0], (1, 3)),
    ([], [0.0, 1.0, 2.0], (0, 3)), ([0.0, np.nan], [0.0, 1.0, 2.0], (2, 3))])
def test_profiles_that_do_not_fit_are_refused(times: list[float], heights: list[float], shape: tuple[int, int]) -> None:
    with pytest.raises(ParameterError):
        BedProfiles(np.array(times), np.array(heights), np.full(shape, 300.0))


def test_chosen_times_run_from_first_to_last() -> None:
    bed = BedProfiles(np.arange(31.0), np.arange(4.0), np.full((31, 4), 300.0))
    assert bed.chosen(6).tolist() == [0, 6, 12, 18, 24, 30]
    assert BedProfiles(np.arange(2.0), np.arange(4.0), np.full((2, 4), 300.0)).chosen(6).tolist() == [0, 1]
