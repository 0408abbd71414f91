"""A field of mirrors around a tower against published fits, its own mirrors, and symmetry."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.heliostats import HeliostatField, attenuation, heliostat_cosine
from loopnet.errors import ParameterError

FIELD = HeliostatField()


# Leary & Hankins, SAND77-8280 (1979), clear day: 0.99321 - 0.1176 S + 0.0197 S^2 up to 1 km, exp(-0.1106 S) beyond
# (memory). Two fits of the same air: they agree within 0.01 to 1 km, 0.03 to 2 km.
@pytest.mark.book
def test_attenuation_against_another_fit():
    s = np.array([0.1, 0.5, 1.0, 2.0])
    other = np.where(s <= 1, 0.99321 - 0.1176 * s + 0.0197 * s**2, np.exp(-0.1106 * s))
    np.testing.assert_array_less(np.abs(attenuation(1000 * s) - other), [0.01, 0.01, 0.01, 0.03])


# A commercial 11 MW saturated-steam tower at 37.4 degrees north, 100 m tower, mirrors poleward to some 7.5 tower
# heights: design optical efficiency of the field 0.77 with reflectance about 0.88 (memory), so 0.875 without it.
@pytest.mark.book
def test_poleward_field_at_design_point():
    field = HeliostatField(tower_height=100.0, outer_radius=7.5, sector=np.radians(60.0))
    assert field.incidence(np.radians(37.4), np.pi).total == pytest.approx(0.875, abs=0.04)


def test_heliostat_table_is_the_mean_over_the_mirrors():
    field = HeliostatField(tower_height=120.0, sector=np.radians(70.0))
    draw = np.random.default_rng(3)
    zenith, azimuth = draw.uniform(0, np.pi / 2, 300), draw.uniform(-7, 7, 300)
    cos, distance = heliostat_cosine(zenith, azimuth, field)
    beam = field.incidence(zenith, azimuth)
    np.testing.assert_allclose(beam.cos, cos.mean(axis=-1), atol=2e-4)
    through = (cos * attenuation(distance)).mean(axis=-1) / cos.mean(axis=-1) * field.blocking
    np.testing.assert_allclose(beam.factors["attenuation and blocking"], through, atol=2e-4)


def test_mirror_halves_the_angle():
    field = HeliostatField(tower_height=50.0)
    place = field.layout()
    cos, distance = heliostat_cosine(0.0, 0.0, field)
    np.testing.assert_allclose(np.arccos(cos) * 2, np.arctan2(np.hypot(*place.T), 50.0), atol=1e-7)
    np.testing.assert_allclose(distance**2, (place**2).sum(axis=1) + 2500.0)


def test_field_in_the_south_mirrors_one_in_the_north():
    zenith, azimuth = np.radians([20.0, 50.0, 80.0]), np.radians([100.0, 200.0, 300.0])
    north = HeliostatField(sector=1.0).incidence(zenith, azimuth)
    south = HeliostatField(sector=1.0, centre=np.pi).incidence(zenith, np.pi - azimuth)
    np.testing.assert_allclose(north.total, south.total, rtol=1e-3)
    assert (north.total > HeliostatField(sector=1.0, centre=np.pi).incidence(zenith, azimuth).total)[1]


@pytest.mark.law
@given(zenith=st.floats(0.0, np.pi), azimuth=st.floats(-np.pi, 2 * np.pi))
@settings(max_examples=60, deadline=None)
def test_factors_stay_in_range_and_nothing_is_lost_twice_at_night(zenith, azimuth):
    beam = FIELD.incidence(zenith, azimuth)
    assert all(0 <= value <= 1 for value in beam.factors.values())
    assert np.cos(zenith) > 0 or (beam.cos == 0 and beam.theta == np.pi / 2 and beam.factors["shading"] == 1)


def test_a_field_without_ground_is_refused_by_name():
    with pytest.raises(ParameterError, match="outer_radius"):
        HeliostatField(outer_radius=0.5)
