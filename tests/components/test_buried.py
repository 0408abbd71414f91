"""Shape factors of buried bodies, foundations, and the resistance of the solid around a pipe."""

from __future__ import annotations

from math import log, pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from components.buried import (
    around_pipe,
    disk_on_ground,
    foundation,
    half_ball,
    pipe_below_ground,
    sphere_below_ground,
    upright_cylinder,
)
from components.exergy import constant_capacity_exergy, exergy_kept
from loopnet.errors import ParameterError


# Cengel, Heat and Mass Transfer, example 3-11 (from memory): 30 m of pipe, 10 cm, axis 50 cm deep, 0.9 W/m/K, 80 over
# 10 degC: S 62.9 m, 3963 W. The book takes the logarithm of 4z/D, arcosh is 0.1 % more.
@pytest.mark.book
def test_pipe_below_ground():
    shape = pipe_below_ground(30.0, 0.10, 0.50)
    assert shape == pytest.approx(62.9, rel=2e-3)
    assert shape * 0.9 * 70.0 == pytest.approx(3963.0, rel=2e-3)


# Incropera et al., problem of chapter 4 (from memory): sphere of 2 m, 10 m deep, 0.52 W/m/K, 500 W, surface at 20
# degC: 92.7
@pytest.mark.book
def test_sphere_below_ground():
    assert 20.0 + 500.0 / (0.52 * sphere_below_ground(2.0, 10.0)) == pytest.approx(92.7, abs=0.05)


# Incropera et al., table 4.1 (from memory): 2 D, and 2 pi L / ln(4L/D)
@pytest.mark.book
def test_disk_and_upright_cylinder():
    assert disk_on_ground(7.0) == 14.0
    assert upright_cylinder(10.0, 0.5) == pytest.approx(2 * pi * 10.0 / log(80.0), rel=1e-12)


@pytest.mark.law
@given(st.floats(0.1, 5.0), st.floats(1.01, 50.0))
@settings(max_examples=30, deadline=None)
def test_deeper_bodies_lose_less_and_never_less_than_alone(radius, ratio):
    depth = radius * ratio
    alone = 2 * half_ball(radius)
    assert alone < sphere_below_ground(2 * radius, 1.1 * depth) < sphere_below_ground(2 * radius, depth) <= 2 * alone
    assert pipe_below_ground(1.0, 2 * radius, 1.1 * depth) < pipe_below_ground(1.0, 2 * radius, depth)


def test_bodies_out_of_the_ground_are_refused():
    with pytest.raises(ParameterError, match="below the surface"):
        sphere_below_ground(2.0, 0.9)
    with pytest.raises(ParameterError, match="below the surface"):
        pipe_below_ground(1.0, 0.2, 0.1)
    with pytest.raises(ParameterError, match="slender"):
        upright_cylinder(1.0, 2.0)
    with pytest.raises(ParameterError, match="wider than the pipe"):
        around_pipe(0.05, 0.04, 1.0)


@pytest.mark.law
def test_foundation_is_insulation_and_ground_in_series():
    bare = foundation(20.0, 0.0, 0.15, 1.5)
    assert bare == pytest.approx(disk_on_ground(20.0) * 1.5)
    thick = foundation(20.0, 1e3, 0.15, 1.5)
    assert thick == pytest.approx(0.15 * pi * 100.0 / 1e3, rel=0.01)


# Carslaw and Jaeger's steady profile of a hollow cylinder with an even sink, T(r) = q (b^2 ln(r/a) - (r^2 - a^2)/2) /
# (2 pi k (b^2 - a^2)), whose mean is taken here by quadrature (computed, 1e-10)
@pytest.mark.book
@pytest.mark.parametrize(("a", "b"), [(0.01, 0.05), (0.075, 1.27), (0.02, 0.021)])
def test_resistance_around_a_pipe(a, b):
    def excess(r):
        return (b * b * log(r / a) - (r * r - a * a) / 2) / (2 * pi * 1.3 * (b * b - a * a))

    mean = quad(lambda r: excess(r) * 2 * r / (b * b - a * a), a, b, epsabs=0.0, epsrel=1e-11)[0]
    assert around_pipe(a, b, 1.3) == pytest.approx(mean, rel=1e-6)


# Bejan, Advanced Engineering Thermodynamics (from memory): exergy of a body C (T - T0 - T0 ln T/T0); here the sum of
# what perfect machines take from it on its way down in small steps
@pytest.mark.book
def test_exergy_is_what_perfect_machines_take():
    fall = np.linspace(700.0, 300.0, 20001)
    middle = 0.5 * (fall[1:] + fall[:-1])
    work = float(np.sum(50.0 * -np.diff(fall) * (1 - 300.0 / middle)))
    assert constant_capacity_exergy(50.0, 700.0, 300.0) == pytest.approx(work, rel=1e-6)


@pytest.mark.law
@given(st.floats(311.0, 900.0))
@settings(max_examples=20, deadline=None)
def test_heat_that_comes_back_colder_has_lost_exergy(hot):
    assert exergy_kept([(1.0, hot - 5.0, 305.0)], [(1.0, hot, 305.0)], 300.0) < 1.0
    assert exergy_kept([(1.0, hot, 305.0)], [(1.0, hot, 305.0)], 300.0) == pytest.approx(1.0)
