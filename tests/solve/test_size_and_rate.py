"""Sizing and rating are the same equations; media may be swapped to and fro; a point that fails is named."""

from __future__ import annotations

from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.errors import ConvergenceError, ParameterError, PropertyRangeError, TopologyError
from loopnet.media import media_names
from loopnet.plants import find_plant
from loopnet.solve import Sized, rate, size
from loopnet.solve.solution import design_conditions

SHIPPED = ("oil_salt", "air_rock", "sand_silo")


def at_design(sized: Sized, points: int = 1) -> dict[str, np.ndarray]:
    """Conditions under which the built plant does what it was sized for: stores as full as they get, full load."""
    conditions = design_conditions(sized.plant)
    for name in sized.plant.components:
        family, view = sized.plant.components[name].family, sized.view(name)
        if family == "store":
            conditions[f"{name}.hot"], conditions[f"{name}.cold"] = view.charge.inlet.h, view.discharge.inlet.h
        elif family == "cycle":
            conditions[f"{name}.load"] = np.ones(1)
    return {name: np.repeat(value, points) for name, value in conditions.items()}


@pytest.mark.law
@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("off", [1.0, 1.02])
def test_rated_at_the_design_point_a_plant_gives_its_design_back(all_sized, name, off):
    """Also when the search starts elsewhere."""
    sized = all_sized[name]
    conditions = at_design(sized)
    found = {}
    for circuit in rate(sized):
        start = {u: np.array([sized.values[u] * off]) for u in circuit.unknowns}
        frame = circuit.solve({c: conditions[c] for c in circuit.needs}, start=start)
        circuit.certify(frame)
        found |= {u: float(frame.values[u][0]) for u in circuit.unknowns}
    hardware = {f"{n}.{u.name}" for n, c in sized.plant.components.items() for u in c.unknowns() if u.hardware}
    assert set(found) | hardware == set(sized.values)
    assert not set(found) & hardware
    for unknown, value in found.items():
        assert value == pytest.approx(sized.values[unknown], rel=1e-9, abs=1e-6), unknown


@pytest.mark.parametrize("name", SHIPPED)
def test_a_batch_of_loads_and_suns_equals_its_points(all_sized, name):
    sized = all_sized[name]
    conditions = at_design(sized, 4)
    for key in conditions:
        if key == "ambient":
            conditions[key] = np.array([268.0, 285.0, 298.0, 313.0])
        elif key.endswith(".load"):
            conditions[key] = np.array([0.4, 1.0, 0.7, 0.55])
        elif key.startswith("field."):
            conditions[key] = conditions[key] * np.array([0.5, 0.7, 1.0, 0.9])
    for circuit in rate(sized):
        needs = {c: conditions[c] for c in circuit.needs}
        batch = circuit.solve(needs)
        circuit.certify(batch)
        for i in range(4):
            one = circuit.solve({c: x[i:i + 1] for c, x in needs.items()})
            for unknown in circuit.unknowns:
                assert batch.values[unknown][i] == pytest.approx(one.values[unknown][0], rel=1e-7, abs=1e-6), unknown


def test_more_load_makes_more_power_and_a_colder_day_too(sized_sand):
    circuit = next(c for c in rate(sized_sand) if "turbine.load" in c.needs)
    conditions = at_design(sized_sand, 4)
    conditions["turbine.load"] = np.array([0.5, 0.75, 1.0, 1.0])
    conditions["ambient"] = np.array([300.0, 300.0, 300.0, 285.0])
    power = circuit.solve({c: conditions[c] for c in circuit.needs}).values["turbine.power"]
    assert np.all(np.diff(power) > 0)


def test_a_point_that_fails_is_named(sized_sand):
    circuit = next(c for c in rate(sized_sand) if "turbine.load" in c.needs)
    conditions = at_design(sized_sand, 3)
    hot = conditions["silos.hot"]
    conditions["silos.hot"] = np.array([hot[0], 1.0, hot[0]])  # sand at ambient temperature makes no steam
    with pytest.raises(ConvergenceError, match="1 of 3 points failed, first hour 4712") as caught:
        circuit.solve({c: conditions[c] for c in circuit.needs}, describe=lambda i: f"hour {4711 + i}")
    assert "boiler" in caught.value.what
    assert "worst equation" in caught.value.got
    assert caught.value.where == "plant 'sand_silo'"
    assert caught.value.hint


# -- the medium of a loop ----------------------------------------------------------------------------------------------


@pytest.mark.law
@settings(max_examples=6, deadline=None)
@given(plant=st.sampled_from([("oil_salt", "oil"), ("oil_salt", "salt"), ("sand_silo", "sand")]),
       other=st.sampled_from([n for n in media_names() if n not in ("water", "air")]), outlet=st.floats(-6.0, 0.0))
def test_swapping_a_medium_twice_gives_the_first_result_back(plant, other, outlet):
    """Also where the other medium does not do: the refusal leaves nothing behind."""
    name, loop = plant
    drawn = find_plant(name)
    drawn = drawn.with_component("field", outlet=drawn.components["field"].outlet + outlet)
    own = drawn.loops[loop].medium.name
    first = size(drawn)
    swapped = drawn.with_medium(loop, other)
    between = None
    with suppress(TopologyError, PropertyRangeError, ParameterError):
        between = size(swapped)
    if between is None:
        assert other != own
    else:
        flow = next(u for u in first.values if u.startswith(f"m[{loop}"))
        assert (between.values[flow] == first.values[flow]) == (other == own)
    back = size(swapped.with_medium(loop, own))
    assert dict(back.values) == dict(first.values)


@pytest.mark.law
def test_oil_to_salt_and_back(sized_oil):
    """Salt stands all temperatures of the oil loop; flow and pipes follow its heat capacity and density."""
    salty = size(sized_oil.plant.with_medium("oil", "nitrate salt"))
    assert dict(size(salty.plant.with_medium("oil", "diphenyl oil")).values) == dict(sized_oil.values)
    ratio = salty.values["m[oil]"] / sized_oil.values["m[oil]"]
    cp = [sized.plant.loops["oil"].medium.cp(625.0) for sized in (sized_oil, salty)]
    assert ratio == pytest.approx(cp[0] / cp[1], rel=0.03)
    assert salty.values["hot_header.diameter"] < sized_oil.values["hot_header.diameter"]
