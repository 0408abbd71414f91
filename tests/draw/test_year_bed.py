"""Temperatures along a store through a year: which day, which places, which times."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopnet import draw
from loopnet.errors import ParameterError
from loopnet.year.profiles import Profiles

from .made_years import made_year


def with_profiles(days=60, *, slow=False):
    """A front that stands where the store's content says; far away nothing is felt."""
    year = made_year(days)
    held = year.hourly["store"].to_numpy()
    if slow:
        held = np.sin(np.arange(len(held)) / len(held) * np.pi) * held.max()
        year = replace(year, hourly=year.hourly.assign(store=held))
    places = np.linspace(0.25, 9.75, 20)
    front = 6.0 * held / held.max()
    kelvin = (500.0 + 300.0 / (1.0 + np.exp(4.0 * (places - front[:, None])))).astype(np.float32)
    return replace(year, profiles=Profiles(places, kelvin)), held


def test_the_liveliest_day_beside_the_year():
    year, held = with_profiles()
    day, whole = draw.beds_of(year)
    swing = np.ptp(held.reshape(-1, 24), axis=1)
    assert day.temperatures.shape[0] == 24
    piece = year.profiles.kelvin[24 * swing.argmax():24 * swing.argmax() + 24]
    np.testing.assert_array_equal(day.temperatures, piece[:, :day.temperatures.shape[1]])
    assert day.times[0] == 3600.0
    assert day.downward
    assert whole.downward
    assert whole.temperatures.shape[0] in (480, 60, 1440)


def test_a_long_year_is_told_at_the_same_hour_of_each_day():
    year, _ = with_profiles(365)
    whole = draw.beds_of(year)[1]
    assert len(whole.times) == 365
    np.testing.assert_allclose(np.diff(whole.times), 86400.0)
    assert whole.times[0] == 19 * 3600.0  # the end of the step that begins at six in the evening


def test_places_that_feel_nothing_are_left_out():
    year, _ = with_profiles()
    kept = draw.beds_of(year)[0].heights
    change = np.ptp(year.profiles.kelvin, axis=0)
    assert 3 < len(kept) < 20
    assert change[len(kept) - 1] >= 1.0
    assert change[len(kept):].max() < 1.0


def test_a_store_for_the_season_shows_its_year_in_both():
    year, _ = with_profiles(365, slow=True)
    day, whole = draw.beds_of(year)
    assert day is whole
    assert len(whole.times) == 365


def test_a_year_without_profiles_has_no_such_picture():
    year = made_year(20)
    with pytest.raises(ParameterError, match="kept no temperatures"):
        draw.beds_of(year)
    assert "bed" not in draw.year_pictures(year)
    assert "bed" in draw.year_pictures(with_profiles(20)[0])


@pytest.mark.parametrize("slow", [False, True])
def test_the_picture_names_its_axes_and_runs_downward(slow):
    ax = draw.draw_bed_year(with_profiles(60, slow=slow)[0])
    panels = ax.child_axes
    assert panels[0].get_ylim()[0] > panels[0].get_ylim()[1]  # the hot end is on top
    said = " ".join(text.get_text() for text in ax.texts)
    assert "way from the hot end [m]" in said
    assert "time [day]" in said
    assert ("day 1" in said) == slow
    assert ("at 24 h" in said) == (not slow)
