"""Fixed and seasonally set collectors against textbook angles, pvlib, the second law, and symmetry."""

from __future__ import annotations

import numpy as np
import pvlib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.fixed import (
    OBLIQUITY,
    SUN_HALF_ANGLE,
    Fixed,
    SeasonalTilt,
    concentration_limit,
    declination,
    seasonal_declination,
)
from components.tracking import OneAxis, TwoAxis
from loopnet.errors import ParameterError


def sun(latitude, delta, hour):
    """Zenith and azimuth [rad] from latitude, declination and hour angle [degrees]."""
    f, d, w = np.radians(latitude), np.radians(delta), np.radians(hour)
    up = np.sin(f) * np.sin(d) + np.cos(f) * np.cos(d) * np.cos(w)
    north = np.sin(d) * np.cos(f) - np.cos(d) * np.sin(f) * np.cos(w)
    return np.arccos(np.clip(up, -1, 1)), np.arctan2(-np.cos(d) * np.sin(w), north)


# Duffie & Beckman, 4th ed., examples 1.6.1 and 1.8.1 (text seen, values from memory): Madison, 43 degrees north, 13
# February (declination -14) at 10:30 solar time, slope 45, 15 degrees west of south: 35 degrees; ratio of beam 1.66.
@pytest.mark.book
def test_incidence_example_of_duffie_and_beckman():
    zenith, azimuth = sun(43.0, -14.0, -22.5)
    beam = Fixed(tilt=np.radians(45.0), azimuth=np.radians(195.0)).incidence(zenith, azimuth)
    assert np.degrees(beam.theta) == pytest.approx(35.0, abs=0.5)
    assert beam.cos / np.cos(zenith) == pytest.approx(1.66, abs=0.01)


# pvlib 0.16.1, irradiance.aoi and shading.shaded_fraction1d: computed, random suns and slopes.
@pytest.mark.book
def test_any_slope_against_pvlib():
    draw = np.random.default_rng(2)
    zenith, azimuth = draw.uniform(0, 89, 200), draw.uniform(0, 360, 200)
    for tilt, facing in [(0.0, 180.0), (30.0, 180.0), (55.0, 100.0), (20.0, 330.0)]:
        beam = Fixed(tilt=np.radians(tilt), azimuth=np.radians(facing),
                     ground_cover=0.5).incidence(*np.radians([zenith, azimuth]))
        angle = np.radians(pvlib.irradiance.aoi(tilt, facing, zenith, azimuth))
        np.testing.assert_allclose(beam.cos, np.maximum(np.cos(angle), 0.0), atol=1e-9)
        shaded = pvlib.shading.shaded_fraction1d(zenith, azimuth, axis_azimuth=facing - 90.0, collector_width=1.0,
                                                 shaded_row_rotation=tilt, pitch=2.0)
        front = beam.cos > 1e-6
        np.testing.assert_allclose(beam.factors["shading"][front], 1 - shaded[front], atol=1e-9)


# Second law with the sun's half-angle 4.65 mrad: 1/sin 215.05, 1/sin^2 46 248 (computed, exact); flat collectors 1.
@pytest.mark.book
def test_limits_of_concentration():
    assert concentration_limit(SUN_HALF_ANGLE, "line") == pytest.approx(215.05, abs=0.01)
    assert concentration_limit(SUN_HALF_ANGLE, "point") == pytest.approx(46248, abs=1)
    assert concentration_limit(np.pi / 2, "line") == concentration_limit(np.pi / 2, "point") == 1.0


# A trough along east-west whose slope is the latitude: at the equinox the sun's path lies in its plane of symmetry all
# day, and a small acceptance suffices (Rabl, Solar Energy 18 (1976) 497; from memory, and by geometry).
@pytest.mark.book
@pytest.mark.parametrize("latitude", [-20.0, 31.2, 50.0])
def test_at_the_equinox_an_east_west_trough_accepts_all_day(latitude):
    hours = np.linspace(-70.0, 70.0, 35)
    rows = SeasonalTilt(latitude=np.radians(latitude), adjustments=0, acceptance=0.01)
    equinox = rows.incidence(*sun(latitude, 0.0, hours)).factors["acceptance"]
    assert equinox.tolist() == [1.0] * 35
    summer = np.sign(latitude) * 23.0
    assert rows.incidence(*sun(latitude, summer, hours)).factors["acceptance"].max() == 0.0


@pytest.mark.law
@given(latitude=st.floats(-89, 89), delta=st.floats(-23.4, 23.4), hour=st.floats(-180, 180))
@settings(max_examples=60)
def test_declination_is_found_again(latitude, delta, hour):
    assert np.degrees(declination(*sun(latitude, delta, hour), np.radians(latitude))) == pytest.approx(delta, abs=1e-5)


