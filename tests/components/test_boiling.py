"""Tubes in which water boils: against the scalar correlations of fluids, numerical integration, and single phase."""

from __future__ import annotations

import numpy as np
import pytest
from fluids.two_phase import Friedel, Muller_Steinhagen_Heck
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from components.boiling import boiling_drop, wet_gradient, wet_mean
from components.friction import ROUGHNESS, pressure_drop
from loopnet.media import medium

WATER = medium("water")
D, G = 0.055, 600.0
FLOW = G * np.pi / 4 * D**2


def saturated(p: float) -> tuple[float, float, float, float]:
    t = WATER.T_sat(p)
    return WATER.rho_f(p), WATER.rho_g(p), WATER.mu(t - 0.01, p), WATER.mu(t + 0.01, p)


# fluids 1.3.1, docstring of Muller_Steinhagen_Heck (seen): 793.446545743 Pa/m, smooth tube of 50 mm.
@pytest.mark.book
def test_published_docstring_value():
    a, b = (float(pressure_drop(0.6, rho, mu, 0.05, 1.0, 0.0)) for rho, mu in ((915.0, 180e-6), (2.67, 14e-6)))
    assert wet_gradient(a, b, 0.1) == pytest.approx(793.446545743, rel=1e-9)


# fluids 1.3.1, Muller_Steinhagen_Heck, point by point and integrated by scipy: computed.
@pytest.mark.book
@pytest.mark.parametrize("p", [20e5, 60e5, 110e5])
def test_evaporator_against_the_scalar_function(p):
    rho_f, rho_g, mu_f, mu_g = saturated(p)

    def gradient(x: float) -> float:
        return Muller_Steinhagen_Heck(FLOW, x, rho_f, rho_g, mu_f, mu_g, D, ROUGHNESS)

    a, b = (float(pressure_drop(FLOW, rho, mu, D, 1.0)) for rho, mu in ((rho_f, mu_f), (rho_g, mu_g)))
    x = np.linspace(0.01, 0.99, 9)
    np.testing.assert_allclose(wet_gradient(a, b, x), [gradient(q) for q in x], rtol=1e-9)
    for first, last in ((0.0, 1.0), (0.0, 0.6), (0.3, 0.301)):
        mean = quad(gradient, first, last, epsrel=1e-11)[0] / (last - first)
        assert wet_mean(a, b, first, last) == pytest.approx(mean, rel=1e-8)
    assert wet_mean(a, b, 0.4, 0.4 + 1e-9) == pytest.approx(gradient(0.4), rel=1e-6)


# Two correlations of one purpose, Friedel (fluids; surface tension of water at 60 bar 0.0208 N/m, memory): each claims
# a mean error of 30 to 40 %, so they should agree to 40 % over an evaporator.
@pytest.mark.book
def test_another_correlation_agrees_within_what_both_claim():
    rho_f, rho_g, mu_f, mu_g = saturated(60e5)
    friedel = quad(lambda x: Friedel(FLOW, x, rho_f, rho_g, mu_f, mu_g, 0.0208, D, ROUGHNESS), 0, 1)[0]
    a, b = (float(pressure_drop(FLOW, rho, mu, D, 1.0)) for rho, mu in ((rho_f, mu_f), (rho_g, mu_g)))
    assert wet_mean(a, b, 0.0, 1.0) == pytest.approx(friedel, rel=0.4)


# The whole tube, liquid to superheated, against quad over enthalpy at one pressure: friction by fluids' scalar function
# where it is wet, by pressure_drop where it is not, fittings and expansion without slip (computed). 5 bar of drop at
# 100 bar: properties half the drop below the inlet are those of a mean pressure.
@pytest.mark.book
def test_tube_from_liquid_to_superheated_steam():
    p, h_in, h_out, length, minor = 100e5, 1.0e6, 3.0e6, 400.0, 30.0
    total = float(boiling_drop(WATER, FLOW, h_in, h_out, p, D, length, minor=minor))
    mean = p - 0.5 * total
    rho_f, rho_g, mu_f, mu_g = saturated(mean)

    def local(h: float) -> float:
        x, density = WATER.x_ph(mean, h), WATER.rho_ph(mean, h)
        rub = (Muller_Steinhagen_Heck(FLOW, x, rho_f, rho_g, mu_f, mu_g, D, ROUGHNESS) if 0 < x < 1 else
               float(pressure_drop(FLOW, density, WATER.mu(WATER.T(h, mean), mean), D, 1.0)))
        return rub * length + minor * G**2 / (2 * density)

    knees = [WATER.h_f(mean), WATER.h_g(mean)]
    friction = quad(local, h_in, h_out, points=knees, limit=200)[0] / (h_out - h_in)
    swell = G**2 * (1 / WATER.rho_ph(mean, h_out) - 1 / WATER.rho_ph(mean, h_in))
    assert total == pytest.approx(friction + swell, rel=2e-3)


def test_liquid_alone_is_the_plain_pipe():
    p, h = 60e5, 5.0e5
    t = WATER.T(h, p)
    plain = float(pressure_drop(FLOW, WATER.rho(t, p), WATER.mu(t, p), D, 100.0, minor=5.0))
    assert boiling_drop(WATER, FLOW, h, h, p, D, 100.0, minor=5.0) == pytest.approx(plain, rel=1e-3)


@pytest.mark.law
@given(p=st.floats(10e5, 150e5), h=st.floats(0.4e6, 2.9e6), rise=st.floats(0, 0.9e6), mass=st.floats(50, 900),
       bore=st.floats(0.03, 0.1), wider=st.floats(1.0, 1.5), longer=st.floats(1.0, 3.0))
@settings(max_examples=60, deadline=None)
def test_wider_is_easier_and_longer_is_harder(p, h, rise, mass, bore, wider, longer):
    flow = mass * np.pi / 4 * bore**2

    def of(d: float, length: float) -> float:
        return float(boiling_drop(WATER, flow, h, h + rise, p, d, length))

    base = of(bore, 20.0)
    assert np.isfinite(base)
    assert base >= 0
    assert of(bore * wider, 20.0) <= base * (1 + 1e-9)
    assert of(bore, 20.0 * longer) >= base * (1 - 1e-9)


def test_arrays_equal_scalars_and_rest_is_rest():
    draw = np.random.default_rng(3)
    flow, h = draw.uniform(0.2, 2, 12), draw.uniform(0.5e6, 3e6, 12)
    out = boiling_drop(WATER, flow, h, h + 4e5, 80e5, D, 200.0)
    each = [float(boiling_drop(WATER, m, x, x + 4e5, 80e5, D, 200.0)) for m, x in zip(flow, h, strict=True)]
    np.testing.assert_allclose(out, each, rtol=1e-12)
    assert boiling_drop(WATER, 0.0, 1e6, 2e6, 80e5, D, 200.0) == 0.0
