"""Pipes against handbook examples, Colebrook's equation, integration along the header, and the fluids library."""

from __future__ import annotations

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from components.pipe_heat import (
    conductance_per_metre,
    cooling_time,
    header_conductance,
    header_decay,
    outer_coefficient,
    outlet_enthalpy,
    resistance_of_layers,
)
from components.piping import (
    Insulation,
    Steel,
    diameter_for_velocity,
    friction_factor,
    friction_times_reynolds,
    header_drop,
    insulation_volume,
    pressure_drop,
    steel_mass,
    wall_thickness,
)
from loopnet.errors import ParameterError


# fluids 1.3.1: docstring value of Colebrook at Re 1e5, e/D 1e-4 (seen), and the exact solutions on a grid (computed).
@pytest.mark.book
def test_colebrook():
    assert friction_factor(1e5, 1e-4) == pytest.approx(0.018513866077471, rel=1e-9)
    table = [(1e4, 0, 0.030883), (1e5, 0, 0.017990), (1e5, 1e-3, 0.022175), (1e6, 1e-4, 0.013441),
             (1e6, 1e-3, 0.019943), (1e7, 1e-5, 0.008996), (1e8, 0.01, 0.037904)]
    for re, rough, f in table:
        assert friction_factor(re, rough) == pytest.approx(f, abs=1e-6)
    for re in np.geomspace(4001.0, 1e9, 12):
        for rough in (0.0, 1e-6, 1e-4, 3e-3, 0.05):
            assert friction_factor(re, rough) == pytest.approx(fluids.friction.Colebrook(re, rough, tol=-1), rel=1e-10)


# Laminar flow: f = 64/Re (Hagen-Poiseuille, exact); the blend between 2100 and 4000 keeps slope and curvature.
@pytest.mark.book
def test_laminar_flow_and_a_smooth_way_to_turbulence():
    assert friction_factor(1500.0, 0.01) == pytest.approx(64 / 1500)
    assert pressure_drop(0.0, 800.0, 1e-3, 0.1, 100.0) == 0.0
    dp = pressure_drop(1e-3, 800.0, 1e-3, 0.05, 100.0)
    assert dp == pytest.approx(128 * 1e-3 * 100 * 1e-3 / (np.pi * 800 * 0.05**4))
    assert pressure_drop(-1e-3, 800.0, 1e-3, 0.05, 100.0) == -dp
    x = np.linspace(np.log(1900), np.log(4300), 4001)
    y = np.log(friction_times_reynolds(np.exp(x), 1e-4))
    slope = np.diff(y) / np.diff(x)
    assert np.all(slope > -1e-9)  # f Re never falls: more flow, more drop
    assert np.max(np.abs(np.diff(slope))) < 0.01


# White, Fluid Mechanics, Ex 6.6 and 6.7 (memory), tolerance 1.5 and 2 %.
@pytest.mark.book
def test_white_pipe_examples():
    foot, pound = 0.3048, 4.4482216
    rho, mu = 1.94 * 515.3788, 2.09e-5 * 47.880259
    flow = rho * np.pi / 4 * (0.5 * foot) ** 2 * 6 * foot
    dp = pressure_drop(flow, rho, mu, 0.5 * foot, 200 * foot, 0.0004 * foot)
    assert dp / (pound / foot**2) == pytest.approx(280, rel=0.015)
    dp = pressure_drop(0.2 * 900, 900.0, 900 * 1e-5, 0.2, 500.0, 0.26e-3)
    assert dp / (900 * 9.81) == pytest.approx(117, rel=0.02)
    assert dp - 900 * 9.81 * 500 * np.sin(np.radians(10)) == pytest.approx(265e3, rel=0.02)


