"""The row: what it loses, drops, holds and costs, in oil and in water that boils; limits and cold nights."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.boiling import boiling_drop
from components.field_piping import FieldPiping
from components.friction import pressure_drop
from components.pipe_heat import conductance_per_metre
from components.piping import Insulation, insulation_volume
from components.row import Row
from loopnet.errors import ParameterError
from loopnet.media import medium
from loopnet.money import price_book

OIL, WATER = medium("diphenyl oil"), medium("water")
WOOL = Insulation(thickness=0.05)


def side(fluid, t_in, t_out, p, h_in=0.0, h_out=0.0):
    inlet, outlet = (SimpleNamespace(T=t, p=p, h=h) for t, h in ((t_in, h_in), (t_out, h_out)))
    return SimpleNamespace(medium=fluid, inlet=inlet, outlet=outlet)


def test_drop_of_oil_is_that_of_the_pipe_at_the_mean_temperature():
    row = Row(aperture=2600, length=480, diameter=0.066, fittings=40)
    got = row.drop(side(OIL, 560.0, 660.0, 14e5), 6.0)
    assert got == pytest.approx(pressure_drop(6.0, OIL.rho(610.0), OIL.mu(610.0), 0.066, 480.0, minor=40.0))


def test_drop_of_water_is_that_of_a_tube_that_boils():
    row = Row(aperture=3000, length=500, diameter=0.055, fittings=20)
    h_in, h_out = 1.0e6, 2.6e6
    got = row.drop(side(WATER, 500.0, 540.0, 70e5, h_in, h_out), 1.2)
    assert got == pytest.approx(boiling_drop(WATER, 1.2, h_in, h_out, 70e5, 0.055, 500.0, minor=20.0))
    liquid = row.drop(side(WATER, 400.0, 420.0, 70e5, 5e5, 6e5), 1.2)
    assert got > 3 * liquid


def test_loss_is_that_of_pipe_and_joints():
    row = Row(aperture=100, length=60, pipe=20, diameter=0.04, joints=8, joint_length=0.5, insulation=WOOL)
    each = conductance_per_metre(600.0, 290.0, 0.04 * 1.06, WOOL, 2.0)
    assert row.loss(600.0, 290.0, 2.0) == pytest.approx(float(each) * 310 * 24 / 100)
    assert row.hold(600.0, 290.0, 2.0, 5000.0) == pytest.approx(50 * float(each) * 310 * 24)
    assert (row.tube, row.outside) == (40.0, 20.0)
    assert Row(aperture=100, length=60).loss(600.0, 290.0, 2.0) == 0.0
    bare, wrapped = Row(aperture=100, length=60), Row(aperture=100, length=60, insulation=WOOL)
    assert (bare.outside, bare.tube, wrapped.outside, wrapped.tube) == (0.0, 60.0, 60.0, 60.0)


def test_more_pipe_than_row_is_refused():
    with pytest.raises(ParameterError, match=r"Row\.pipe: more pipe than the row is long"):
        Row(aperture=100, length=60, pipe=61)


def test_insulation_beyond_its_validity_is_told_by_name():
    row = Row(aperture=100, length=60, insulation=WOOL)
    assert row.findings(np.array([660.0]), np.array([290.0])) == []
    (text,) = row.findings(np.array([660.0, 1000.0]), np.array([290.0, 290.0]), "duct")
    assert text.startswith("duct: insulation at a mean of ")
    assert "extrapolated" in text
    assert row.findings(np.array([240.0]), np.array([240.0]))
    assert Row(aperture=100, length=60).findings(1500.0, 290.0) == []


def test_lines_of_cost_are_counted():
    book = price_book()
    layout = FieldPiping.of_points("10 m2", in_series=20, diameter=0.02, insulation=WOOL)
    row = layout.row()
    lines = {line.item: line for line in row.costs(book, "field", OIL, 600.0, 2000.0)}
    assert lines["flexible joints"].quantity == pytest.approx(200 * 2 * 0.02)  # priced by bore
    assert lines["valves of rows"].quantity == pytest.approx(10 * 3 * 0.02)
    pipe = 10 * layout.row_pipe
    assert lines["insulation between devices"].quantity == pytest.approx(pipe * float(insulation_volume(0.02, WOOL)))
    inside = 10 * row.length * np.pi / 4 * 0.02**2
    assert lines["medium in rows"].quantity == pytest.approx(inside * OIL.rho(600.0))


def test_heat_capacity_of_water_is_that_of_liquid():
    row = Row(aperture=100, length=50, diameter=0.055)
    standing = row.heat_capacity(WATER, 600.0, 70e5)
    t = WATER.T_sat(70e5) - 1.0
    volume = 50 * np.pi / 4 * 0.055**2
    assert standing * 100 > volume * WATER.rho(t, 70e5) * WATER.cp(t, 70e5)
    assert standing == pytest.approx(row.heat_capacity(WATER, t, 70e5))


@pytest.mark.law
@given(flow=st.floats(0.01, 20), d=st.floats(0.02, 0.2), wider=st.floats(1, 3), t=st.floats(300, 660),
       longer=st.floats(1, 5))
@settings(max_examples=60, deadline=None)
def test_wider_never_drops_more_and_longer_never_loses_less(flow, d, wider, t, longer):
    def row(bore=d, length=50.0):
        return Row(aperture=500, length=length, diameter=bore, insulation=WOOL)

    s = side(OIL, t, t, 14e5)
    assert row(d * wider).drop(s, flow) <= row().drop(s, flow) * (1 + 1e-12)
    assert row(length=50 * longer).loss(t, 290.0, 1.0) >= row().loss(t, 290.0, 1.0) * (1 - 1e-12)
    assert row(length=50 * longer).drop(s, flow) >= row().drop(s, flow)
