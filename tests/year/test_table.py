"""Tables of solved circuits: nodes, weights, equal hours, and what is read between nodes against solving there."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import BarycentricInterpolator

from loopnet.errors import ConvergenceError
from loopnet.solve import rate
from loopnet.solve.solution import prepared
from loopnet.year import run_year
from loopnet.year.run import _barycentric
from loopnet.year.table import chebyshev, tabulate, weights

# ---- nodes and weights


# Abramowitz & Stegun, 22.16.4: zeros of the Chebyshev polynomial T_n are cos((2 m - 1) pi / (2 n)); numpy's own
# chebpts1 gives them (computed with numpy).
@pytest.mark.book
@pytest.mark.parametrize("count", [1, 2, 3, 4, 8])
def test_nodes_are_zeros_of_chebyshev_polynomials(count):
    np.testing.assert_allclose(chebyshev(-1.0, 1.0, count), np.polynomial.chebyshev.chebpts1(count), atol=1e-15)
    np.testing.assert_allclose(np.polynomial.chebyshev.Chebyshev.basis(count)(chebyshev(-1.0, 1.0, count)), 0.0,
                               atol=1e-13)


@pytest.mark.law
@given(st.floats(-1e6, 1e6), st.floats(1.0, 1e6), st.integers(2, 8),
       st.lists(st.floats(0.0, 1.0), min_size=1, max_size=5))
@settings(max_examples=60, deadline=None)
def test_weights_add_up_and_keep_polynomials(low, width, count, shares):
    nodes, x = chebyshev(low, low + width, count), low + width * np.array(shares)
    found = weights(nodes, x)
    np.testing.assert_allclose(found.sum(axis=1), 1.0, atol=1e-9)
    scaled, at = (nodes - low) / width, (x - low) / width
    for power in range(count):
        np.testing.assert_allclose(found @ scaled**power, at**power, atol=1e-8)
    np.testing.assert_allclose([_barycentric(nodes)(float(value)) for value in x], found, atol=1e-9)


# scipy's interpolator (computed with scipy).
@pytest.mark.book
def test_weights_read_what_scipy_reads():
    nodes, x = chebyshev(300.0, 400.0, 5), np.linspace(290.0, 410.0, 30)
    values = np.exp(nodes / 100.0)
    np.testing.assert_allclose(weights(nodes, x) @ values, BarycentricInterpolator(nodes, values)(x), rtol=1e-12)


def test_weights_at_a_node_pick_it():
    nodes = chebyshev(0.0, 1.0, 6)
    np.testing.assert_allclose(weights(nodes, nodes), np.eye(6), atol=1e-13)


# ---- circuits

def circuits_of(sized):
    store = next(iter(sized.plant.of_family("store")))
    charging, discharging = (next(c for c in rate(sized) if f"{store}.{end}" in c.needs) for end in ("cold", "hot"))
    return store, charging, discharging


def sunny(sized, weather):
    conditions = dict(weather.conditions())
    conditions |= prepared(sized.plant, conditions)
    frame = circuits_of(sized)[1].system.frame({}, conditions, sized.values)
    return conditions, np.asarray(sized.plant.components["field"].running(frame.view("field")), dtype=bool)


def enthalpies(sized, store, celsius_from_design, end):
    fluid = sized.view(store).charge.medium
    at = float(np.squeeze(getattr(sized.view(store).charge, end).T))
    return [float(fluid.h(at + d)) for d in celsius_from_design]


@pytest.mark.parametrize("plant", ["oil_salt", "sand_silo"])
def test_reading_between_nodes_is_solving_there(plant, all_sized, basin):
    """Charging circuit, eight nodes over 20 K of cold outlet, at random hours and enthalpies: below 1e-6."""
    sized = all_sized[plant]
    store, charging, _ = circuits_of(sized)
    conditions, runs = sunny(sized, basin.slice(2160, 72))
    low, high = enthalpies(sized, store, (-15.0, 5.0), "outlet")
    table = tabulate(charging, conditions, {f"{store}.cold": chebyshev(low, high, 8)}, runs)
    dice = np.random.default_rng(5)
    hours, cold = dice.choice(np.flatnonzero(runs), 40), dice.uniform(low, high, 40)
    batch = {name: conditions[name][hours] for name in charging.needs if name in conditions} | {f"{store}.cold": cold}
    right = charging.solve(batch).view(store).charge
    flow, heat = (table.at(values, hours, {f"{store}.cold": cold}) for values in table.flows(store, "charge"))
    np.testing.assert_allclose(flow, right.m, rtol=1e-6)
    np.testing.assert_allclose(heat, -right.heat, rtol=1e-6)
    assert np.ptp(heat) > 0.1 * heat.max()


def test_more_nodes_bring_a_table_closer(sized_sand, basin):
    store, charging, _ = circuits_of(sized_sand)
    conditions, runs = sunny(sized_sand, basin.slice(2160, 48))
    low, high = enthalpies(sized_sand, store, (-40.0, 40.0), "outlet")
    hours = np.flatnonzero(runs)
    cold = np.random.default_rng(6).uniform(low, high, len(hours))
    batch = {name: conditions[name][hours] for name in charging.needs if name in conditions} | {f"{store}.cold": cold}
    right = charging.solve(batch).view(store).charge.m
    worst = []
    for count in (2, 4, 6):
        table = tabulate(charging, conditions, {f"{store}.cold": chebyshev(low, high, count)}, runs)
        flow = table.at(table.flows(store, "charge")[0], hours, {f"{store}.cold": cold})
        worst.append(float(np.max(np.abs(flow / right - 1))))
    assert worst[1] < worst[0] / 10
    assert worst[2] < worst[1] / 10


def test_equal_hours_are_solved_once(sized_sand, basin):
    store, charging, _ = circuits_of(sized_sand)
    conditions, runs = sunny(sized_sand, basin.slice(2160, 24))
    twice = {name: np.concatenate([values, values]) for name, values in conditions.items()}
    axes = {f"{store}.cold": np.array(enthalpies(sized_sand, store, (-5.0, 0.0), "outlet"))}
    once = tabulate(charging, conditions, axes, runs)
    table = tabulate(charging, twice, axes, np.concatenate([runs, runs]))
    assert table.points == once.points == 2 * runs.sum()
    np.testing.assert_array_equal(table.row[:24], table.row[24:])
    np.testing.assert_array_equal(table.row >= 0, np.concatenate([runs, runs]))


def test_hours_alike_in_what_the_circuit_needs_are_one_point(sized_sand, basin):
    """The discharging circuit needs the air alone of all weather."""
    store, _, discharging = circuits_of(sized_sand)
    conditions, _ = sunny(sized_sand, basin.slice(2160, 48))
    axes = {f"{store}.hot": np.array(enthalpies(sized_sand, store, (-5.0, 0.0), "inlet")),
            "turbine.load": np.array([1.0])}
    table = tabulate(discharging, conditions, axes, np.ones(48, dtype=bool))
    assert table.distinct == len(np.unique(conditions["ambient"])) <= 48
    used = [conditions["ambient"][table.row == row] for row in range(table.distinct)]
    assert all(np.ptp(air) == 0.0 for air in used)


def test_a_circuit_that_cannot_be_solved_names_its_hour(sized_sand, basin):
    store, charging, _ = circuits_of(sized_sand)
    conditions, runs = sunny(sized_sand, basin.slice(2160, 24))
    conditions["field.absorbed"] = np.where(runs, np.nan, 0.0)
    axes = {f"{store}.cold": np.array(enthalpies(sized_sand, store, (-5.0, 0.0), "outlet"))}
    first = int(np.flatnonzero(runs)[0])
    with pytest.raises(ConvergenceError, match=f"hour number {first}"):
        tabulate(charging, conditions, axes, runs, lambda hour: f"hour number {hour}")


# ---- the year's own tables

@pytest.mark.parametrize("plant", ["oil_salt", "sand_silo", "air_rock"])
def test_a_year_agrees_with_solving_its_hours_where_the_march_found_them(plant, all_sized, basin):
    """Heat to and from the store of every hour against the circuits solved at that hour's enthalpies and load: 1e-5."""
    sized, weather = all_sized[plant], basin.slice(2160, 72)
    store, charging, discharging = circuits_of(sized)
    conditions, runs = sunny(sized, weather)
    hourly = run_year(sized, weather).hourly
    for circuit, active, side, heat, share, decided in (
            (charging, runs, "charge", "to_store", hourly.charging, {f"{store}.cold": "cold"}),
            (discharging, (hourly.load > 0).to_numpy(), "discharge", "from_store", hourly.generating + hourly.starting,
             {f"{store}.hot": "hot", "turbine.load": "load"})):
        batch = {name: conditions[name][active] for name in circuit.needs if name not in decided}
        batch |= {name: hourly[column].to_numpy()[active] for name, column in decided.items()}
        right = np.abs(getattr(circuit.solve(batch).view(store), side).heat) * share.to_numpy()[active]
        assert right.max() > 1e7
        np.testing.assert_allclose(hourly[heat].to_numpy()[active], right, rtol=1e-5, atol=1.0)
