"""A large batch started from a sample of itself: the same solution as from afar, in fewer steps."""

from __future__ import annotations

import numpy as np
import pytest

import loopnet.solve.solution as solution
from loopnet.errors import ConvergenceError
from loopnet.solve import rate
from loopnet.solve.solution import prepared
from loopnet.solve.warm import LARGE, powers


@pytest.fixture(scope="module")
def batch(sized_sand, basin):
    """The charging circuit of the sand plant in all hours of bright sun, its cold silo a little off the design."""
    circuit = next(c for c in rate(sized_sand) if "silos.cold" in c.needs)
    conditions = dict(basin.conditions())
    conditions |= prepared(sized_sand.plant, conditions)
    bright = conditions["field.absorbed"] > 300.0
    cold = sized_sand.frame.view("silos").charge.outlet.h[0]
    found = {n: conditions[n][bright] for n in circuit.needs if n in conditions}
    draw = np.random.default_rng(3).uniform(0.95, 1.05, int(bright.sum()))
    return circuit, {**found, "silos.cold": cold * draw}


def test_powers_count_and_hold():
    x = np.random.default_rng(0).normal(size=(7, 3))
    found = powers(x, 3)
    assert found.shape == (7, 20)  # (3 + 3)! / (3! 3!)
    assert np.any(np.all(np.isclose(found, (x[:, 0] * x[:, 1] * x[:, 2])[:, None]), axis=0))


def test_a_warm_start_changes_nothing_but_the_way(batch, monkeypatch):
    circuit, conditions = batch
    points = len(conditions["ambient"])
    assert points >= LARGE
    steps: dict[bool, int] = {}
    inner = solution.solve_block

    def counted(system, block, values, given, design, count):
        report = inner(system, block, values, given, design, count)
        if count == points:
            steps[warm] = steps.get(warm, 0) + report.iterations
        return report

    monkeypatch.setattr(solution, "solve_block", counted)
    warm = True
    near = circuit.solve(conditions)
    warm = False
    far = circuit.solve(conditions, start={})
    assert steps[True] < steps[False]
    for name in circuit.unknowns:
        scale = np.abs(far.values[name]).max()
        np.testing.assert_allclose(near.values[name], far.values[name], rtol=1e-9, atol=1e-12 * scale, err_msg=name)


def test_a_point_of_the_sample_that_fails_is_named(batch):
    circuit, conditions = batch
    absorbed = np.full_like(conditions["field.absorbed"], np.nan)
    with pytest.raises(ConvergenceError, match="point number"):
        circuit.solve({**conditions, "field.absorbed": absorbed}, describe=lambda i: f"point number {i}")
