"""Standard pipe against the fluids library and pipe tables; stepped headers against their pieces."""

from __future__ import annotations

import numpy as np
import pytest
from fluids import nearest_pipe
from hypothesis import given, settings
from hypothesis import strategies as st

from components.friction import pressure_drop
from components.pipe_sizes import sizes_of, standard_pipe, stepped_header
from loopnet.errors import ParameterError


# ASME B36.10, schedule 40 (memory): NPS 2 60.33 x 3.91 mm, NPS 10 273.05 x 9.27 mm; docstring of
# fluids.nearest_pipe 1.3.1 (seen): a bore of 21 mm is NPS 1, 26.64 mm, 3.38 mm.
@pytest.mark.book
def test_sizes_of_the_tables():
    table = {row[0]: row for row in sizes_of("40")}
    for nominal, outer, wall in ((2, 60.33e-3, 3.91e-3), (10, 273.05e-3, 9.27e-3)):
        assert table[nominal][2:] == pytest.approx([outer, wall], abs=6e-5)
        assert table[nominal][1] == pytest.approx(outer - 2 * wall, abs=1e-4)
    assert [float(x) for x in standard_pipe(0.021)] == pytest.approx([26.64e-3, 3.38e-3])


# fluids.nearest_pipe, one by one: computed.
@pytest.mark.book
@pytest.mark.parametrize("schedule", ["10", "40", "80"])
def test_vectorised_choice_is_that_of_fluids(schedule):
    bores = np.random.default_rng(2).uniform(0.02, 0.5, 25)
    inner, wall = standard_pipe(bores, schedule)
    for bore, d, t in zip(bores, inner, wall, strict=True):
        assert nearest_pipe(Di=bore, schedule=schedule)[1::2] == pytest.approx((d, t))


def pieces(flow, rho, velocity, length, taps):
    """The header piece by piece: bore and length of each, smallest flow first."""
    part = np.arange(1, taps + 1) / taps
    asked = np.sqrt(4 * flow * part / (rho * velocity * np.pi))
    return part, standard_pipe(asked * (1 - 1e-9))[0], np.full(taps, length / taps)


# The same header walked piece by piece (computed): the lengths are the same, the drop within its two-point rule.
@pytest.mark.book
@pytest.mark.parametrize(("taps", "tolerance"), [(1, 1e-9), (7, 1e-4), (60, 1e-3), (3000, 1e-3)])
def test_stepped_header_against_its_pieces(taps, tolerance):
    flow, rho, mu, velocity, length = 130.0, 770.0, 2e-4, 2.2, 700.0
    part, bore, each = pieces(flow, rho, velocity, length, taps)
    header = stepped_header(flow, rho, velocity, length, taps)
    for d, metres in zip(header.inner, header.length, strict=True):
        assert metres == pytest.approx(each[bore == d].sum())
    walked = pressure_drop(flow * part, rho, mu, bore, each).sum()
    assert header.drop(flow, rho, mu) == pytest.approx(float(walked), rel=tolerance)
    assert header.length.sum() == pytest.approx(length)


@pytest.mark.law
@given(flow=st.floats(1, 600), velocity=st.floats(0.8, 5), taps=st.integers(1, 100000), length=st.floats(1, 5000))
@settings(max_examples=60, deadline=None)
def test_no_piece_is_too_fast_and_sizes_rise_with_flow(flow, velocity, taps, length):
    if flow / 800 / velocity > np.pi / 4 * 0.57**2:
        return
    header = stepped_header(flow, 800.0, velocity, length, taps)
    assert np.all(header.velocity(flow, 800.0) <= velocity * (1 + 1e-9))
    assert np.all(np.diff(header.inner) > 0)
    assert header.shares[-1, 1] == pytest.approx(1.0)
    assert header.length.sum() == pytest.approx(length)
    assert header.to_frame()["length [m]"].sum() == pytest.approx(length)


def test_too_large_and_unknown_are_refused():
    with pytest.raises(ParameterError, match="no standard pipe is so large"):
        standard_pipe(3.0)
    with pytest.raises(ParameterError, match="unknown schedule"):
        sizes_of("nonsense")
