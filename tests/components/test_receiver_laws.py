"""Laws that every receiver keeps, whatever its kind: one suite over all of them."""

from __future__ import annotations

import pickle
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.catalogue import receiver, receivers
from components.receiver import Receiver, TubeLoss, reaches
from components.receiver_air import OpenVolumetric, WindowedAir
from components.receiver_steam import BoilingRow
from components.receiver_surface import cavity_convection, cylinder_convection, fourth_powers, opening_wind
from components.receiver_tower import Cavity
from components.receiver_tube import BareTube, EvacuatedTube, GlazedBox
from loopnet.media import medium

CALM: list[Receiver] = [
    *(replace(kind, sky_drop=0.0) if hasattr(kind, "sky_drop") else kind for kind in map(receiver, receivers())),
    EvacuatedTube(gas="hydrogen", gas_pressure=30.0), GlazedBox(), GlazedBox(facing="up"), Cavity(),
    BoilingRow(tube=BareTube()),
]
"""All of the catalogue and some more, under a sky as warm as the air."""
OPEN = [kind for kind in CALM if not isinstance(kind, (TubeLoss, EvacuatedTube, WindowedAir, GlazedBox))]
SKY = [replace(kind, sky_drop=15.0) for kind in CALM if hasattr(kind, "sky_drop")]
AIR = medium("air")

kinds, skies, opens = (st.sampled_from(group) for group in (CALM, SKY, OPEN))
ambients, winds = st.floats(240, 325), st.floats(0, 25)


@pytest.mark.law
@given(kind=kinds, ambient=ambients, over=st.floats(-20, 550), step=st.floats(0.5, 100), wind=winds)
@settings(max_examples=150, deadline=None)
def test_loss_rises_with_temperature_from_nothing_at_ambient(kind, ambient, over, step, wind):
    t = ambient + over
    assert kind(t + step, ambient, wind) > kind(t, ambient, wind)
    assert kind(ambient, ambient, wind) == pytest.approx(0.0, abs=1e-9)
    if abs(over) > 1e-6:
        assert (kind(t, ambient, wind) > 0) == (over > 0)


@pytest.mark.law
@given(kind=kinds, ambient=ambients, over=st.floats(1, 550), wind=st.floats(0, 20), gust=st.floats(0.1, 8))
@settings(max_examples=120, deadline=None)
def test_wind_never_lowers_a_loss(kind, ambient, over, wind, gust):
    calm, windy = kind(ambient + over, ambient, wind), kind(ambient + over, ambient, wind + gust)
    small = 2 * getattr(kind, "tolerance", 0.0) * (abs(calm) + 0.05)  # the error that a table may have
    assert windy >= calm - small
    if kind in OPEN and not isinstance(kind, (TubeLoss, BoilingRow)):
        assert windy >= calm


@pytest.mark.law
@given(kind=skies, ambient=ambients, over=st.floats(0, 550), wind=winds)
@settings(max_examples=80, deadline=None)
def test_a_colder_sky_takes_more(kind, ambient, over, wind):
    assert kind(ambient + over, ambient, wind) > replace(kind, sky_drop=0.0)(ambient + over, ambient, wind) - 1e-9


@pytest.mark.law
@given(ambient=ambients, over=st.floats(1, 550), wind=winds, emissivity=st.floats(0.05, 1.0), angle=st.floats(0, 1.57),
       drop=st.floats(0, 20))
