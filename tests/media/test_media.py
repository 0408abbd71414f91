"""Oil, salt, air, sand and rock against their sources, and the laws that all media keep."""

import pickle
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.errors import ParameterError, PropertyRangeError
from loopnet.media import Particles, media_names, medium
from loopnet.money import price_book

SIMPLE = [name for name in media_names() if medium(name).pressure_free]
C = 273.15


def share(low=0.0, high=1.0):
    return st.floats(low, high)


def within(m, x):
    low = max(m.limits.low, m.limits.freezing or 0.0)
    return low + x * (m.limits.bulk - low)


# Zavoico, Solar Power Tower Design Basis Document, SAND2001-2100 (2001), pp. 23-24: coefficients seen, the
# values follow from them; exact, so the tolerance is the last printed digit.
@pytest.mark.book
@pytest.mark.parametrize(("t", "rho", "cp", "k", "mu"), [
    (290, 1905.56, 1492.88, 0.4981, 3.5023), (300, 1899.20, 1494.60, 0.5000, 3.2632),
    (386, 1844.50, 1509.39, 0.5163, 1.9027), (565, 1730.66, 1540.18, 0.5504, 1.1438)])
@pytest.mark.parametrize("exact", [False, True], ids=["tables", "exact"])
def test_nitrate_salt_table(t, rho, cp, k, mu, exact):
    salt = medium("nitrate salt", exact=exact)
    assert salt.rho(t + C) == pytest.approx(rho, abs=0.005)
    assert salt.cp(t + C) == pytest.approx(cp, abs=0.005)
    assert salt.k(t + C) == pytest.approx(k, abs=5.1e-5)
    assert 1e3 * salt.mu(t + C) == pytest.approx(mu, abs=5.1e-5)


# Same source: the integral of cp, 290 to 565 degC and 292 to 386 degC [kJ/kg] (exact).
@pytest.mark.book
def test_nitrate_salt_enthalpy():
    salt = medium("nitrate salt")
    assert salt.h(565 + C) - salt.h(290 + C) == pytest.approx(417.046e3, abs=1)
    assert salt.h(386 + C) - salt.h(292 + C) == pytest.approx(141.123e3, abs=1)


# CoolProp 8.0.0 INCOMP::NaK holds the same equations above 300 degC (computed).
@pytest.mark.book
def test_nitrate_salt_as_in_coolprop():
    from CoolProp.CoolProp import PropsSI

    salt = medium("nitrate salt")
    for t in (310.0, 450.0, 560.0):
        for what, read in (("D", salt.rho), ("C", salt.cp), ("V", salt.mu), ("L", salt.k)):
            assert read(t + C) == pytest.approx(PropsSI(what, "T", t + C, "P", 1e6, "INCOMP::NaK"), rel=1e-5)


# Polynomials of a manufacturer's bulletin of the eutectic (from memory; the integral of cp was seen).
# Tolerances: rho 0.5 %, cp 1 %, k 1 %, mu 7 %, vapour pressure 1.5 % above 250 degC.
@pytest.mark.book
@pytest.mark.parametrize(("t", "rho", "cp", "k", "mu", "p_vap"), [
    (100, 997.9, 1773.5, 0.1277, 0.942e-3, None), (200, 914.0, 2050.8, 0.1139, 0.385e-3, None),
    (300, 817.3, 2309.6, 0.0965, 0.227e-3, 240.3e3), (393, 703.4, 2607.2, 0.0772, 0.1533e-3, 994.7e3)])
def test_diphenyl_oil_table(t, rho, cp, k, mu, p_vap):
    oil = medium("diphenyl oil")
    assert oil.rho(t + C) == pytest.approx(rho, rel=5e-3)
    assert oil.cp(t + C) == pytest.approx(cp, rel=1e-2)
    assert oil.k(t + C) == pytest.approx(k, rel=1e-2)
    assert oil.mu(t + C) == pytest.approx(mu, rel=7e-2)
    if p_vap:
        assert oil.p_vap(t + C) == pytest.approx(p_vap, rel=1.5e-2)


# Enthalpy from the bulletin's cp polynomial [kJ/kg/K, degC] (integral seen), 290 to 390 degC; tolerance that of cp.
@pytest.mark.book
def test_diphenyl_oil_enthalpy():
    oil = medium("diphenyl oil")
    integral = np.polynomial.Polynomial([1.498, 0.002414, 5.9591e-6, -2.9879e-8, 4.4172e-11]).integ()
    assert oil.h(390 + C) - oil.h(290 + C) == pytest.approx(1e3 * (integral(390) - integral(290)), rel=1e-2)