# Cengel & Cimbala Ex 8-3 (memory): water 60 degF, 2 in steel, 200 ft, 0.2 ft3/s: Re 126 400, f 0.0174, 1700 lbf/ft2.
# Ex 8-4 (memory): air 35 degC, 150 m smooth, 0.35 m3/s, head loss 20 m: D 0.267 m, f 0.0180. Tolerance 0.3 %.
@pytest.mark.book
def test_cengel_and_cimbala_examples():
    rho, mu, d = 62.36 * 16.018463, 7.536e-4 * 1.4881639, 2 / 12 * 0.3048
    flow = 0.2 * 0.028316847 * rho
    assert 4 * flow / (np.pi * d * mu) == pytest.approx(126400, rel=3e-3)
    assert friction_factor(126400.0, 4.2e-5) == pytest.approx(0.0174, rel=3e-3)
    dp = pressure_drop(flow, rho, mu, d, 60.96, 4.2e-5 * d)
    assert dp / 47.880259 == pytest.approx(1700, rel=3e-3)
    assert dp * 0.2 * 0.028316847 == pytest.approx(461, rel=3e-3)
    head = pressure_drop(0.35 * 1.145, 1.145, 1.895e-5, 0.267, 150.0, 0.0) / (1.145 * 9.81)
    assert head == pytest.approx(20.0, rel=0.01)  # head goes with D^-5, D is printed to three digits
    assert diameter_for_velocity(0.35 * 1.145, 1.145, 6.24) == pytest.approx(0.267, rel=3e-3)


def test_minor_losses_add_velocity_heads():
    plain = pressure_drop(10.0, 800.0, 2e-4, 0.1, 20.0)
    v = 10.0 / (800.0 * np.pi / 4 * 0.01)
    assert pressure_drop(10.0, 800.0, 2e-4, 0.1, 20.0, minor=3.0) - plain == pytest.approx(1.5 * 800 * v**2)


# Header of constant velocity: the sum over its pieces, each with its flow and diameter (computed), and the limit
# of very many branches with f its mean over the diameter: 2 f L/D rho v^2/2 (integral of x^-1/2, exact).
@pytest.mark.book
@pytest.mark.parametrize(("branches", "tolerance"), [(1, 0.05), (3, 0.03), (10, 0.015), (60, 0.006), (400, 0.003)])
def test_header_is_the_sum_of_its_pieces(branches, tolerance):
    flow, rho, mu, d, length = 300.0, 770.0, 1.9e-4, 0.45, 600.0
    part = np.arange(1, branches + 1) / branches
    steps = pressure_drop(flow * part, rho, mu, d * np.sqrt(part), length / branches)
    assert header_drop(flow, rho, mu, d, length, branches=branches) == pytest.approx(steps.sum(), rel=tolerance)


@pytest.mark.book
def test_header_of_many_branches_tends_to_twice_the_plain_pipe_but_for_its_friction_factor():
    flow, rho, mu, d, length = 300.0, 770.0, 1.9e-4, 0.45, 600.0
    v = flow / (rho * np.pi / 4 * d**2)
    u = (np.arange(20000) + 0.5) / 20000
    f = friction_factor(rho * v * d * u / mu, 4.5e-5 / (d * u))[u > np.sqrt(0.5 / 400)]
    limit = 2 * length / d * rho * v**2 / 2 * f.mean()
    dp = header_drop(flow, rho, mu, d, length, branches=400)
    assert dp == pytest.approx(limit * (1 - np.sqrt(0.5 / 400)), rel=0.004)


# Kreith, Principles of Heat Transfer, 7th ed., Ex 2.3 (inputs seen): 8.62 W/m2K, 184 W/m. Theodore, Heat Transfer
# Applications, Ex 7.6 (inputs seen): 103.6 Btu/h ft. Cengel HT Ex 3-8 (memory): 2.61 K/W, 121 W/m. Incropera problem,
# calcium silicate 20 mm on 0.12 m, 800/490 K, k 0.089 (memory): 603 W/m.
@pytest.mark.book
def test_insulated_pipe_examples():
    kreith = resistance_of_layers([0.015, 0.020], [0.5], inner=300.0, outer=10.0)
    assert 1 / (kreith * 2 * np.pi * 0.020) == pytest.approx(8.62, rel=1e-3)
    assert 170 / kreith == pytest.approx(184, rel=2e-3)
    inch, btu = 0.0254, 1.730735  # Btu/h ft degF in W/m K
    theodore = resistance_of_layers([1.5 * inch, 2.0 * inch, 4.0 * inch], [0.120 * btu, 0.0317 * btu])
    assert (400 / 1.8) / theodore / 0.9613 == pytest.approx(103.6, rel=2e-3)
    cengel = resistance_of_layers([0.025, 0.0275, 0.0575], [80.0, 0.05], inner=60.0, outer=18.0)
    assert cengel == pytest.approx(2.61, rel=5e-3)
    assert 315 / cengel == pytest.approx(121, rel=5e-3)
    assert 310 / resistance_of_layers([0.06, 0.08], [0.089]) == pytest.approx(603, rel=3e-3)


