"""Trackers against textbook angles, pvlib, published modifiers and brute-force shadows."""

from __future__ import annotations

import pickle

import numpy as np
import pvlib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.incidence import TROUGH_BLACK_CHROME, TROUGH_CERMET, TROUGH_SPACE_FRAME, IncidenceModifier
from components.tracking import OneAxis, TwoAxis, ground_limit, one_axis, row_shading
from loopnet.errors import ParameterError

zeniths, azimuths = st.floats(0.0, np.pi), st.floats(-np.pi, 2 * np.pi)


def sun(latitude, declination, hour):
    """Zenith and azimuth [rad] from latitude, declination and hour angle [degrees]."""
    f, d, w = np.radians(latitude), np.radians(declination), np.radians(hour)
    up = np.sin(f) * np.sin(d) + np.cos(f) * np.cos(d) * np.cos(w)
    north = np.sin(d) * np.cos(f) - np.cos(d) * np.sin(f) * np.cos(w)
    return np.arccos(np.clip(up, -1, 1)), np.arctan2(-np.cos(d) * np.sin(w), north)


# Duffie & Beckman, 4th ed., example 1.7.1: latitude 40, declination 21, hour angles 30 and 100 degrees. East-west axis
# from memory (tolerance of the printed digit); north-south computed with pvlib 0.16.1.
@pytest.mark.book
@pytest.mark.parametrize(("axis", "hour", "theta", "slope", "tolerance"), [
    (90.0, 30.0, 27.8, 16.1, 0.05), (90.0, 100.0, 66.8, 74.3, 0.05),
    (0.0, 30.0, 14.191928, 28.782447, 1e-5), (0.0, 100.0, 22.26, 83.41, 0.01),
])
def test_one_axis_example_of_duffie_and_beckman(axis, hour, theta, slope, tolerance):
    cos, rotation = one_axis(*sun(40.0, 21.0, hour), np.radians(axis))
    assert np.degrees(np.arccos(cos)) == pytest.approx(theta, abs=tolerance)
    assert abs(np.degrees(rotation)) == pytest.approx(slope, abs=tolerance)


# Duffie & Beckman section 1.7, Kalogirou: closed forms for the three usual axes (memory).
@pytest.mark.book
def test_closed_forms_of_the_three_usual_axes():
    f, d, w = 37.0, np.linspace(-23.0, 23.0, 7)[:, None], np.linspace(-75.0, 75.0, 11)
    zenith, azimuth = sun(f, d, w)
    side = np.cos(np.radians(d)) * np.sin(np.radians(w))
    east_west, _ = one_axis(zenith, azimuth, np.pi / 2)
    north_south, _ = one_axis(zenith, azimuth, 0.0)
    polar, _ = one_axis(zenith, azimuth, np.pi, np.radians(f))
    np.testing.assert_allclose(east_west, np.sqrt(1 - side**2), atol=1e-12)
    np.testing.assert_allclose(north_south, np.sqrt(np.cos(zenith) ** 2 + side**2), atol=1e-12)
    np.testing.assert_allclose(polar, np.broadcast_to(np.cos(np.radians(d)), polar.shape), atol=1e-12)


# pvlib 0.16.1, tracking.singleaxis without backtracking: computed, on random suns and axes.
@pytest.mark.book
def test_any_axis_against_pvlib():
    draw = np.random.default_rng(1)
    zenith, azimuth = draw.uniform(0, 89, 200), draw.uniform(0, 360, 200)
    for axis, tilt in [(0.0, 0.0), (180.0, 0.0), (90.0, 0.0), (180.0, 30.0), (230.0, 12.0), (20.0, 55.0)]:
        want = pvlib.tracking.singleaxis(zenith, azimuth, axis_tilt=tilt, axis_azimuth=axis, max_angle=180,
                                         backtrack=False)
        cos, rotation = one_axis(*np.radians([zenith, azimuth]), np.radians(axis), np.radians(tilt))
        np.testing.assert_allclose(cos, np.cos(np.radians(want["aoi"])), atol=1e-9)
        np.testing.assert_allclose(np.degrees(rotation), want["tracker_theta"], atol=1e-6)


# Mean over all daylight hours of the year of cos(theta), declination of Cooper (1969): computed, tolerance 0.002.
@pytest.mark.book
@pytest.mark.parametrize(("latitude", "north_south"), [
    (10, 0.9519), (20, 0.9325), (30, 0.9015), (37, 0.8739), (45, 0.8380), (55, 0.7896),
])
def test_annual_mean_cosine(latitude, north_south):
    day, hour = np.arange(1, 366)[:, None], np.arange(-180.0, 180.0, 2.5)
    zenith, azimuth = sun(latitude, 23.45 * np.sin(np.radians(360 * (284 + day) / 365)), hour)
    up = zenith < np.pi / 2
    assert OneAxis(azimuth=0.0).incidence(zenith, azimuth).cos[up].mean() == pytest.approx(north_south, abs=0.002)
    assert OneAxis(azimuth=np.pi / 2).incidence(zenith, azimuth).cos[up].mean() == pytest.approx(0.6893, abs=0.002)


# pvlib 0.16.1, shading.shaded_fraction1d: computed; rows on level ground.
@pytest.mark.book
def test_row_shading_against_pvlib():
    zenith, azimuth = np.radians(np.linspace(1.0, 89.0, 45)), np.radians(250.0)
    _, rotation = one_axis(zenith, azimuth, np.pi)
    shaded = pvlib.shading.shaded_fraction1d(
        np.degrees(zenith), 250.0, axis_azimuth=180.0, shaded_row_rotation=np.degrees(rotation),
        collector_width=5.0, pitch=14.0)
    np.testing.assert_allclose(row_shading(rotation, 5.0 / 14.0), 1.0 - shaded, atol=1e-9)


