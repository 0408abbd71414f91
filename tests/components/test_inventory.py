"""Tanks and silos: their shape, what they hold, and what they lose while they stand."""

from __future__ import annotations

from math import pi
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.inventory import InventoryState, Silos, TwoTanks, cylinder_for
from loopnet.media import medium

HOUR, DAY = 3600.0, 86400.0
SALT = medium("nitrate salt")


class DesignPoint:
    """What a store reads from the plant it stands in: its medium, two temperatures [degC], its capacity [J]."""

    def __init__(self, fluid, hot, cold, capacity):
        hot, cold = (SimpleNamespace(T=np.array([t + 273.15]), h=np.array([fluid.h(t + 273.15)])) for t in (hot, cold))
        self.charge = SimpleNamespace(medium=fluid, inlet=hot, outlet=cold)
        self.capacity = np.array([capacity])

    def __getitem__(self, name):
        return {"capacity": self.capacity}[name]


COMMERCIAL = DesignPoint(SALT, 386.0, 292.0, 1010e6 * HOUR)
"""Two tanks for 7.5 hours of a 50 MW trough plant: 1010 MWh between 292 and 386 degC."""


def full(march):
    """All but the heel in the hot vessel."""
    rest = march.mass - march.heel
    return InventoryState(rest, rest * march.hot0, march.heel, march.heel * march.cold0)


# ---- shape

# Geometry: 36 m and 38.5 m tanks, 14 m high, have 3619 and 4022 m2 of outer surface (computed by hand:
# pi d h + pi d2 / 2); whole square metres.
@pytest.mark.book
@pytest.mark.parametrize(("diameter", "surface"), [(36.0, 3619.0), (38.5, 4022.0)])
def test_surface_of_commercial_tanks(diameter, surface):
    found = cylinder_for(pi / 4 * diameter**2 * 14.0, 14.0 / diameter, 1e5)
    assert found == pytest.approx((diameter, 14.0, surface, 1), abs=1.0)


@pytest.mark.law
@given(volume=st.floats(1.0, 1e6), slenderness=st.floats(0.1, 5.0), most=st.floats(10.0, 1e5))
@settings(max_examples=100, deadline=None)
def test_cylinders_hold_the_volume_in_as_few_as_allowed(volume, slenderness, most):
    diameter, height, surface, count = cylinder_for(volume, slenderness, most)
    assert count * pi / 4 * diameter**2 * height == pytest.approx(volume, rel=1e-12)
    assert height / diameter == pytest.approx(slenderness, rel=1e-12)
    assert volume / count <= most * (1 + 1e-12)
    assert count == 1 or volume / (count - 1) > most
    ball = count * pi ** (1 / 3) * (6 * volume / count) ** (2 / 3)  # no body has less surface than a ball
    assert surface > ball


# ---- what they hold

# 28,500 t of salt in the two tanks of a 50 MW plant with 1010 MWh of store (widely quoted; from memory), of which
# 25,765 t move (enthalpy 292 to 386 degC 141.123 kJ/kg, exact integral of cp in SAND2001-2100: seen). 5 %, as the
# share that stays in the tanks is common practice.
@pytest.mark.book
def test_salt_of_a_commercial_store():
    tanks = TwoTanks()
    assert tanks.vessel_mass(COMMERCIAL) == pytest.approx(28.5e6, rel=0.05)
    assert tanks.vessel_mass(COMMERCIAL) * (1 - 2 * tanks.heel) == pytest.approx(1010e6 * HOUR / 141.123e3, rel=1e-5)


# Heat capacity of quartz between 300 and 600 degC, 1193 J/kg/K (NIST-JANAF, Chase 1998; integral of the Shomate
# equations, inputs seen), 0.2 %; packed at the bulk density of the medium.
@pytest.mark.book
def test_sand_of_a_silo():
    silos, sand = Silos(), medium("quartz sand")
    point = DesignPoint(sand, 600.0, 300.0, 100e6 * HOUR)
    useful = silos.vessel_mass(point) * (1 - 2 * silos.heel)
    assert useful == pytest.approx(100e6 * HOUR / (1193.0 * 300.0), rel=2e-3)
    hot, cold = silos.vessel_volume(point)
    assert hot == cold == pytest.approx(silos.vessel_mass(point) * (1 - silos.heel) / sand.bulk_density)


def test_hot_tank_is_larger_because_salt_expands():
    # SAND2001-2100 (seen): 1844.50 kg/m3 at 386 degC, 1904.29 at 292 degC
    hot, cold = TwoTanks().vessel_volume(COMMERCIAL)
    assert hot / cold == pytest.approx((2090 - 0.636 * 292) / (2090 - 0.636 * 386), rel=1e-6)


