"""Friction against handbook examples, Colebrook's equation and the fluids library."""

from __future__ import annotations

import fluids
import numpy as np
import pytest

from components.friction import (
    diameter_for_velocity,
    friction_factor,
    friction_times_reynolds,
    header_drop,
    pressure_drop,
)


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


# The same where the small end is laminar or on the way to it, down to rest: the sum over the pieces, computed.
@pytest.mark.book
@pytest.mark.parametrize("flow", [0.4, 1.5, 4.0])
def test_header_with_a_slow_end_is_the_sum_of_its_pieces(flow):
    rho, mu, d, length = 770.0, 1.9e-4, 0.45, 600.0
    part = np.arange(1, 401) / 400
    reynolds = 4 * flow * np.sqrt(part) / (np.pi * d * mu)
    assert reynolds[0] < 4000
    steps = pressure_drop(flow * part, rho, mu, d * np.sqrt(part), length / 400)
    dp = header_drop(np.array([flow, 0.0, 300.0]), rho, mu, d, length, branches=400)
    assert dp[0] == pytest.approx(steps.sum(), rel=0.02)  # five points over the bend at transition
    assert dp[1] == 0.0
    assert dp[2] == pytest.approx(float(header_drop(300.0, rho, mu, d, length, branches=400)))


@pytest.mark.book
def test_header_of_many_branches_tends_to_twice_the_plain_pipe_but_for_its_friction_factor():
    flow, rho, mu, d, length = 300.0, 770.0, 1.9e-4, 0.45, 600.0
    v = flow / (rho * np.pi / 4 * d**2)
    u = (np.arange(20000) + 0.5) / 20000
    f = friction_factor(rho * v * d * u / mu, 4.5e-5 / (d * u))[u > np.sqrt(0.5 / 400)]
    limit = 2 * length / d * rho * v**2 / 2 * f.mean()
    dp = header_drop(flow, rho, mu, d, length, branches=400)
    assert dp == pytest.approx(limit * (1 - np.sqrt(0.5 / 400)), rel=0.004)
