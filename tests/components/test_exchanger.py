"""Exchanger between two loops: textbook counterflow, the ht library off design, and the two laws."""

from __future__ import annotations

import ht.hx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.transfer import ua_at_flow
from loopnet.errors import ConvergenceError
from loopnet.money import price_book
from loopnet.solve import size

from .small_plants import C, Steady, exchanger_plant, rated

OIL, WATER = Steady("textbook oil", 2131.0), Steady("textbook water", 4178.0)


# Incropera et al., Fundamentals of Heat and Mass Transfer, example 11.1 (mean difference seen; rest from memory): oil
# 0.1 kg/s, cp 2131, 100 to 60 degC; water 0.2 kg/s, cp 4178, from 30 degC; U 38.1 W/m2/K, tube of 25 mm: 8524 W, water
# out 40.2 degC, 43.2 K, 65.9 m. Tolerance 0.2 %, and as much of the 10.2 K that the given outlet is rounded in.
@pytest.mark.book
def test_incropera_counterflow():
    sized = size(exchanger_plant(OIL, WATER, 100.0, 30.0, 60.0, 40.2, 0.1))
    v = sized.view("exchanger")
    assert v.cold.heat[0] == pytest.approx(8524, rel=2e-3)
    assert v.cold.m[0] == pytest.approx(0.2, rel=2e-3)
    assert v.cold.heat[0] / v["UA"][0] == pytest.approx(43.2, rel=2e-3)
    assert v["UA"][0] / (38.1 * np.pi * 0.025) == pytest.approx(65.9, rel=2e-3)


# Incropera et al., table 11.3: counterflow, NTU 3 and equal capacities give an effectiveness of 0.75 (closed form).
@pytest.mark.book
def test_balanced_counterflow():
    v = size(exchanger_plant(OIL, Steady("twin", 2131.0), 100.0, 20.0, 40.0, 80.0, 1.0)).view("exchanger")
    assert v["UA"][0] / (v.hot.m[0] * 2131.0) == pytest.approx(3.0, rel=1e-9)


# Effectiveness from ht (computed with 1.2.0), UA from the rule of Dittus and Boelter for both films.
@pytest.mark.book
def test_off_design_outlets_against_ht():
    sized = size(exchanger_plant(OIL, WATER, 100.0, 30.0, 60.0, 40.2, 0.1))
    share = np.array([0.25, 0.5, 0.8, 1.0, 1.1])
    v = rated(sized, warm__flow=share)("exchanger")
    weak, strong = 0.1 * share * 2131.0, sized.view("exchanger").cold.m[0] * share * 4178.0
    ua = sized.values["exchanger.UA"] * share**0.8
    want = [ht.hx.effectiveness_from_NTU(u / w, w / s, "counterflow") for u, w, s in zip(ua, weak, strong, strict=True)]
    assert v.hot.outlet.T == pytest.approx(100 + C - 70 * np.array(want), rel=1e-9)
    assert v.cold.outlet.T == pytest.approx(30 + C + 70 * np.array(want) * weak / strong, rel=1e-9)
    assert ua == pytest.approx(ua_at_flow(sized.values["exchanger.UA"], share, share), rel=1e-12)


temperatures = st.tuples(st.floats(60.0, 300.0), st.floats(5.0, 100.0), st.floats(5.0, 100.0), st.floats(5.0, 60.0))


@pytest.mark.law
@settings(max_examples=12, deadline=None)
@given(temperatures, st.floats(0.1, 50.0))
def test_energy_closes_and_nothing_crosses(draw, flow):
    cold_in, rise, approach, above = draw
    cold_out = cold_in + rise
    hot_out, hot_in = cold_in + approach, max(cold_out, cold_in + approach) + above
    sized = size(exchanger_plant(OIL, WATER, hot_in, cold_in, hot_out, cold_out, flow))
    v = sized.view("exchanger")
    assert v.hot.heat[0] + v.cold.heat[0] == pytest.approx(0.0, abs=1e-9 * v.cold.heat[0])
    assert all(d[0] > 0 for d in sized.plant.components["exchanger"].differences(v).values())
    again = rated(sized, warm__flow=1.0)
    for name in ("warm", "cool", "exchanger"):
        for side in type(sized.plant.components[name]).sides:
            want = getattr(sized.view(name), side).outlet.T
            assert getattr(again(name), side).outlet.T == pytest.approx(want, rel=1e-8)


@pytest.mark.law
def test_less_flow_comes_closer_and_drops_less_pressure():
    sized = size(exchanger_plant(OIL, WATER, 100.0, 30.0, 60.0, 40.2, 0.1))
    v = rated(sized, warm__flow=[0.25, 0.5, 1.0])("exchanger")
    assert np.all(np.diff(v.hot.outlet.T) > 0)
    assert v.hot.inlet.p - v.hot.outlet.p == pytest.approx(1e5 * np.array([1 / 16, 1 / 4, 1.0]))
    assert v.cold.inlet.p - v.cold.outlet.p == pytest.approx(1.5e5 * np.array([1 / 16, 1 / 4, 1.0]))


@pytest.mark.law
def test_surface_is_bought_by_the_square_metre():
    plant = exchanger_plant(OIL, WATER, 100.0, 30.0, 60.0, 40.2, 0.1).with_component("exchanger", u=38.1)
    sized = size(plant)
    (line,) = plant.components["exchanger"].costs(sized.view("exchanger"), price_book())
    assert line.quantity == pytest.approx(sized.values["exchanger.UA"] / 38.1)


def test_a_cold_side_hotter_than_the_hot_one_is_refused():
    with pytest.raises(ConvergenceError, match=r"exchanger, hot end"):
        size(exchanger_plant(OIL, WATER, 100.0, 30.0, 60.0, 101.0, 0.1))