# ---- what they lose

# Prieto, Miro, Peiro, Oro, Gil & Cabeza, Solar Energy 135 (2016) 518: pilot salt tanks lose 61 W/m2 at the bottom,
# 73 at the cover and 80 at the walls (seen). The default is held between the least and the largest of them.
@pytest.mark.book
def test_loss_per_surface_as_measured_on_pilot_tanks():
    march = TwoTanks().march(COMMERCIAL)
    step = march.step(full(march), (0.0, 0.0), (0.0, 0.0), 298.15, HOUR)
    volume = TwoTanks().vessel_volume(COMMERCIAL)[0]
    surface = cylinder_for(volume, TwoTanks().slenderness, TwoTanks().largest)[2]
    hot_alone = march.ua_hot * (386.0 - 25.0)
    assert 61.0 <= hot_alone / surface <= 80.0
    assert step.lost / HOUR == pytest.approx(hot_alone + march.ua_cold * (292.0 - 25.0), rel=1e-4)


# Commercial tanks of 1 GWh cool by about 1 K a day when full and at rest (from memory), within a factor of two.
@pytest.mark.book
def test_a_full_commercial_tank_cools_by_about_a_kelvin_a_day():
    march = TwoTanks().march(COMMERCIAL)
    state = full(march)
    for _ in range(24):
        state = march.step(state, (0.0, 0.0), (0.0, 0.0), 298.15, HOUR).state
    fall = 386.0 - (march.temperature(march.outlets(state)[0]) - 273.15)
    assert 0.5 <= fall <= 2.0


# One lumped tank: T = Ta + (T0 - Ta) exp(-UA t / (m cp)), exact for constant cp; salt's cp moves by 0.3 % over this
# fall, and the march takes the loss of an hour at the temperature with which it begins.
@pytest.mark.book
def test_cooling_of_the_heel_follows_the_lumped_solution():
    march = TwoTanks(heel=0.01).march(COMMERCIAL)
    state, hours = march.start(), 48
    for _ in range(hours):
        state = march.step(state, (0.0, 0.0), (0.0, 0.0), 298.15, HOUR).state
    cp = SALT.cp(273.15 + 370.0)
    left = (march.temperature(march.outlets(state)[0]) - 298.15) / (386.0 - 25.0)
    assert left == pytest.approx(np.exp(-march.ua_hot * hours * HOUR / (march.heel * cp)), rel=3e-3)
    assert left < 0.97  # so that the check says something


# Silo of crushed soapstone at Pornainen (2025): 1 MW, 100 MWh, 13 m by 15 m, to 600 degC; 80 % (one source) or 90 %
# (another) of the heat comes out (seen). Sand of the same heat in our silos, four days in and four out at 1 MW: what
# is not lost, within 5 points of the two; ours pours its sand, and needs a second silo.
@pytest.mark.book
def test_a_small_sand_silo_gives_back_what_such_a_silo_does():
    sand, capacity = medium("quartz sand"), 100e6 * HOUR
    march = Silos(slenderness=15.0 / 13.0, drift_hot=190.0).march(DesignPoint(sand, 600.0, 400.0, capacity))
    flow = 1e6 / (march.hot0 - march.cold0)
    state, brought, lost = march.start(), 0.0, 0.0
    for m_in, m_out in ([(flow, 0.0)] * 96 + [(0.0, flow)] * 96) * 3:
        taken, drawn = march.shares(state, m_in, m_out, HOUR)
        step = march.step(state, (taken * m_in, march.hot0), (drawn * m_out, march.cold0), 278.15, HOUR)
        brought += taken * m_in * (march.hot0 - step.cold) * HOUR
        lost += step.lost
        state = step.state
    assert 0.75 < 1 - lost / brought < 0.95


# Solar Two (SAND2002-0120, from memory): its hot tank at 565 degC lost 102 kW (98 predicted), its cold one at 290 degC
# 44; the hot one was 11.6 m by 8.4 m. Small, old tanks with many nozzles lose more than the default, which is that of
# large ones: within a factor of 2.5.
@pytest.mark.book
def test_losses_of_a_small_pilot_tank_are_of_the_order_measured():
    surface = pi * 11.6 * 8.4 + pi * 11.6**2 / 2
    ours = TwoTanks().wall_loss * surface * (565.0 - 25.0)
    assert 102e3 / 2.5 < ours < 102e3
