"""The row through boiling water and through the crystal change of quartz, against adaptive quadrature."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from components.catalogue import receiver
from components.receiver import TubeLoss
from components.receiver_row import kinks_of, mean_net
from components.receiver_steam import BoilingRow, boiling_coefficients
from components.receiver_tube import EvacuatedTube
from loopnet.media import medium

WATER, BAR50 = medium("water"), 50e5


def exact_net(loss, temperature, h_in, h_out, absorbed, kinks):
    edges = [h_in, *(k for k in kinks if h_in < k < h_out), h_out]
    whole = sum(quad(lambda h: 1 / (absorbed - float(loss(temperature(h)))), a, b, epsabs=0, epsrel=1e-11)[0]
                for a, b in pairwise(edges))
    return (h_out - h_in) / whole


# scipy.integrate.quad, split at the bends: computed. Without the split the twelve points are off by up to 8e-5.
@pytest.mark.book
@pytest.mark.parametrize(("quality", "outlet", "absorbed"), [(0.8, 0.0, 500.0), (None, 773.15, 500.0),
                                                             (None, 773.15, 120.0), (None, 535.0, 300.0)])
def test_row_through_boiling_at_50_bar(quality, outlet, absorbed):
    kinks = kinks_of(WATER, BAR50)
    h_in = WATER.h(433.15, BAR50)
    h_out = kinks[0] + quality * (kinks[1] - kinks[0]) if quality else WATER.h(outlet, BAR50)

    def loss(t):
        return TubeLoss()(t, 298.15)

    exact = exact_net(loss, lambda h: WATER.T(h, BAR50), h_in, h_out, absorbed, kinks)
    got = TubeLoss().net(h_in, h_out, absorbed, loss, WATER, 298.15, BAR50)
    assert got == pytest.approx(exact, rel=1e-8)
    blind = mean_net(h_in, h_out, absorbed, loss, lambda h: WATER.T(h, BAR50))
    assert abs(blind / exact - 1) < 2e-4


@pytest.mark.book
def test_row_through_the_transition_of_quartz():
    sand, curtain = medium("quartz sand"), receiver("particle_curtain")
    h_in, h_out = sand.h(700.0), sand.h(1100.0)

    def loss(t):
        return curtain(t, 298.15)

    exact = exact_net(loss, sand.T, h_in, h_out, 500.0, kinks_of(sand))
    assert curtain.net(h_in, h_out, 500.0, loss, sand, 298.15) == pytest.approx(exact, rel=1e-7)


@pytest.mark.law
def test_bends_outside_the_row_change_nothing():
    def loss(t):
        return TubeLoss()(t, 298.15)

    def temperature(h):
        return 273.15 + h / 2000.0

    plain = mean_net(4e5, 7e5, 500.0, loss, temperature)
    assert mean_net(4e5, 7e5, 500.0, loss, temperature, (1e5, 2e5)) == pytest.approx(float(plain), rel=1e-9)
    assert mean_net(4e5, 7e5, 500.0, loss, temperature, (5e5, 9e5)) == pytest.approx(float(plain), rel=1e-9)
    still = mean_net(4e5, 4e5, 500.0, loss, temperature, (1e5, 4e5))
    assert still == pytest.approx(500.0 - float(loss(473.15)), rel=1e-12)


# Rows of many points at once, each with its pressure, equal the rows one by one.
def test_boiling_row_is_vectorised():
    pressure, absorbed = np.array([40e5, 50e5, 60e5]), np.array([300.0, 500.0, 700.0])
    ambient = np.array([280.0, 290.0, 300.0])
    row = BoilingRow()
    h_in, h_out = WATER.h(433.15, pressure), WATER.h(723.15, pressure)
    got = row.net(h_in, h_out, absorbed, lambda t: row(t, ambient), WATER, ambient, pressure)
    single = [row.net(h_in[i], h_out[i], absorbed[i], lambda t, i=i: row(t, ambient[i]), WATER, ambient[i],
                      pressure[i]) for i in range(3)]
    np.testing.assert_allclose(got, single, rtol=1e-12)


@pytest.mark.law
def test_boiling_row_loses_a_little_more_than_its_water_would():
    row, tube = BoilingRow(), TubeLoss()
    args = WATER.h(433.15, BAR50), WATER.h(723.15, BAR50), 600.0
    with_wall = row.net(*args, lambda t: row(t, 298.15), WATER, 298.15)
    without = tube.net(*args, lambda t: tube(t, 298.15), WATER, 298.15, BAR50)
    assert 0.98 * without < with_wall < without


# Rohsenow-class experience: boiling water in tubes, 5 to 50 kW/m2K; steam of 50 bar 0.5 to 3 kW/m2K; liquid 1 to 10
# (heat exchanger handbooks, memory).
@pytest.mark.book
def test_boiling_coefficients_are_of_the_known_class():
    for mass_flux in (200.0, 500.0, 1000.0):
        liquid, boiling, steam = boiling_coefficients(BAR50, mass_flux, 0.055, 20e3)
        assert 5e3 < boiling < 50e3
        assert 0.5e3 < steam < 3.5e3
        assert 1e3 < liquid < 12e3
    hard, easy = (boiling_coefficients(BAR50, 500.0, 0.055, flux)[1] for flux in (60e3, 20e3))
    assert hard > easy


# Cooper's pool boiling alone at 50 bar and 20 kW/m2: 55 pr^(0.12) (-log10 pr)^-0.55 M^-0.5 q^0.67 (Cooper 1984,
# memory); flow boiling at low mass flux and quality comes down to some 50 to 100 % of it, for S is below one.
@pytest.mark.book
def test_slow_flow_boils_like_a_pool():
    reduced = 50e5 / 22.064e6
    pool = 55 * reduced**0.12 * (-np.log10(reduced)) ** -0.55 * 18.015**-0.5 * 20e3**0.67
    assert 0.4 * pool < boiling_coefficients(BAR50, 30.0, 0.055, 20e3, quality=0.01)[1] < 1.05 * pool


def test_findings_of_a_boiling_row():
    wet, hot = WATER.T_sat(BAR50), 673.15
    calm = BoilingRow(tube=EvacuatedTube(), mass_flux=900.0)
    assert calm.findings(wet, 650.0, WATER) == []
    assert calm.findings(hot, 650.0, WATER) == []
    slow = BoilingRow(tube=EvacuatedTube(surface_limit=723.15), mass_flux=80.0)
    found = slow.findings(hot, 700.0, WATER)
    assert len(found) == 2
    assert "lit surface" in found[0]
    assert "dries out" in found[1]
    assert slow.findings(wet, 700.0, WATER) == []
