"""Receivers against published heat losses and efficiencies; the row against adaptive quadrature."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from components.catalogue import receiver
from components.receiver import (
    CavityLoss,
    TubeLoss,
    aperture_per_flow,
    mean_loss,
    mean_net,
    reaches,
    return_air_factor,
    row_flow,
)

TUBE_1990S, SALT_TOWER, AIR_TOWER, PARTICLE_CURTAIN = (receiver(name) for name in (
    "evacuated_tube_1990s", "salt_tower", "air_tower", "particle_curtain"))
KINDS = [TubeLoss(rise=0.013), TUBE_1990S, SALT_TOWER, AIR_TOWER, PARTICLE_CURTAIN]


def temperature(h):
    return 273.15 + h / 2000.0


def enthalpy(t):
    return 2000.0 * (t - 273.15)


# Burkholder & Kutscher, NREL/TP-550-45633 (2009): equation from memory, table computed from it.
@pytest.mark.book
@pytest.mark.parametrize(("celsius", "watts"), [
    (100, 14.7), (200, 38.6), (300, 94.8), (350, 146.6), (400, 222.3), (450, 329.2), (500, 475.5),
])
def test_tube_loss_per_metre(celsius, watts):
    assert TubeLoss().per_metre(celsius + 273.15) == pytest.approx(watts, abs=0.06)


# Radiation alone: absorber 70 mm, emissivity 0.095, 400 degC to glass near 60 degC: 228.64 W/m (computed by hand).
# The opening of a tube is its surface, so concentration 1 per area, times pi d. The tube test is within 10 %.
@pytest.mark.book
def test_radiation_cross_check():
    surface = CavityLoss(emissivity=0.095, concentration=1.0, still=0.0, gusty=0.0)
    per_metre = float(surface(673.15, 333.15)) * np.pi * 0.07
    assert per_metre == pytest.approx(228.64, abs=0.01)
    assert TubeLoss().per_metre(673.15) == pytest.approx(per_metre, rel=0.10)


# Luepfert et al., J. Sol. Energy Eng. 130 (2008) 021007: about 300 W/m around 390 degC (seen), and the 2007 tests of
# older tubes: 370 W/m at 400 degC (seen). The two parameter sets enclose the first and meet the second.
@pytest.mark.book
def test_tubes_of_two_generations_enclose_field_measurements():
    assert TubeLoss().per_metre(663.15) < 300.0 < TUBE_1990S.per_metre(663.15) * 1.15
    assert TUBE_1990S.per_metre(673.15) == pytest.approx(370.0, rel=0.10)


# Trough module tests, SAND94-1884 (1994), cermet in vacuum, aperture 39.2 m2: irradiance, ambient, inlet seen; outlet
# and efficiency from memory. Optics 0.733 (seen). Tolerance 3.5 points: the report's own fit is off by up to 4.0.
@pytest.mark.book
@pytest.mark.parametrize(("dni", "wind", "ambient", "inlet", "outlet", "percent"), [
    (933.7, 2.6, 21.2, 102.2, 124.0, 72.51), (968.2, 3.7, 22.4, 151.0, 173.3, 70.90),
    (982.3, 2.5, 24.3, 197.5, 219.5, 70.17), (909.5, 3.3, 26.2, 250.7, 269.4, 70.25),
    (937.9, 1.0, 28.8, 297.8, 316.9, 67.98), (880.6, 2.9, 27.5, 299.0, 317.2, 68.92),
    (920.9, 2.6, 29.5, 379.5, 398.0, 62.34), (903.2, 4.2, 31.1, 355.9, 374.0, 63.83),
])
def test_trough_efficiency_points(dni, wind, ambient, inlet, outlet, percent):
    net = mean_net(enthalpy(inlet + 273.15), enthalpy(outlet + 273.15), 0.733 * dni,
                   lambda t: TUBE_1990S(t, ambient + 273.15, wind, dni), temperature)
    assert 100 * net / dni == pytest.approx(percent, abs=3.5)


# Black body under C suns of 1000 W/m2, surroundings at 0 K, eta = 1 - sigma T^4 / (C I): computed, exact.
@pytest.mark.book
@pytest.mark.parametrize(("suns", "celsius", "eta"), [
    (600, 600, 0.9451), (600, 700, 0.9152), (600, 800, 0.8747), (1000, 600, 0.9670), (1000, 700, 0.9491),
    (1000, 800, 0.9248),
])
def test_black_body_bound(suns, celsius, eta):
    ideal = CavityLoss(emissivity=1.0, concentration=suns, still=0.0, gusty=0.0)
    assert 1 - ideal(celsius + 273.15, 0.0) / 1000 == pytest.approx(eta, abs=5e-5)


# Black-body receiver and Carnot engine, Fletcher & Moen, Science 197 (1977) 1050; Steinfeld & Schubnell, Solar Energy
# 50 (1993) 19: best temperature and stagnation, C suns of 1000 W/m2, sink 298.15 K, surroundings at 0 K: computed
# (published 1106 K at C 1000 and 1507 K at C 5000, memory; tolerance 3 K).
@pytest.mark.book
@pytest.mark.parametrize(("suns", "best", "eta", "stagnation"), [
    (100, 718.1, 0.4966, 1152.4), (1000, 1105.1, 0.6685, 2049.3), (5000, 1504.9, 0.7552, 3064.4),
])
def test_best_temperature_of_a_black_receiver(suns, best, eta, stagnation):
    ideal = CavityLoss(emissivity=1.0, concentration=suns, still=0.0, gusty=0.0)
    t = np.arange(300.0, 3100.0, 0.1)
    work = (1 - ideal(t, 0.0) / 1000) * (1 - 298.15 / t)
    assert t[work.argmax()] == pytest.approx(best, abs=3.0)
    assert work.max() == pytest.approx(eta, abs=5e-5)
    assert ideal(stagnation, 0.0) == pytest.approx(1000.0, rel=2e-4)


# SAND2002-0120 (Pacheco ed. 2002), salt receiver 290 to 565 degC: 88 % in low wind (seen), mean flux 430 kW/m2
# (memory). Light on the receiver per collector aperture 430 kW/m2 / 700. Tolerance 3 points (stated test uncertainty).
@pytest.mark.book
def test_salt_receiver_efficiency():
    light = 430e3 / SALT_TOWER.concentration
    assert 0.5 < light / 1000 < 0.75  # what a field of mirrors delivers of 1000 W/m2, common practice
    net = mean_net(enthalpy(563.15), enthalpy(838.15), SALT_TOWER.absorptance * light,
                   lambda t: SALT_TOWER(t, 293.15, 2.0, 1000.0), temperature)
    assert net / light == pytest.approx(0.88, abs=0.03)


# Hoffschmidt et al., J. Sol. Energy Eng. 125 (2003) 87: open volumetric receiver, 76 +/- 7 % at 700 degC air,
# return ratio 46 % (seen); mean flux 500 kW/m2 and return at 120 degC assumed. cp of air 1.05 kJ/kgK. The
# front is as hot as the outgoing air.
@pytest.mark.book
def test_open_air_receiver_efficiency():
    light = 500e3 / AIR_TOWER.concentration
    assert 0.5 < light / 1000 < 0.75  # what a field of mirrors delivers of 1000 W/m2, common practice
    net = AIR_TOWER.absorptance * light - AIR_TOWER(973.15, 298.15, 2.0)
    air = return_air_factor(1050 * 973.15, 1050 * 393.15, 1050 * 298.15, 0.46)
    assert net * air / light == pytest.approx(0.76, abs=0.07)


# Falling particles at 700 degC: goal above 90 %, measured 50 to 80 % on sun at 1 MWth (seen); a design between.
@pytest.mark.book
def test_particle_curtain_lies_between_test_and_goal():
    net = mean_net(enthalpy(773.15), enthalpy(973.15), PARTICLE_CURTAIN.absorptance * 800.0,
                   lambda t: PARTICLE_CURTAIN(t, 298.15, 3.0), temperature)
    assert 0.80 < net / 800.0 < 0.90


# scipy.integrate.quad: computed.
@pytest.mark.book
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("margin", [1.301, 2.0, 6.0])
def test_quadrature_of_the_row(kind, margin):
    low, high = (450.0, 770.0) if isinstance(kind, TubeLoss) else (400.0, 1050.0)
    absorbed = margin * float(kind(high, 298.15, 3.0, 900.0))

    def loss(t):
        return kind(t, 298.15, 3.0, 900.0)

    exact = quad(lambda h: 1 / (absorbed - float(loss(temperature(h)))), enthalpy(low), enthalpy(high),
                 epsabs=0, epsrel=1e-12)[0]
    got = aperture_per_flow(enthalpy(low), enthalpy(high), absorbed, loss, temperature)
    assert got == pytest.approx(exact, rel=1e-8)


@pytest.mark.law
@given(ambient=st.floats(250, 320), t=st.floats(250, 1200), step=st.floats(0.1, 200), wind=st.floats(0, 15),
       which=st.integers(0, len(KINDS) - 1))
@settings(max_examples=80, deadline=None)
def test_loss_rises_with_temperature_and_is_nothing_at_ambient(ambient, t, step, wind, which):
    kind = KINDS[which]
    assert kind(t + step, ambient, wind) > kind(t, ambient, wind)
    assert kind(ambient, ambient, wind) == pytest.approx(0.0, abs=1e-9)
    assert (kind(t, ambient, wind) > 0) == (t > ambient)


@pytest.mark.law
@given(t_in=st.floats(300, 700), rise=st.floats(0.0, 400), more=st.floats(0, 100), absorbed=st.floats(0, 900),
       which=st.integers(0, len(KINDS) - 1))
@settings(max_examples=80, deadline=None)
def test_hotter_outlet_never_raises_efficiency_and_the_row_balances(t_in, rise, more, absorbed, which):
    def loss(t):
        return KINDS[which](t, 298.15, 3.0)

    h_in, h_out, higher = enthalpy(t_in), enthalpy(t_in + rise), enthalpy(t_in + rise + more)
    net = mean_net(h_in, h_out, absorbed, loss, temperature)
    assert np.isfinite(net)
    assert net > 0
    assert mean_net(h_in, higher, absorbed, loss, temperature) <= net * (1 + 1e-6)
    # absorbed A = m (h_out - h_in) + loss A
    area = aperture_per_flow(h_in, h_out, absorbed, loss, temperature)
    lost = mean_loss(h_in, h_out, absorbed, loss, temperature)
    assert absorbed * area == pytest.approx(h_out - h_in + lost * area, rel=1e-12, abs=1e-6)


def test_flow_inverts_aperture_and_broadcasts():
    absorbed = np.array([300.0, 500.0, 700.0])

    def loss(t):
        return TUBE_1990S(t, np.array([280.0, 290.0, 300.0]))

    per_flow = aperture_per_flow(enthalpy(560.0), enthalpy(660.0), absorbed, loss, temperature)
    flow = row_flow(1000.0, enthalpy(560.0), enthalpy(660.0), absorbed, loss, temperature)
    np.testing.assert_allclose(per_flow * flow, 1000.0)
    assert flow.shape == (3,)
    single = [aperture_per_flow(enthalpy(560.0), enthalpy(660.0), q, lambda t, a=a: TUBE_1990S(t, a), temperature)
              for q, a in zip(absorbed, (280.0, 290.0, 300.0), strict=True)]
    np.testing.assert_allclose(per_flow, single, rtol=1e-14)


def test_published_range_is_stated():
    assert TubeLoss.validity == (373.15, 773.15)  # 100 to 500 degC


def test_too_little_sun_stays_finite_smooth_and_is_told():
    def loss(t):
        return TUBE_1990S(t, 298.15)

    absorbed = np.linspace(0.0, 200.0, 2001)
    per_flow = aperture_per_flow(enthalpy(560.0), enthalpy(666.0), absorbed, loss, temperature)
    assert np.all(np.isfinite(per_flow))
    assert np.all(np.diff(per_flow) < 0)
    slope = np.diff(per_flow) / per_flow[:-1]
    assert np.max(np.abs(np.diff(slope))) < 0.05  # no kink of the logarithm
    told = reaches(enthalpy(666.0), absorbed, loss, temperature)
    assert not told[0]
    assert told[-1]
    assert np.all(absorbed[told] > loss(666.0))