# Normal boiling point of the eutectic 257 degC (from memory): 1 atm there, 3 %.
@pytest.mark.book
def test_diphenyl_oil_boils():
    oil = medium("diphenyl oil")
    assert oil.p_vap(257 + C) == pytest.approx(101325, rel=0.03)
    assert np.all(np.diff(oil.p_vap(np.linspace(250.0, 800.0, 200))) > 0)


# NIST-JANAF (Chase 1998) by the NIST Chemistry WebBook, quartz: cp [J/mol/K] (seen). The WebBook's equation
# itself meets its table within 0.1 %.
@pytest.mark.book
@pytest.mark.parametrize(("T", "cp"), [(298.15, 44.57), (300, 44.77), (400, 53.43), (900, 67.95)])
def test_quartz_heat_capacity(T, cp):
    assert medium("quartz sand").cp(T) * 0.0600843 == pytest.approx(cp, rel=1e-3)


# Same source, H - H298 [kJ/mol], computed from the Shomate coefficients (seen); 0.2 %.
@pytest.mark.book
def test_quartz_enthalpy():
    sand = medium("quartz sand")
    T = np.array([400, 600, 800, 846.0, 848.0, 1000, 1200])
    below, above = 34.196 - 76.51e-3, 34.925 + 67.42e-3  # one kelvin from 847 K, with cp there
    assert 60.0843e-6 * sand.h(T) == pytest.approx([5.014, 16.895, 30.668, below, above, 45.358, 59.349], rel=2e-3)


# Heat of transition 0.729 kJ/mol = 12.1 kJ/kg at 847 K (computed from the same coefficients).
@pytest.mark.book
def test_quartz_transition_heat_is_all_there():
    sand = medium("quartz sand")
    rise = sand.h(848.0) - sand.h(846.0)
    assert rise - 1273.4 - 1122.0 == pytest.approx(12.1e3, rel=5e-3)
    h = np.linspace(sand.h(840.0), sand.h(855.0), 3000)
    assert np.all(np.diff(sand.T(h)) > 0)  # one temperature to each enthalpy


# Mean heat capacity 300 to 600 degC 1193 J/kg/K, 200 to 600 degC 1148 J/kg/K (computed from the same source).
@pytest.mark.book
def test_quartz_mean_heat_capacity():
    sand = medium("quartz sand")
    assert (sand.h(600 + C) - sand.h(300 + C)) / 300 == pytest.approx(1193, rel=2e-3)
    assert (sand.h(600 + C) - sand.h(200 + C)) / 400 == pytest.approx(1148, rel=2e-3)


# Incropera et al., Fundamentals of Heat and Mass Transfer, Table A.4, 1 atm (from memory): cp 0.2 %, rho 1.5 %
# (the book's density is about 1.3 % low), mu and k 3 %.
@pytest.mark.book
@pytest.mark.parametrize(("T", "cp", "rho", "mu", "k"), [
    (300, 1007, 1.1614, 184.6e-7, 26.3e-3), (500, 1030, 0.6964, 270.1e-7, 40.7e-3),
    (800, 1099, 0.4354, 369.8e-7, 57.3e-3), (1000, 1141, 0.3482, 424.4e-7, 66.7e-3)])
def test_air_against_the_handbook(T, cp, rho, mu, k):
    air = medium("air")
    assert air.cp(T) == pytest.approx(cp, rel=2e-3)
    assert air.rho(T, 101325.0) == pytest.approx(rho, rel=1.5e-2)
    assert air.mu(T) == pytest.approx(mu, rel=3e-2)
    assert air.k(T) == pytest.approx(k, rel=3e-2)


# CoolProp 8.0.0 at 1 atm (computed), [J/kg/K] and [kg/m3]; last printed digit.
@pytest.mark.book
def test_air_as_computed():
    T = np.array([300, 500, 800, 973.15, 1000])
    assert medium("air").cp(T) == pytest.approx([1006.4, 1029.9, 1098.7, 1135.8, 1141.0], abs=0.06)
    assert medium("air").rho(T) == pytest.approx([1.1770, 0.7057, 0.4411, 0.3626, 0.3529], abs=6e-5)


@pytest.mark.law
def test_air_density_follows_the_pressure_given():
    from CoolProp.CoolProp import PropsSI

    air = medium("air", pressure="1.2 bar")
    for T in (250.0, 400.0, 1200.0):
        for p in (0.8e5, 1.2e5, 5e5):
            assert air.rho(T, p) == pytest.approx(PropsSI("D", "T", T, "P", p, "Air"), rel=1e-4)
    assert air.rho(400.0) == air.rho(400.0, 1.2e5)
    assert air != medium("air")