# The pipe model against the layers formula with the conductivity and the outer coefficient that its own surface
# temperature implies, the surface found by bisection: computed.
@pytest.mark.book
@pytest.mark.parametrize(("hot", "wind", "thickness"), [(666.0, 0.0, 0.1), (560.0, 6.0, 0.05), (330.0, 2.0, 0.02)])
def test_pipe_loss_solves_its_surface_temperature(hot, wind, thickness):
    wool = Insulation(thickness=thickness, bridges=1.0)
    cold, d = 293.15, 0.3
    r2 = d / 2 + thickness

    def gap(surface):
        through = 2 * np.pi * wool.conductivity(hot, surface) * (hot - surface) / np.log(2 * r2 / d)
        off = 2 * np.pi * r2 * outer_coefficient(surface, cold, wind, wool.emissivity) * (surface - cold)
        return float(through - off), float(off)

    low, high = cold, hot
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if gap(middle)[0] > 0 else (low, middle)
    loss = conductance_per_metre(hot, cold, d, wool, wind) * (hot - cold)
    assert loss == pytest.approx(gap(low)[1], rel=1e-4)


# Mineral wool pipe sections, usual class at mean temperatures of 50 to 300 degC (memory, tolerance 8 %).
@pytest.mark.book
def test_conductivity_of_mineral_wool():
    t = np.array([50, 100, 150, 200, 250, 300.0]) + 273.15
    np.testing.assert_allclose(Insulation().conductivity(t), [0.040, 0.046, 0.054, 0.064, 0.076, 0.0905], rtol=0.03)
    mean = quad(lambda x: float(Insulation().conductivity(x)), 320.0, 660.0)[0] / 340.0
    assert Insulation().conductivity(660.0, 320.0) == pytest.approx(mean, rel=1e-10)


# Loss along a supply header, m(x) cp dT/dx = U'(x) (T - Ta) with m ~ x and U' ~ sqrt(x), and mixing along a collecting
# one: integrated by scipy (computed). Long pipe: exponential.
@pytest.mark.book
@pytest.mark.parametrize("ntu", [1e-4, 0.003, 0.0034, 0.05, 1.0])
def test_header_temperature_against_integration(ntu):
    g = 1.5 * ntu  # conductance per length at the large end over m cp: mean of sqrt(x) is 2/3
    collect = solve_ivp(lambda x, y: 1.0 - g * np.sqrt(x) * y / x, (1e-12, 1.0), [1e-12], rtol=1e-10, atol=1e-13)
    assert header_decay(ntu) == pytest.approx(collect.y[0, -1], rel=1e-7)
    give = quad(lambda x: np.exp(-2 * g * (1 - np.sqrt(x))), 0.0, 1.0, epsrel=1e-12)[0]
    assert header_decay(ntu) == pytest.approx(give, rel=1e-9)


def test_header_conductance_is_the_integral_along_it():
    wool = Insulation(thickness=0.08)
    exact = quad(lambda x: 300 * float(conductance_per_metre(640.0, 290.0, 0.4 * np.sqrt(x), wool, 2.0)), 0, 1)[0]
    assert header_conductance(640.0, 290.0, 0.4, 300.0, wool, 2.0) == pytest.approx(exact, rel=1e-3)


@pytest.mark.law
@given(flow=st.floats(0.1, 1000), length=st.floats(0.1, 1000), more=st.floats(0, 1000), d=st.floats(0.02, 1.5),
       t=st.floats(300, 900), wind=st.floats(0, 10), header=st.booleans())
