"""Profiles that stores tell the year: temperatures along them, where, and how many years until they settle."""

from __future__ import annotations

import numpy as np
import pytest

from components.block import Block
from components.ground import Boreholes
from components.inventory import TwoTanks
from components.packed_bed import PackedBed
from components.thermocline import Thermocline

from .store_plants import HOUR, C, Point

AT = {
    "bed": (PackedBed(pressure="14 bar"), ("air", 580.0, 180.0), {"fan": 2e5}, 5.0),
    "thermocline": (Thermocline(), ("nitrate salt", 390.0, 290.0), {}, 14.0),
    "block": (Block(pressure="14 bar"), ("diphenyl oil", 390.0, 300.0), {"pipes": 2000.0}, 80.0),
}


@pytest.mark.parametrize("kind", AT)
def test_a_profile_runs_from_the_hot_end_to_the_cold_one(kind):
    made, (fluid, hot, cold), sized, length = AT[kind]
    point = Point(fluid, hot, cold, **sized)
    march = made.march(point)
    places, empty = march.places(), march.profile(march.start())
    assert places.shape == empty.shape == (made.cells,)
    assert np.all(np.diff(places) > 0)
    assert places[0] + places[-1] == pytest.approx(length)
    np.testing.assert_allclose(empty, cold + C, atol=1e-6)
    flow = 1e12 / march.span / (12 * HOUR)
    state = march.step(march.start(), (flow, float(point.charge.inlet.h[0])), (0.0, 0.0), 298.15, 3 * HOUR).state
    warm = march.profile(state)
    assert warm[0] > hot + C - 30.0
    assert cold + C - 1.0 < warm[-1] < cold + C + 0.6 * (hot - cold)
    assert np.all(np.diff(warm) < 1.0)  # the wall cools what is hot, nothing else bends the front
    assert march.years == 1


def test_the_profile_of_ground_goes_on_into_the_ground_around():
    made = Boreholes(years=6)
    march = made.march(Point("water", 85.0, 40.0, 1e13, pressure=5e5))
    places, start = march.places(), march.profile(march.start())
    assert places.shape == start.shape
    assert np.all(np.diff(places) > 0)
    np.testing.assert_allclose(start, made.undisturbed)
    step = march.step(march.start(), (40.0, march.bed.fluid.h(85.0 + C)), (0.0, 0.0), 290.0, 90 * 24 * HOUR)
    warm = march.profile(step.state)
    assert warm[0] > warm[march.bed.shells - 1] > warm[march.bed.shells] > warm[-1]
    assert warm[-1] == pytest.approx(made.undisturbed, abs=0.5)
    assert march.years == 6


def test_vessels_are_mixed_and_have_no_profile():
    march = TwoTanks().march(Point("nitrate salt", 390.0, 290.0))
    assert not hasattr(march, "profile")
    assert march.years == 1