# Granite 879, basalt 712 to 879 J/kg/K at 77 degF (ASHRAE, rocks, seen): our rock lies among them; 815 J/kg/K at
# 55 degC: Allen et al., rock bed slides (seen).
@pytest.mark.book
def test_crushed_rock():
    rock = medium("crushed rock")
    assert 712 < rock.cp(25 + C) < 879
    assert rock.cp(55 + C) == pytest.approx(815, rel=1e-9)


@pytest.mark.law
@pytest.mark.parametrize("name", SIMPLE)
def test_table_error(name):
    error = medium(name).table_error
    assert error["h"] < 1e-6
    assert error["T_round_trip"] < 1e-3  # K
    assert error["cp"] < (5e-3 if name == "quartz sand" else 1e-3)  # of the steep 2 K inside the transition
    assert max(error.get(what, 0.0) for what in ("rho", "mu")) < 1e-6
    assert error["k"] < (1e-4 if name == "hot water" else 1e-6)  # CoolProp's own conductivity of water has small jumps


@pytest.mark.law
@pytest.mark.parametrize("name", SIMPLE)
@settings(max_examples=25, deadline=None)
@given(x=share(), y=share())
def test_enthalpy_and_temperature_undo_each_other_and_rise_together(name, x, y):
    m = medium(name)
    a, b = sorted((within(m, x), within(m, y)))
    assert m.T(m.h(a)) == pytest.approx(a, abs=1e-3)
    if b - a > 1e-6:
        assert m.h(b) > m.h(a)
    assert m.rho(a, 2e5) > 0


@pytest.mark.law
@pytest.mark.parametrize("name", SIMPLE)
@settings(max_examples=15, deadline=None)
@given(x=share(0.001, 0.999))
def test_tables_equal_exact_and_cp_is_the_slope_of_h(name, x):
    m, exact = medium(name), medium(name, exact=True)
    T = within(m, x)
    scale = max(abs(exact.h(T)), 1e4)
    assert m.h(T) == pytest.approx(exact.h(T), abs=1e-6 * scale)
    assert m.T(exact.h(T)) == pytest.approx(exact.T(exact.h(T)), abs=1e-3)
    assert m.cp(T) == pytest.approx(exact.cp(T), rel=5e-3 if name == "quartz sand" else 1e-3)
    assert (m.h(T + 1e-3) - m.h(T - 1e-3)) / 2e-3 == pytest.approx(m.cp(T), rel=1e-3)
    for what in ("rho", "k") if isinstance(m, Particles) else ("rho", "mu", "k"):
        assert getattr(m, what)(T, 101325.0) == pytest.approx(getattr(exact, what)(T, 101325.0), rel=1e-5)


@pytest.mark.law
@pytest.mark.parametrize("exact", [False, True], ids=["tables", "exact"])
@pytest.mark.parametrize("name", SIMPLE)
def test_outside_is_linear_finite_and_positive(name, exact):
    m = medium(name, exact=exact)
    low, high = m.span
    for end, away in ((low, -1.0), (high, 1.0)):
        steps = end + away * np.array([0.0, 100.0, 200.0, 400.0])
        h = m.h(steps)
        assert h[2] - h[1] == pytest.approx(h[1] - h[0], rel=1e-6)
        assert h[3] - h[2] == pytest.approx(2 * (h[1] - h[0]), rel=1e-6)
        assert m.h(end + 1e-4) - m.h(end - 1e-4) == pytest.approx(2e-4 * m.cp(end), rel=1e-3)  # no kink
    T = np.array([-500.0, 1.0, 5000.0])
    values = [m.rho(T, 1e5), m.cp(T), m.k(T)] + ([] if isinstance(m, Particles) else [m.mu(T)])
    assert np.all(np.isfinite(values))
    assert np.all(np.array(values) > 0)
    assert np.all(np.diff(m.T(np.array([-1e7, -1e6, 0.0, 1e6, 1e7]))) > 0)


@pytest.mark.law
@pytest.mark.parametrize("name", SIMPLE)
def test_array_equals_scalar_and_keeps_its_shape(name):
    m = medium(name)
    T = within(m, np.linspace(0.0, 1.0, 6)).reshape(2, 3)
    for read in (m.h, m.cp, m.rho, m.k):
        out = read(T)
        assert out.shape == T.shape
        assert out == pytest.approx(np.array([[read(float(t)) for t in row] for row in T]), rel=1e-13)
        assert isinstance(read(float(T[0, 0])), float)


