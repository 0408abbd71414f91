"""The march in numbers alone is the march: same hours, whoever walks them."""

import numpy as np
import pytest

import components.inventory
import components.inventory_walk
from loopnet.plants import find_plant
from loopnet.site import tamarisk_basin
from loopnet.solve import size
from loopnet.year import FollowTheSun, Operation, OptimalPlan, run_year

WEEKS = tamarisk_basin().slice(24 * 70, 24 * 21)


def both(monkeypatch, sized, **options):
    """A year walked by the store itself, uncompiled so that a debugger may look, and one marched."""
    monkeypatch.setattr(components.inventory, "compiled", lambda: components.inventory_walk.walk)
    walked = run_year(sized, WEEKS, exact=False, **options)
    monkeypatch.setattr(components.inventory, "compiled", lambda: None)
    return walked, run_year(sized, WEEKS, exact=False, **options)


@pytest.mark.parametrize("name", ["sand_silo", "oil_salt"])
@pytest.mark.parametrize("options", [{}, {"dispatch": FollowTheSun(linger="3 hour")},
                                     {"operation": Operation(ready=0.9, outages="03-20")}])
def test_hours_are_the_same(monkeypatch, name, options):
    walked, marched = both(monkeypatch, size(find_plant(name)), **options)
    for column in marched.hourly:
        scale = float(np.abs(marched.hourly[column]).max()) or 1.0
        assert walked.hourly[column].to_numpy() == pytest.approx(marched.hourly[column].to_numpy(), abs=1e-8 * scale), (
            column)


def test_years_go_on_from_one_another(monkeypatch):
    walked, marched = both(monkeypatch, size(find_plant("sand_silo")), years=3)
    assert walked.delivered_before == pytest.approx(marched.delivered_before, rel=1e-9)
    assert walked.net == pytest.approx(marched.net, rel=1e-9)


def test_compiled_gives_what_its_source_gives(monkeypatch):
    sized, loop = size(find_plant("salt_tower")), components.inventory_walk.compiled()
    assert loop is not None, "numba belongs to the test extra"
    monkeypatch.setattr(components.inventory, "compiled", lambda: loop)
    compiled = run_year(sized, WEEKS, exact=False)
    monkeypatch.setattr(components.inventory, "compiled", lambda: components.inventory_walk.walk)
    plain = run_year(sized, WEEKS, exact=False)
    assert compiled.net == pytest.approx(plain.net, rel=1e-9)


def test_a_rule_that_no_numbers_tell_is_marched(monkeypatch):
    monkeypatch.setattr(components.inventory, "compiled", lambda: pytest.fail("walked"))
    year = run_year(size(find_plant("sand_silo")), WEEKS.slice(0, 48), exact=False,
                    dispatch=OptimalPlan(prices=[0.0] * 12 + [1e-8] * 12))
    assert "plan" in year.dispatch


@pytest.mark.law
def test_a_long_rest_does_not_block_the_store():
    # the heel of the hot silo cools; refilled, the silo is colder than an empty one may be, and must still be drawn
    sized, weeks = size(find_plant("sand_silo")), tamarisk_basin().slice(24 * 50, 24 * 42)
    rested = run_year(sized, weeks, operation=Operation(outages="03-01 to 03-14"), exact=False)
    whole = run_year(sized, weeks, exact=False)
    assert rested.net > 0.6 * whole.net  # two weeks of six
    last = slice(-24 * 7, None)
    assert rested.hourly.generating[last].sum() > 0.7 * whole.hourly.generating[last].sum()
