"""A circuit solved again from its last solution, against its own search from afar."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.cycle_again import solve_again
from loopnet.errors import ConvergenceError
from loopnet.solve import rate, size
from loopnet.solve.solution import design_conditions

from .small_plants import C, steam_plant

TRAINS = {"open": 4, "mixed": ("closed", "deaerator", "closed pumped", "closed")}


@pytest.fixture(scope="module", params=TRAINS)
def rated_circuit(request):
    sized = size(steam_plant("565 degC", "540 degC", reheat=True, turbine={"heaters": TRAINS[request.param]}))
    (circuit,) = rate(sized)
    return sized, circuit


def conditions(sized, circuit, load, ambient):
    found = {**design_conditions(sized.plant), "turbine.load": np.array([load]), "ambient": np.array([ambient + C])}
    return {name: found[name] for name in circuit.needs}


@pytest.mark.law
@settings(max_examples=12, deadline=None)
@given(st.floats(0.3, 1.0), st.floats(-10.0, 40.0), st.floats(-0.2, 0.2), st.floats(-15.0, 15.0))
def test_it_finds_what_the_search_finds(rated_circuit, load, ambient, more, warmer):
    sized, circuit = rated_circuit
    last = circuit.solve(conditions(sized, circuit, load, ambient))
    now = conditions(sized, circuit, float(np.clip(load + more, 0.25, 1.0)), ambient + warmer)
    again, search = solve_again(circuit, last, now), circuit.solve(now)
    for name in circuit.unknowns:
        assert again.values[name] == pytest.approx(search.values[name], rel=1e-8)
    assert circuit.certify(again).worst < 1e-9


@pytest.mark.law
def test_far_away_the_search_takes_over(rated_circuit):
    sized, circuit = rated_circuit
    last = circuit.solve(conditions(sized, circuit, 1.0, 35.0))
    far = conditions(sized, circuit, 0.2, -25.0)
    assert circuit.certify(solve_again(circuit, last, far)).worst < 1e-9


def test_what_has_no_solution_is_refused(rated_circuit):
    sized, circuit = rated_circuit
    last = circuit.solve(conditions(sized, circuit, 1.0, 25.0))
    with pytest.raises(ConvergenceError):
        solve_again(circuit, last, conditions(sized, circuit, float("nan"), 25.0))