@settings(max_examples=80, deadline=None)
def test_longer_pipe_never_loses_less(flow, length, more, d, t, wind, header):
    wool, cold, cp = Insulation(), 293.15, 2000.0
    per_metre = conductance_per_metre(t, cold, d, wool, wind)
    assert per_metre > 0
    short, long = (-outlet_enthalpy(0.0, t, cold, per_metre * x, flow, cp, header)
                   for x in (length, length + more))
    assert 0 <= short <= long * (1 + 1e-12)
    assert long <= cp * (t - cold) * (1 + 1e-12)
    assert long * flow <= per_metre * (length + more) * (t - cold) * (1 + 1e-9)
    drop = header_drop if header else pressure_drop
    assert 0 < drop(flow, 800.0, 3e-4, d, length) <= drop(flow, 800.0, 3e-4, d, length + more) * (1 + 1e-12)


@pytest.mark.law
@given(d=st.floats(0.05, 1), t=st.floats(300, 900), step=st.floats(0.1, 50), thickness=st.floats(0.05, 0.4))
@settings(max_examples=60, deadline=None)
def test_hotter_pipe_loses_more_and_thicker_wool_less(d, t, step, thickness):
    def loss(temperature, s):
        return conductance_per_metre(temperature, 290.0, d, Insulation(thickness=s), 3.0) * (temperature - 290.0)

    assert loss(t + step, thickness) > loss(t, thickness) > 0
    assert loss(t, thickness * 1.1) < loss(t, thickness)


def test_pipe_that_stands_ends_at_ambient():
    assert outlet_enthalpy(8e5, 660.0, 300.0, 500.0, 0.0, 2000.0) == pytest.approx(8e5 - 2000 * 360.0)
    assert outlet_enthalpy(8e5, 300.0, 300.0, 500.0, 10.0, 2000.0) == 8e5


# Steel pipe tables (memory): NPS 10 schedule 40, 273.05 x 9.27 mm, 60.3 kg/m; NPS 24 schedule 20, 609.6 x 9.53 mm,
# 141.1 kg/m. Tolerance 0.3 %.
@pytest.mark.book
@pytest.mark.parametrize(("outer", "wall", "mass"), [(0.27305, 9.27e-3, 60.3), (0.6096, 9.53e-3, 141.1)])
def test_steel_mass_of_table_pipes(outer, wall, mass):
    assert steel_mass(outer - 2 * wall, wall, Steel()) == pytest.approx(mass, rel=3e-3)


# Thin-wall hoop stress, sigma = p D / (2 t): Beer & Johnston, Mechanics of Materials (memory), exact.
@pytest.mark.book
def test_wall_holds_the_hoop_stress():
    steel = Steel(allowance=0.0, minimum=0.0, allowable="100 MPa")
    wall = wall_thickness(4e6, 0.5, steel)
    assert 4e6 * 0.5 / (2 * wall) == pytest.approx(1e8)
    assert wall_thickness(1e5, 0.1, Steel()) == Steel().minimum


def test_cooling_and_insulation_volume():
    empty = cooling_time(0.5, 0.25, 0.01, 0.0, 0.0, Steel())
    assert empty == pytest.approx(7850 * np.pi * 0.26 * 0.01 * 550 / 0.5)
    full = cooling_time(0.5, 0.25, 0.01, 800.0, 2500.0, Steel())
    assert full - empty == pytest.approx(800 * 2500 * np.pi / 4 * 0.25**2 / 0.5)
    assert insulation_volume(0.3, Insulation(thickness=0.1)) == pytest.approx(np.pi * (0.25**2 - 0.15**2))


def test_arrays_equal_scalars():
    draw = np.random.default_rng(5)
    flow, t = draw.uniform(1, 200, 9), draw.uniform(300, 800, 9)
    drops = header_drop(flow, 800.0, 3e-4, 0.3, 100.0)
    np.testing.assert_allclose(drops, [header_drop(m, 800.0, 3e-4, 0.3, 100.0) for m in flow], rtol=1e-13)
    losses = header_conductance(t, 290.0, 0.3, 100.0, Insulation())
    np.testing.assert_allclose(losses, [header_conductance(x, 290.0, 0.3, 100.0, Insulation()) for x in t], rtol=1e-13)


@pytest.mark.parametrize("bad", [{"thickness": -0.1}, {"bridges": 0.5}, {"emissivity": 2.0}])
def test_bad_insulation_is_refused(bad):
    with pytest.raises(ParameterError, match=next(iter(bad))):
        Insulation(**bad)
