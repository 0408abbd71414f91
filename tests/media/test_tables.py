"""The lookups on their own: order of accuracy, continuation, and speed beside scipy's evaluation."""

from time import perf_counter

import numpy as np
import pytest
from scipy.interpolate import CubicSpline, RectBivariateSpline

from loopnet.media.tables import Curve, Grid, Surface


@pytest.mark.law
def test_a_cubic_is_reproduced_exactly_in_one_and_two_variables():
    x, y = Grid(-1.0, 2.0, 9), Grid(0.5, 3.0, 12)
    rng = np.random.default_rng(1)
    a, b = rng.uniform(-1, 2, 200), rng.uniform(0.5, 3, 200)
    curve = Curve(x, x.points**3 - 2 * x.points)
    assert curve(a) == pytest.approx(a**3 - 2 * a, abs=1e-12)
    assert curve.slope(a) == pytest.approx(3 * a**2 - 2, abs=1e-11)
    surface = Surface(x, y, np.outer(x.points**3, y.points**2) + y.points)
    assert surface.at(x.locate(a), y.locate(b)) == pytest.approx(a**3 * b**2 + b, abs=1e-11)
    slopes = Surface(x, y, np.outer(np.sin(x.points), y.points), np.outer(np.cos(x.points), y.points))
    assert slopes.at(x.locate(a), y.locate(b)) == pytest.approx(np.sin(a) * b, abs=2e-4)


@pytest.mark.law
def test_error_falls_with_the_fourth_power_of_the_step():
    t = np.linspace(0.0, 3.0, 1000)
    coarse, fine = (np.max(np.abs(Curve(Grid(0.0, 3.0, n), np.sin(np.linspace(0, 3, n)))(t) - np.sin(t)))
                    for n in (21, 41))
    assert 12 < coarse / fine < 24


@pytest.mark.law
def test_continuation_beyond_the_ends():
    grid = Grid(0.0, 1.0, 11)
    linear, held = Curve(grid, np.exp(grid.points)), Curve(grid, np.exp(grid.points), "hold")
    far = np.array([1.0, 2.0, 3.0, 1e9])
    assert np.diff(linear(far[:3])) == pytest.approx(np.e, rel=5e-4)
    assert held(far[1:]) == pytest.approx(np.e * 1.05, rel=1e-3)
    assert held(-far[1:]) == pytest.approx(0.95, rel=1e-3)
    for curve in (linear, held):
        for end in (0.0, 1.0):  # no kink
            assert curve.slope(np.array([end - 1e-9])) == pytest.approx(curve.slope(np.array([end + 1e-9])), rel=1e-6)
        for start in (-0.35, 0.85):  # nor a step or a kink in the cells beyond
            near = np.linspace(start, start + 0.5, 2001)
            slope = np.diff(curve(near)) / 2.5e-4
            assert np.max(np.abs(np.diff(slope))) < 0.02
            assert slope == pytest.approx(curve.slope(near[:-1] + 1.25e-4), abs=1e-4)
    assert np.isnan(linear(np.array([np.nan]))[0])
    with pytest.raises(ValueError, match="linear"):
        Curve(grid, grid.points, "bend")


def _best(call, repeats=7):
    times = []
    for _ in range(repeats):
        start = perf_counter()
        call()
        times.append(perf_counter() - start)
    return min(times)


# scipy's evaluation, timed in the same run; measured some 8 (curve) and 5 (surface) times faster.
@pytest.mark.book
def test_faster_than_scipy_on_a_year_of_points():
    rng = np.random.default_rng(2)
    x, y = Grid(0.0, 1.0, 100), Grid(0.0, 1.0, 100)
    values = np.outer(np.sin(x.points), np.exp(y.points))
    a, b = rng.random(26_000), rng.random(26_000)
    curve, theirs = Curve(x, values[:, 0]), CubicSpline(x.points, values[:, 0])
    assert curve(a) == pytest.approx(theirs(a), abs=1e-12)
    assert _best(lambda: curve(a)) < 0.7 * _best(lambda: theirs(a))
    surface, fitpack = Surface(x, y, values), RectBivariateSpline(x.points, y.points, values)
    assert surface.at(x.locate(a), y.locate(b)) == pytest.approx(fitpack.ev(a, b), abs=1e-9)
    assert _best(lambda: surface.at(x.locate(a), y.locate(b))) < 0.7 * _best(lambda: fitpack.ev(a, b))