# Polynomials of SAND94-1884 (Dudley et al. 1994) and Geyer et al. 2002 at 10 to 60 degrees, as quoted by later
# authors: seen; values computed by hand from them to four digits.
@pytest.mark.book
@pytest.mark.parametrize(("modifier", "values"), [
    (TROUGH_CERMET, [0.9883, 0.9359, 0.8442, 0.7155, 0.5528, 0.3598]),
    (TROUGH_BLACK_CHROME, [0.9782, 0.9201, 0.8273, 0.7018, 0.5468, 0.3660]),
    (TROUGH_SPACE_FRAME, [0.9767, 0.9178, 0.8245, 0.6993, 0.5450, 0.3655]),
])
def test_incidence_modifiers_as_published(modifier, values):
    theta = np.radians(np.arange(10.0, 61.0, 10.0))
    np.testing.assert_allclose(modifier(theta, with_cosine=True), values, atol=6e-5)
    np.testing.assert_allclose(modifier(theta) * np.cos(theta), values, atol=6e-5)


def test_modifier_without_cosine_is_turned_into_one_with_it():
    plain = IncidenceModifier(c1=-0.001, includes_cosine=False)
    theta = np.radians(30.0)
    assert plain(theta) == pytest.approx(0.97)
    assert plain(theta, with_cosine=True) == pytest.approx(0.97 * np.cos(theta))
    assert TROUGH_CERMET(np.radians([80.0, 90.0])).tolist() == [0.0, 0.0]


# Brute force: discs on a square grid, shadows of the neighbours on points of one disc, mean over the sun azimuths of an
# octant (the grid has no other). Computed; tolerance as stated for the exponent 3.
@pytest.mark.book
@pytest.mark.parametrize("zenith", np.radians([20.0, 50.0, 65.0, 75.0, 80.0]))
def test_two_axis_shading_against_discs_on_a_square_grid(zenith):
    radius, n = np.sqrt(0.25 / np.pi), np.arange(100) + 0.5
    turn = np.pi * (1 + np.sqrt(5)) * n
    disc = radius * np.sqrt(n / 100)[:, None] * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    grid = np.array([(i, j) for i in range(-15, 16) for j in range(-15, 16) if (i, j) != (0, 0)], float)
    lit = []
    for azimuth in np.pi / 4 * (np.arange(60) + 0.5) / 60:
        ahead, aside = grid @ [np.sin(azimuth), np.cos(azimuth)], grid @ [np.cos(azimuth), -np.sin(azimuth)]
        shadow = np.stack([aside, -ahead * np.cos(zenith)], axis=-1)[ahead > 0]
        shadow = shadow[(shadow**2).sum(axis=1) < 4 * radius**2]
        hit = ((disc[:, None] - shadow) ** 2).sum(-1) < radius**2
        lit.append(1 - hit.any(axis=1).mean())
    assert ground_limit(zenith, 0.25) == pytest.approx(np.mean(lit), abs=0.05)


@pytest.mark.law
@given(zenith=zeniths, azimuth=azimuths, axis=st.floats(-np.pi, np.pi), tilt=st.floats(0, np.pi / 2))
@settings(max_examples=60, deadline=None)
def test_two_axes_never_catch_less_than_one_and_cosines_stay_in_range(zenith, azimuth, axis, tilt):
    one = OneAxis(azimuth=axis, tilt=tilt).incidence(zenith, azimuth)
    two = TwoAxis().incidence(zenith, azimuth)
    assert 0 <= one.cos <= two.cos <= 1
    for beam in (one, two):
        modified = beam.modified(TROUGH_CERMET)
        assert all(0 <= value <= 1.06 for value in modified.factors.values())
        assert modified.total == pytest.approx(np.prod([float(v) for v in modified.factors.values()]))
        assert np.cos(zenith) > 0 or (beam.cos == 0 and beam.theta == np.pi / 2 and modified.factors["shading"] == 1)


@pytest.mark.law
@given(zenith=st.floats(0, 1.57), cover=st.floats(0.01, 1), n=st.floats(1, 20))
@settings(max_examples=60, deadline=None)
def test_shading_never_lets_more_beam_pass_than_falls_on_the_ground(zenith, cover, n):
    lit = ground_limit(zenith, cover, n)
    assert 0 <= lit <= 1
    assert lit * cover <= np.cos(zenith) * (1 + 1e-12)
    assert lit <= ground_limit(zenith, cover * 0.9, n)


@pytest.mark.parametrize(("make", "where"), [
    (lambda: OneAxis(row_spacing=3.0), "row_spacing"),
    (lambda: OneAxis(aperture_width=-1.0), "aperture_width"),
    (lambda: TwoAxis(ground_cover=1.5), "ground_cover"),
    (lambda: IncidenceModifier(c0="high"), "c0"),
])
def test_bad_parameters_are_refused_by_name(make, where):
    with pytest.raises(ParameterError, match=where):
        make()


def test_end_loss_and_pickles():
    rows = OneAxis(azimuth=0.0, focal_length=2.0, row_length=100.0)
    assert rows.incidence(np.radians(45.0), np.pi).factors["end loss"] == pytest.approx(0.98)
    assert pickle.loads(pickle.dumps(rows)) == rows
    assert OneAxis(**rows.to_dict()) == rows