@settings(max_examples=60, deadline=None)
def test_never_more_than_a_black_surface_and_its_air(ambient, over, wind, emissivity, angle, drop):
    t = ambient + over
    black = fourth_powers(t, ambient - drop)
    cavity = Cavity(emissivity=emissivity, down=angle, sky_drop=drop, shell=0.0)
    air = cavity_convection(t, ambient, cavity.opening, cavity.depth, angle) * cavity.inside
    air = (air + opening_wind(t, ambient, cavity.opening, wind)) * over
    assert cavity.per_opening(t, ambient, wind) <= (black + air) * (1 + 1e-12)
    tube = BareTube(emissivity=emissivity, sky_drop=drop)
    area = np.pi * tube.outer_diameter
    most = area * (black + cylinder_convection(t, ambient, tube.outer_diameter, wind) * over)
    assert tube(t, ambient, wind) * tube.aperture_width <= most * (1 + 1e-12)
    glazed = EvacuatedTube(emissivity=emissivity, emissivity_square=0.0, sky_drop=drop, gas_pressure=1e-6)
    assert glazed.per_metre(t, ambient, wind) <= area * black * (1 + 1e-6)
    open_air = OpenVolumetric(emissivity=emissivity, gusty=0.0, sky_drop=drop)
    assert open_air(t, ambient) * open_air.concentration <= black * (1 + 1e-12)


@pytest.mark.law
@given(kind=kinds, ambient=ambients, t_in=st.floats(330, 700), rise=st.floats(20, 200), absorbed=st.floats(100, 900),
       wind=st.floats(0, 12))
@settings(max_examples=120, deadline=None)
def test_useful_heat_is_never_above_what_is_absorbed(kind, ambient, t_in, rise, absorbed, wind):
    if isinstance(kind, BoilingRow):
        fluid, pressure = medium("water"), 50e5
        h_in, h_out = (float(fluid.h(t, pressure)) for t in (t_in, t_in + rise))
    else:
        fluid, pressure = AIR, None
        h_in, h_out = AIR.h(t_in), AIR.h(t_in + rise)

    def loss(t):
        return kind(t, ambient, wind, 900.0)

    if not reaches(h_out, absorbed, loss, lambda h: fluid.T(h, pressure)):
        return
    net = float(kind.net(h_in, h_out, absorbed, loss, fluid, ambient, pressure))
    assert 0 < net <= absorbed
    assert float(kind.net(h_in, h_out, absorbed * 1.1, loss, fluid, ambient, pressure)) > net


@pytest.mark.parametrize("kind", CALM, ids=lambda kind: type(kind).__name__)
def test_many_points_equal_one_by_one(kind):
    rng = np.random.default_rng(1)
    ambient, wind, dni = rng.uniform(250, 320, 5), rng.uniform(0, 12, 5), rng.uniform(0, 1000, 5)
    t = rng.uniform(300, 800, (12, 5))
    whole = kind(t, ambient, wind, dni)
    assert whole.shape == (12, 5)
    single = [[float(kind(t[i, j], ambient[j], wind[j], dni[j])) for j in range(5)] for i in range(12)]
    np.testing.assert_allclose(whole, single, rtol=1e-10, atol=1e-9)
    assert np.all(np.isfinite(kind(np.array([-200.0, 0.0, 5000.0]), 300.0, 3.0)))


@pytest.mark.parametrize("kind", CALM, ids=lambda kind: type(kind).__name__)
def test_smooth_enough_for_newton(kind):
    """No jump of the slope with temperature, wind or ambient along a fine line away from ambient."""
    for line in ((np.linspace(400, 800, 1601), 300.0, 3.0), (650.0, np.linspace(250, 320, 1601), 3.0),
                 (650.0, 300.0, np.linspace(0.5, 12, 1601))):
        slope = np.diff(kind(*line, 900.0) * np.ones(1601))
        assert np.max(np.abs(np.diff(slope))) < 0.1 * np.max(np.abs(slope)) + 1e-9


@pytest.mark.parametrize("kind", CALM, ids=lambda kind: type(kind).__name__)
def test_is_data(kind):
    kind(600.0, 300.0, 3.0)  # with its table or coefficients made
    again = pickle.loads(pickle.dumps(kind))
    assert again == kind
    assert hash(again) == hash(kind)
    assert float(again(600.0, 300.0, 3.0)) == float(kind(600.0, 300.0, 3.0))
    assert kind.findings(np.array([600.0]), np.array([300.0]), medium("water")) is not None
    if not isinstance(kind, BoilingRow):
        assert type(kind)(**kind.to_dict()) == kind
