"""Damped Newton on batches: against scipy, against itself point by point, at bounds, and where there is no solution."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import root

from loopnet.plant import Plant, Unknown
from loopnet.solve.newton import BlockReport, solve_block
from loopnet.solve.structure import Block
from loopnet.solve.system import System

Equations = Mapping[str, Callable[[Any], Any]]


def system(equations: Equations, unknowns: list[Unknown], conditions: Mapping[str, Any] | None = None) -> System:
    """Equations read unknowns by `frame.get` and conditions by `frame.condition`."""
    made = System(Plant("toy"), "rating", {}, {u.name: u for u in unknowns}, dict(equations))
    made.record({name: np.atleast_1d(value)[:1] for name, value in (conditions or {}).items()}, {})
    return made


def solved(made: System, conditions: Mapping[str, Any] | None = None, points: int = 1, most: int = 60,
           **starts: Any) -> tuple[dict[str, Any], BlockReport]:
    """All equations as one block."""
    values = made.starts(points) | {name: np.full(points, value) for name, value in starts.items()}
    block = Block(tuple(made.equations), tuple(made.unknowns))
    with np.errstate(all="ignore"):
        report = solve_block(made, block, values, conditions or {}, {}, points, most)
    return values, report


CIRCLE = {"circle": lambda f: f.get("x") ** 2 + f.get("y") ** 2 - f.condition("r") ** 2,
          "hyperbola": lambda f: f.get("x") * f.get("y") - 1.0}
PAIR = [Unknown("x", "-", 2.0), Unknown("y", "-", 0.3)]


# The same system by MINPACK's hybrid method (scipy.optimize.root), computed.
@pytest.mark.book
@pytest.mark.parametrize("radius", [1.5, 2.0, 5.0])
def test_equals_scipy_root(radius):
    made = system(CIRCLE, PAIR, {"r": radius})
    values, report = solved(made, {"r": np.array([radius])})
    exact = root(lambda z: [z[0] ** 2 + z[1] ** 2 - radius**2, z[0] * z[1] - 1.0], [2.0, 0.3], tol=1e-13)
    assert exact.success
    assert not len(report.failed)
    np.testing.assert_allclose([values["x"][0], values["y"][0]], exact.x, rtol=1e-10)


# Powell's badly scaled function, More, Garbow & Hillstrom, ACM TOMS 7 (1981) 17, problem 3 (memory):
# 1e4 x y = 1, exp(-x) + exp(-y) = 1.0001, start (0, 1); x = 1.098e-5, y = 9.106.
@pytest.mark.book
def test_badly_scaled_function():
    made = system({"product": lambda f: 1e4 * f.get("x") * f.get("y") - 1.0,
                   "sum": lambda f: np.exp(-f.get("x")) + np.exp(-f.get("y")) - 1.0001},
                  [Unknown("x", "-", 1e-4, low=0.0), Unknown("y", "-", 1.0, low=0.0)])
    values, report = solved(made)
    assert not len(report.failed)
    assert values["x"][0] == pytest.approx(1.098e-5, rel=1e-3)
    assert values["y"][0] == pytest.approx(9.106, rel=1e-4)


# Newton's method for a simple root: the error is squared at each step (Kantorovich); x^3 = c, where the factor is 1/x.
@pytest.mark.book
def test_error_is_squared_at_each_step():
    made = system({"cube": lambda f: f.get("x") ** 3 - 8.0}, [Unknown("x", "-", 3.0)])
    error = [abs(solved(made, most=k)[0]["x"][0] - 2.0) for k in range(1, 5)]
    for before, after in pairwise(error):
        assert after <= 0.6 * before**2 + 1e-9  # 1/x = 0.5, and what the difference Jacobian adds
    assert solved(made)[1].iterations <= 7


@pytest.mark.law
@given(radii=st.lists(st.floats(1.5, 50.0), min_size=2, max_size=7))
@settings(max_examples=25, deadline=None)
def test_batch_equals_point_by_point(radii):
    batch = np.array(radii)
    made = system(CIRCLE, PAIR, {"r": batch})
    values, report = solved(made, {"r": batch}, len(batch))
    assert not len(report.failed)
    for i, radius in enumerate(radii):
        single, _ = solved(made, {"r": np.array([radius])})
        for name in ("x", "y"):
            assert values[name][i] == pytest.approx(single[name][0], rel=1e-9)


def test_linear_block_and_points_that_start_solved():
    target = np.array([1.0, 5.0, -2.0])
    made = system({"sum": lambda f: f.get("x") + f.get("y") - f.condition("c"),
                   "difference": lambda f: f.get("x") - f.get("y") - 1.0},
                  [Unknown("x", "-", 1.0), Unknown("y", "-", 1.0)], {"c": target})
    values, report = solved(made, {"c": target}, 3)
    np.testing.assert_allclose(values["x"], (target + 1) / 2, rtol=1e-12)
    np.testing.assert_allclose(values["y"], (target - 1) / 2, rtol=1e-12, atol=1e-15)
    assert report.iterations <= 3
    again, report = solved(made, {"c": target}, 3, x=(target + 1) / 2, y=(target - 1) / 2)
    np.testing.assert_allclose(again["x"], values["x"], rtol=1e-12)
    assert report.iterations <= 2


def test_bounds_are_kept_at_every_trial():
    seen: list[float] = []

    def log(f):
        x = f.get("x")
        seen.extend(np.ravel(x))
        return np.log(x) - f.condition("c")

    c = np.array([-8.0, -1.0, 2.0])
    made = system({"log": log}, [Unknown("x", "-", 50.0, low=0.0, high=60.0)], {"c": c})
    values, report = solved(made, {"c": c}, 3)
    assert not len(report.failed)
    np.testing.assert_allclose(values["x"], np.exp(c), rtol=1e-9)
    assert min(seen) > 0.0
    assert max(seen) <= 60.0


def test_a_root_beyond_a_bound_fails_and_stays_inside():
    c = np.array([1.0, 2.0, 9.0])
    made = system({"is": lambda f: f.get("x") - f.condition("c")}, [Unknown("x", "-", 1.0, high=2.5)], {"c": c})
    values, report = solved(made, {"c": c}, 3)
    assert list(report.failed) == [2]
    assert report.worst == "is"
    np.testing.assert_allclose(values["x"][:2], [1.0, 2.0])
    assert values["x"][2] <= 2.5


def test_points_that_fail_are_told_apart_from_those_that_do_not():
    c = np.array([1.0, -1.0, 4.0, -9.0])  # x^2 + 1e-3 y = c has no root where c < 0 and y is fixed
    made = system({"square": lambda f: f.get("x") ** 2 + f.get("y") - f.condition("c"),
                   "tie": lambda f: f.get("y") - 1e-6 * f.get("x")},
                  [Unknown("x", "-", 1.0, low=-5.0, high=5.0), Unknown("y", "-", 1e-6)], {"c": c})
    values, report = solved(made, {"c": c}, 4)
    assert list(report.failed) == [1, 3]
    assert report.worst == "square"
    np.testing.assert_allclose(values["x"][[0, 2]], [1.0, 2.0], rtol=1e-5)


def test_equations_that_contradict_fail():
    made = system({"a": lambda f: f.get("x") + f.get("y") - 1.0, "b": lambda f: f.get("x") + f.get("y") - 2.0},
                  [Unknown("x", "-", 1.0), Unknown("y", "-", 1.0)])
    assert list(solved(made)[1].failed) == [0]


@pytest.mark.parametrize("start", [0.0, 1.0])
def test_no_root_is_never_a_solution(start):
    c = np.array([1.0, 2.0, 3.0])
    made = system({"square": lambda f: f.get("x") ** 2 + f.condition("c")}, [Unknown("x", "-", start)], {"c": c})
    assert list(solved(made, {"c": c}, 3)[1].failed) == [0, 1, 2]


def test_nan_is_never_a_solution():
    made = system({"root": lambda f: np.sqrt(f.get("x")) + 1.0}, [Unknown("x", "-", 1.0)])
    assert list(solved(made)[1].failed) == [0]


@pytest.mark.law
@pytest.mark.parametrize("points", [1, 7])
def test_one_wide_evaluation_gives_the_jacobian_of_many(monkeypatch, points):
    # the discharging circuit of a shipped plant: blocks of many unknowns, shared intermediates, conditions
    from loopnet.plants import find_plant
    from loopnet.solve import newton, rate, size

    sized = size(find_plant("sand_silo"))
    circuit = next(c for c in rate(sized) if "silos.hot" in c.needs)
    block = max(circuit.order, key=lambda b: len(b.unknowns))
    assert len(block.unknowns) > 2
    hot = float(np.squeeze(sized.view("silos").charge.inlet.h))
    given = {"ambient": np.linspace(270.0, 305.0, points), "silos.hot": np.full(points, hot),
             "turbine.load": np.linspace(1.0, 0.5, points)}
    frame = circuit.solve(given)
    base = newton._residuals(circuit.system, block.equations, frame, points)
    scale = np.abs(np.stack([frame.values[u] for u in block.unknowns], axis=1))
    wide = newton._stacked(circuit.system, block, frame, base, scale)
    monkeypatch.setattr(newton, "STACKED", 0)
    one_by_one = newton._jacobian(circuit.system, block, frame, base, scale)
    assert wide * scale[:, None, :] == pytest.approx(one_by_one * scale[:, None, :], rel=1e-5, abs=1e-6 * np.abs(
        one_by_one * scale[:, None, :]).max())
    assert np.any(wide != 0.0)
