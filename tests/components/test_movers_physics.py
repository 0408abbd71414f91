"""Pumps, fans and lifts against textbook examples and CoolProp."""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st

from components.movers_physics import BUCKET_LIFT, SKIP_LIFT, fan_power, lift_power, part_load, pump_power


# Moran & Shapiro 7th ed., Ex 8.1: feed pump from 0.008 to 8 MPa, v 1.0084e-3 m3/kg, work 8.06 kJ/kg (seen as
# h4 - h3 = 181.94 - 173.88); Ex 8.2 with efficiency 0.85: h4 - h3 = 183.36 - 173.88 = 9.48 kJ/kg. Tolerance 0.2 %.
@pytest.mark.book
def test_feed_pump_of_moran_and_shapiro():
    pump = pump_power(1.0, 8e6 - 8e3, 1 / 1.0084e-3, 0.85, 0.95)
    assert pump.work == pytest.approx(8.06e3, rel=2e-3)
    assert pump.shaft == pytest.approx(9.48e3, rel=2e-3)
    assert pump.electric == pytest.approx(9.48e3 / 0.95, rel=2e-3)


# Cengel & Boles Ex 10-2 (memory): pump 9 kPa, 38 degC, to 16 MPa, efficiency 0.85: 19.0 kJ/kg; v 0.001009 m3/kg.
@pytest.mark.book
def test_feed_pump_of_cengel_and_boles():
    assert pump_power(1.0, 16e6 - 9e3, 1 / 0.001009, 0.85).shaft == pytest.approx(19.0e3, rel=2e-3)


# CoolProp, air at 1.05 bar and 120 degC: isentropic enthalpy rise for 2 and 20 kPa. Computed; ideal-gas form within
# 0.3 % as R/cp is taken constant.
@pytest.mark.book
@pytest.mark.parametrize("rise", [2e3, 20e3])
def test_fan_against_coolprop(rise):
    p, t = 1.05e5, 393.15
    h, s, rho, cp = (PropsSI(name, "T", t, "P", p, "Air") for name in ("H", "S", "D", "C"))
    ideal = PropsSI("H", "S", s, "P", p + rise, "Air") - h
    fan = fan_power(3.0, rise, p, rho, cp, t, 0.7, 0.9)
    assert fan.work == pytest.approx(3.0 * ideal, rel=3e-3)
    assert fan.electric == pytest.approx(3.0 * ideal / 0.63, rel=3e-3)


# Potential energy: 1 t through 100 m is 0.2724 kWh (980 665 J, standard gravity, exact).
@pytest.mark.book
def test_lift_against_standard_gravity():
    lift = lift_power(1000.0, 100.0, SKIP_LIFT, 1.0)
    assert lift.work == pytest.approx(980665.0, rel=1e-12)
    assert lift.electric == pytest.approx(980665.0 / SKIP_LIFT)
    assert lift_power(1000.0, 100.0, BUCKET_LIFT, 1.0).electric > lift.electric


@pytest.mark.law
@given(flow=st.floats(0, 500), rise=st.floats(0, 3e4), eta=st.floats(0.2, 1), motor=st.floats(0.5, 1))
@settings(max_examples=60, deadline=None)
def test_power_is_split_without_loss_and_a_fan_tends_to_a_pump(flow, rise, eta, motor):
    rho, cp, t, p = 0.9, 1010.0, 390.0, 1e5
    fan, pump = fan_power(flow, rise, p, rho, cp, t, eta, motor), pump_power(flow, rise, rho, eta, motor)
    for power in (fan, pump):
        assert min(power) >= -1e-9
        assert power.electric * eta * motor == pytest.approx(float(power.work), rel=1e-9, abs=1e-9)
        assert power.shaft + power.motor_loss == pytest.approx(float(power.electric))
    assert fan.work <= pump.work * (1 + 1e-9) + 1e-9  # gas shrinks as it is compressed
    assert fan.work == pytest.approx(float(pump.work), rel=rise / p + 1e-9, abs=1e-9)


@pytest.mark.law
def test_part_load_is_best_at_design_and_power_still_falls():
    load = np.linspace(0.02, 1.0, 50)
    for fall in (0.0, 0.3, 1.0):
        eta = part_load(load, fall)
        assert eta[-1] == 1.0
        assert np.all(np.diff(eta) >= 0)
        assert np.all(np.diff(pump_power(load, 1e5 * load**2, 800.0, 0.75 * eta).electric) > 0)
    assert part_load(0.5, 1.0) == pytest.approx(0.75)