# IAPWS-IF97 by the package iapws (computed); tolerances are what the medium says of pressures that keep it liquid.
@pytest.mark.book
@pytest.mark.parametrize("bar", [5.0, 16.0, 25.0])
def test_hot_water_is_water_that_does_not_boil(bar):
    from iapws import IAPWS97

    water = medium("hot water")
    known = {t: IAPWS97(T=t + C, P=bar / 10) for t in (20.0, 60.0, 95.0, 140.0)}
    for t, state in known.items():
        assert water.rho(t + C) == pytest.approx(state.rho, rel=1e-3)
        assert water.cp(t + C) == pytest.approx(state.cp * 1e3, rel=2e-3)
        assert water.k(t + C) == pytest.approx(state.k, rel=5e-3)
        assert water.mu(t + C) == pytest.approx(state.mu, rel=5e-3)
    rise = (known[140.0].h - known[20.0].h) * 1e3
    assert water.h(140 + C) - water.h(20 + C) == pytest.approx(rise, rel=2e-3)


@pytest.mark.book
def test_hot_water_boils_where_water_does():
    # IAPWS-IF97 saturation pressures by the package iapws (computed)
    from iapws import IAPWS97

    for t in (20.0, 100.0, 180.0):
        assert medium("hot water").p_vap(t + C) == pytest.approx(IAPWS97(T=t + C, x=0).P * 1e6, rel=3e-4)


@pytest.mark.parametrize("name", media_names())
def test_identity(name):
    m = medium(name)
    assert medium(m) is m
    assert medium(name) is m
    assert pickle.loads(pickle.dumps(m)) == m
    assert hash(pickle.loads(pickle.dumps(m))) == hash(m)
    assert medium(name, exact=True) != m
    assert m.cautions
    assert any("local" in text and ("rule" in text or "code" in text) for text in m.cautions)
    assert m.price_key in price_book()
    for what in ("freezing", "low", "bulk", "film"):
        assert (getattr(m.limits, what) is None) == (what not in m.limits.sources)


def test_enthalpy_is_zero_at_25_degC():
    for name in SIMPLE:
        if name != "nitrate salt":  # frozen there, and on the linear continuation of its equations
            assert medium(name).h(298.15) == pytest.approx(0.0, abs=1e-3)


def test_refusals_say_what_where_got_allowed_and_a_way_out():
    oil = medium("diphenyl oil")
    oil.check(np.array([oil.limits.low, 500.0, oil.limits.bulk]))
    with pytest.raises(PropertyRangeError) as hot:
        oil.check(np.array([500.0, 683.15]), where="hot header")
    assert str(hot.value) == ("hot header: diphenyl oil is too hot; got 410 degC (1 of 2 points); allowed: 12 degC to "
                              "393 degC. Try: a lower outlet temperature, or a medium that stands more.")
    with pytest.raises(PropertyRangeError, match="return: nitrate salt freezes; got 200 degC"):
        medium("nitrate salt").check(473.15, where="return")
    with pytest.raises(PropertyRangeError, match="nitrate salt is too cold; got 250 degC"):
        medium("nitrate salt").check(523.15)
    with pytest.raises(PropertyRangeError, match="not a number"):
        oil.check(np.nan)
    assert oil.outside(np.array([280.0, 500.0, 700.0])).tolist() == [True, False, True]
    assert oil.outside(500.0) is False


def test_particles_have_no_viscosity():
    for name in ("quartz sand", "crushed rock"):
        grains = medium(name)
        assert 0.4 * grains.rho(500.0) < grains.bulk_density < 0.75 * grains.rho(500.0)
        with pytest.raises(PropertyRangeError, match="no viscosity"):
            grains.mu(500.0)


def test_unknown_name_and_pressure():
    with pytest.raises(ParameterError) as wrong:
        medium("nitrate sal")
    assert "'nitrate salt'" in wrong.value.hint
    assert "quartz sand" in wrong.value.allowed
    with pytest.raises(ParameterError, match="pressure level is out of range"):
        medium("air", pressure=-1.0)
    with pytest.raises(ParameterError, match="wrong unit"):
        medium("air", pressure="3 m")


def test_coolprop_is_loaded_only_when_a_medium_needs_it():
    code = ("import sys, loopnet.media as m; m.medium('nitrate salt').h(600.0); m.medium('water'); m.medium('air')\n"
            "assert not any(name.startswith('CoolProp') for name in sys.modules)\n"
            "m.medium('air').h(300.0); assert 'CoolProp' in sys.modules")
    subprocess.run([sys.executable, "-c", code], check=True)