def test_settings_a_year():
    delta = np.radians(np.linspace(-23.45, 23.45, 401))
    counts = (0, 2, 4, 12, 364)
    steps = {n: seasonal_declination(delta, n) for n in counts}
    assert np.abs(steps[0]).max() < 1e-12
    for n in counts[:4]:
        assert len(np.unique(steps[n].round(9))) == n // 2 + 1
        assert np.abs(steps[n] - delta).max() == pytest.approx(OBLIQUITY / (n // 2 + 1), rel=1e-6)
    np.testing.assert_allclose(steps[364], delta, atol=np.radians(0.13))
    # a year of days crosses the limits between settings as often as it is set
    year = np.arcsin(np.sin(OBLIQUITY) * np.cos(np.linspace(0.01, 2 * np.pi + 0.01, 3651)))
    for n in (2, 4, 12):
        assert np.count_nonzero(np.diff(seasonal_declination(year, n))) == n


def test_a_daily_setting_faces_the_noon_sun_and_none_is_fixed():
    noon = sun(31.2, np.linspace(-23.0, 23.0, 9), 0.0)
    daily = SeasonalTilt(latitude=np.radians(31.2), adjustments=364).incidence(*noon)
    assert np.degrees(daily.theta).max() < 0.13
    zenith, azimuth = sun(31.2, 10.0, np.linspace(-100, 100, 21))
    never = SeasonalTilt(latitude=np.radians(31.2), adjustments=0).incidence(zenith, azimuth)
    fixed = Fixed(tilt=np.radians(31.2)).incidence(zenith, azimuth)
    for name, factor in fixed.factors.items():
        np.testing.assert_allclose(never.factors[name], factor, atol=1e-12)


def test_south_of_the_equator_the_sky_is_mirrored():
    zenith, azimuth = sun(25.0, 15.0, np.array([-50.0, 0.0, 30.0]))
    north = SeasonalTilt(latitude=np.radians(25.0), acceptance=0.3).incidence(zenith, azimuth)
    south = SeasonalTilt(latitude=np.radians(-25.0), acceptance=0.3).incidence(zenith, np.pi - azimuth)
    np.testing.assert_allclose(north.total, south.total, atol=1e-12)
    assert north.cos.min() > 0.3


@pytest.mark.law
@given(zenith=st.floats(0, 1.57), azimuth=st.floats(0, 6.28), axis=st.floats(-3.1, 3.1), lean=st.floats(0, 1.5))
@settings(max_examples=80)
def test_two_axes_collect_at_least_what_one_does_and_one_what_none_does(zenith, azimuth, axis, lean):
    """On the same aperture, unshaded: a plane that is fixed at any angle the one axis could turn it to."""
    none = Fixed(tilt=lean, azimuth=axis + np.pi / 2, ground_cover=0.0).incidence(zenith, azimuth)
    one = OneAxis(azimuth=axis).incidence(zenith, azimuth)
    two = TwoAxis(ground_cover=0.0).incidence(zenith, azimuth)
    assert none.total <= one.cos + 1e-12
    assert one.cos <= two.total + 1e-12


@pytest.mark.law
@given(zenith=st.floats(0, 3.1), azimuth=st.floats(0, 6.28), tilt=st.floats(0, 1.5), cover=st.floats(0.01, 1),
       half=st.floats(0.1, 1.5), focus=st.sampled_from(["line", "point"]))
@settings(max_examples=80)
def test_rows_never_catch_more_than_falls_between_them(zenith, azimuth, tilt, cover, half, focus):
    beam = Fixed(tilt=tilt, ground_cover=cover, acceptance=half, focus=focus).incidence(zenith, azimuth)
    assert beam.factors["cosine"] * beam.factors["shading"] * cover <= max(np.cos(zenith), 0.0) + 1e-12
    assert all(0 <= factor <= 1 for factor in beam.factors.values())
    if np.cos(zenith) <= 0:
        assert beam.cos == 0
        assert beam.factors["shading"] == beam.factors["acceptance"] == 1


@pytest.mark.parametrize(("make", "where"), [
    (lambda: SeasonalTilt(latitude=0.5, adjustments=-2), "adjustments"),
    (lambda: SeasonalTilt(latitude=0.5, adjustments=3), "even number"),
    (lambda: SeasonalTilt(latitude=0.5, focus="plane"), "focus"),
    (lambda: Fixed(focus="plane"), "focus"),
    (lambda: Fixed(acceptance=1e-3), "acceptance"),
    (lambda: SeasonalTilt(latitude=0.9).incidence(0.1, np.pi), "latitude"),
])
def test_what_is_wrong_is_refused_by_name(make, where):
    with pytest.raises(ParameterError, match=where):
        make()
