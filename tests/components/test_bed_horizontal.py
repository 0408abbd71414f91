"""A bed whose flow is horizontal: its front tilts, spreads and gives less; stated as extra conduction along the way."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.bed_correlations import buoyant_spreading, ergun
from components.packed_bed import PackedBed
from loopnet.errors import ParameterError
from loopnet.media import medium

HOUR = 3600.0
AIR = medium("air", "0.89 bar")


class Point:
    """What a bed reads from its plant: air between 850 and 550 K, and a capacity [J]."""

    def __init__(self, capacity=3e12):
        hot, cold = (SimpleNamespace(T=np.array([t]), h=np.array([AIR.h(t)])) for t in (850.0, 550.0))
        self.charge = SimpleNamespace(medium=AIR, inlet=hot, outlet=cold)
        self.capacity = np.array([capacity])

    def __getitem__(self, name):
        return {"capacity": self.capacity}[name]


UPRIGHT = PackedBed(pressure="0.89 bar", height="4 m", wall_loss=0.0)
TRENCH = replace(UPRIGHT, flow="horizontal", length=12.0)


# De Josselin de Jong (1981) and Huppert and Woods (1995), from memory: a vertical interface between two liquids in a
# porous layer turns as a straight line, X^2 = w H t. Here the equation of two layers, h_t = w (h (H - h) / H h_x)_x,
# is solved by finite differences (computed; 2 % for the grid): the line, and the variance X^2 / 3 of its mean over H.
@pytest.mark.book
def test_a_vertical_interface_turns_as_a_straight_line():
    height, w, n, dx = 4.0, 1e-4, 400, 0.05
    x = (np.arange(n) - n / 2 + 0.5) * dx
    h, dt, t = np.where(x > 0, height, 0.0), 0.2 * dx**2 / (w * height), 0.0
    while t < 8 * HOUR:
        face = 0.5 * (h[1:] + h[:-1])
        flux = w * face * (height - face) / height * np.diff(h) / dx
        h[1:-1] += dt / dx * np.diff(flux)
        t += dt
    half = sqrt(w * height * t)
    assert half < 0.8 * x[-1]
    middle = np.abs(x) < 0.7 * half
    np.testing.assert_allclose(h[middle] / height, 0.5 + x[middle] / (2 * half), atol=0.02)
    mean = h / height  # the cold part of the height
    variance = 2 * np.sum(np.where(x > 0, 1 - mean, 0.0) * x) * dx * 2  # both sides
    assert variance == pytest.approx(half**2 / 3, rel=0.02)


# The same as conduction: at rest, a front in a trench spreads with the variance w H t / 3, beside that of still stones
@pytest.mark.book
def test_a_front_at_rest_spreads_as_one_that_tilts():
    bed = TRENCH.bed(Point())
    state = bed.uniform(550.0)
    state[:bed.cells // 2] = bed.uniform(850.0)[0]
    hours = 6
    plain = replace(bed, across=0.0)
    spread = []
    for one in (bed, plain):
        now = state
        for _ in range(hours * 4):
            now = one.step(now, 0.0, 0.0, 550.0, HOUR / 4).state
        share = (now - state[-1]) / (state[0] - state[-1])
        x = (np.arange(one.cells) + 0.5) / one.cells * one.length - one.length / 2
        spread.append(2 * np.sum(np.where(x > 0, share, 1 - share) * np.abs(x)) * one.length / one.cells)
    drag = 150 * AIR.mu(600.0) * (1 - bed.void) ** 2 / (bed.void**3 * bed.diameter**2)  # Ergun at rest
    stone = bed.energy(bed.uniform(850.0)) - bed.energy(bed.uniform(550.0))
    heat = stone / 300.0 / (bed.area * bed.length)  # [J/m3/K]
    lighter = 9.80665 * float(AIR.rho(550.0) - AIR.rho(850.0))
    w = lighter / drag * float(AIR.rho(600.0, 101325.0) * AIR.cp(600.0)) * 0.89e5 / 101325.0 / heat
    assert spread[0] - spread[1] == pytest.approx(w * 4.0 * hours * HOUR / 3, rel=0.05)


# Order of size, worked by hand at 0.3 m/s: Ergun takes 38 Pa/m over 0.34 m/s, 112 Pa s/m2; air at 550 and 850 K
# differs by 1.95 Pa/m; 0.44 kg/m3 of 1075 J/kg/K: 473 x 1.95 x 4 / (6 x 112) = 5.5 W/m/K, twenty times still stones
@pytest.mark.book
def test_size_of_the_spreading_worked_by_hand():
    bed = TRENCH.bed(Point())
    mu, rho = float(AIR.mu(700.0)), 0.4429
    drag = ergun(0.15, length=1.0, diameter=0.03, void=0.4, rho=rho, mu=mu) * rho / 0.15
    assert drag == pytest.approx(112.0, rel=0.03)
    by_hand = buoyant_spreading(4.0, lighter=1.95, resistance=112.0, gas=473.0)
    assert by_hand == pytest.approx(5.5, rel=0.01)
    assert bed.tilting(0.15 * bed.area) == pytest.approx(by_hand, rel=0.25)  # properties at 600 K in place of 700
    assert bed.tilting(0.0) > bed.tilting(0.15 * bed.area) > bed.tilting(0.6 * bed.area)
    assert UPRIGHT.bed(Point()).tilting(10.0) == 0.0


def cycle(made, days=6, charge=1.0):
    """Heat given on the last of some days of eight hours in, eight at rest and eight out [J]."""
    march = made.march(Point())
    flow, state, out = charge * 3e12 / (8 * HOUR) / march.span, march.start(), 0.0
    for _ in range(days):
        out = 0.0
        for m_in, m_out in [(flow, 0.0)] * 8 + [(0.0, 0.0)] * 8 + [(0.0, flow)] * 8:
            taken, drawn = march.shares(state, m_in, m_out, HOUR)
            step = march.step(state, (taken * m_in, AIR.h(850.0)), (drawn * m_out, AIR.h(550.0)), 298.15, HOUR)
            out += drawn * m_out * (step.hot - AIR.h(550.0)) * HOUR
            state = step.state
    return out


@pytest.mark.law
@given(st.floats(8.0, 20.0), st.floats(2.0, 8.0))
@settings(max_examples=5, deadline=None)
def test_a_tilting_front_gives_less_and_more_so_in_a_higher_trench(length, height):
    trench = replace(TRENCH, length=length, height=height)
    straight = replace(UPRIGHT, height=length)  # the same way, hot above cold
    assert cycle(replace(trench, height=2 * height)) < cycle(trench) < cycle(straight)


def test_a_trench_has_its_own_surfaces():
    point = Point()
    area, sides, ground = TRENCH.surfaces(point)
    volume = float(TRENCH.volume(point)[0])
    assert area * 12.0 == pytest.approx(volume)
    assert ground * 4.0 == pytest.approx(volume)
    assert sides == pytest.approx(2 * 12.0 * 4.0 + 2 * ground)
    area, sides, ground = UPRIGHT.surfaces(point)
    assert area == ground
    assert sides == pytest.approx(4.0 * sqrt(4 * pi * area))
    with pytest.raises(ParameterError, match="no such flow"):
        PackedBed(flow="sideways")
