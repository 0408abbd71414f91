"""The operating map: few points solved, the rest interpolated; balances kept, error told."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.plants import find_plant, shipped
from loopnet.site import tamarisk_basin
from loopnet.solve import size
from loopnet.year import run_year
from loopnet.year.opmap import polynomial

SKY = tamarisk_basin()
MOST = 1e-3
"""What a map may miss of a year's delivery."""


@pytest.fixture(scope="module")
def years():
    # a whole year: in a few weeks a single start of the turbine, an hour earlier or later, shows
    sized = size(find_plant("sand_silo"))
    return run_year(sized, SKY), run_year(sized, SKY, exact=False)


def delivered(year):
    return year.net if year.gross else year.heat


def test_the_map_is_near_the_exact_year_and_within_its_own_estimate_of_it(years):
    exact, mapped = years
    miss = abs(delivered(mapped) / delivered(exact) - 1.0)
    assert miss < MOST
    assert 0.0 < mapped.error < MOST
    assert exact.error == 0.0


def test_the_map_solves_far_fewer_points(years):
    exact, mapped = years
    assert mapped.points * 3 < exact.points


@pytest.mark.law
def test_energy_closes_on_a_map_as_it_does_on_the_exact_year(years):
    assert years[1].imbalance < 1e-9


def test_light_is_lost_by_name_as_exactly_as_in_the_exact_year(years):
    exact, mapped = (year.losses() for year in years)
    assert list(exact) == list(mapped)
    # what the optics lose follows the hours in which the field runs, not the solution: a full store may differ
    for name in ("cosine", "soiling", "reflector", "spillage"):
        assert mapped[name] == pytest.approx(exact[name], rel=1e-3)


def test_the_estimate_is_in_the_figures(years):
    exact, mapped = (year.to_dict() for year in years)
    assert mapped["estimated_error"] == years[1].error
    assert "estimated_error" not in exact


def test_a_stretch_without_sun_has_a_map_too():
    sized = size(find_plant("sand_silo"))
    night = SKY.slice(0, 5)
    assert run_year(sized, night, exact=False).imbalance < 1e-9


@pytest.mark.law
@given(st.integers(1, 3), st.integers(0, 3), st.integers(0, 10**6))
@settings(max_examples=20, deadline=None)
def test_a_polynomial_is_found_again_and_sums_of_columns_stay_sums(dimensions, degree, seed):
    random = np.random.default_rng(seed)
    x, at = random.uniform(-1, 1, (120, dimensions)), random.uniform(-1, 1, (30, dimensions))
    slope = random.uniform(-1, 1, dimensions)
    noise = 0.1 * random.standard_normal(len(x))
    y = np.stack([(x @ slope) ** degree, noise, (x @ slope) ** degree + noise], axis=1)
    found = polynomial(x, y[:, :1], 1)(at)[:, 0]
    assert found == pytest.approx((at @ slope) ** degree, abs=1e-9)
    one, other, both = polynomial(x, y, 3)(at).T
    assert one + other == pytest.approx(both, abs=1e-9)


def test_every_shipped_plant_with_a_store_can_be_mapped():
    weeks = SKY.slice(24 * 160, 24 * 14)
    for name in shipped():
        year = run_year(size(find_plant(name)), weeks, exact=False)
        assert year.imbalance < 1e-9, name
