"""Heat that pipes lose against handbook examples, bisection and integration along the header; laws of loss and drop."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from components.friction import header_drop, pressure_drop
from components.pipe_heat import (
    conductance_per_metre,
    cooling_time,
    header_conductance,
    header_decay,
    outer_coefficient,
    outlet_enthalpy,
    resistance_of_layers,
)
from components.piping import Insulation, Steel, insulation_volume


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
