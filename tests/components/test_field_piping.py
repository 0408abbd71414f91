"""The pipes of a field: counted against a drawing made device by device, H and I, stages in series, and its laws."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.field_piping import FieldPiping
from components.friction import diameter_for_velocity, header_drop, pressure_drop
from components.legs import Leg, conductances, drop, lost_share, stuff
from components.pipe_heat import conductance_per_metre, header_conductance, header_decay
from components.piping import Insulation, Steel
from loopnet.errors import ParameterError

WOOL = Insulation(thickness=0.05)
TROUGH = FieldPiping(device=650, in_series=4, spacing=122, row_spacing=15, tube=120, branches=4)


def drawn(layout: FieldPiping, rows: int) -> dict[str, float]:
    """A field put on the ground piece by piece: its branch headers, and how far the farthest row is from the store."""
    branches = int(layout.branches)
    headers, far = 0.0, 0.0
    for branch in range(branches):
        place = (branch // 2 - (branches / 2 - 1) / 2) * 2 * layout.depth  # along the main header, fed in its middle
        at = 0.0
        for _pair in range(rows // branches // 2):
            at += layout.width
        headers += at
        far = max(far, layout.runner + abs(place) + at)
    return {"branch headers": headers, "far": far}


@pytest.mark.parametrize(("branches", "rows"), [(2, 40), (4, 80), (8, 160), (16, 320)])
def test_legs_against_a_drawing(branches, rows):
    layout = replace(TROUGH, branches=branches)
    legs = {leg.name: leg for leg in layout.legs(rows * layout.row_aperture)}
    piece_by_piece = drawn(layout, rows)
    branch = legs["branch headers"]
    assert branch.count * branch.length == pytest.approx(piece_by_piece["branch headers"])
    assert branch.taps == pytest.approx(rows / branches / 2)
    assert sum(leg.length for leg in legs.values()) == pytest.approx(piece_by_piece["far"])
    assert ("main header" in legs) == (branches > 2)
    assert layout.length_per_aperture * rows * layout.row_aperture == pytest.approx(branch.count * branch.length)


def test_row_and_counts():
    row, counts = TROUGH.row(), TROUGH.counts(26000.0)
    assert (row.aperture, row.tube, row.outside) == (2600.0, 480.0, 4 * 2 + 15)
    assert row.fittings == 4 * (2 * 0.5 + 4 * 0.3) + 3
    assert counts == {"devices": 40, "rows": 10, "flexible joints": 80, "elbows": 160, "valves": 30, "tees": 20}
    straight = replace(TROUGH, turn=False)
    assert straight.row().outside == 4 * 2 + 4 * 122
    assert (straight.depth, straight.width) == (488.0, 15.0)
    assert replace(TROUGH, riser=3).row_pipe == TROUGH.row_pipe + 12


# One velocity in all stages: continuity, m = rho v A (exact).
@pytest.mark.book
def test_velocity_is_the_same_everywhere():
    flow, rho, v = 800.0, 770.0, 2.2
    whole = float(diameter_for_velocity(flow, rho, v))
    for leg in replace(TROUGH, branches=8).legs(1e6):
        assert flow / leg.count / (rho * np.pi / 4 * leg.diameter(whole) ** 2) == pytest.approx(v)


def test_stages_add_up():
    legs = [Leg("runner", 1.0, 80.0), Leg("header", 2.0, 300.0, taps=20.0)]
    dp = pressure_drop(90.0, 770.0, 2e-4, 0.3, 80.0) + header_drop(45.0, 770.0, 2e-4, 0.3 / 2**0.5, 300.0, branches=20)
    assert drop(legs, 90.0, 770.0, 2e-4, 0.3) == pytest.approx(float(dp))
    g = conductances(legs, 660.0, 290.0, 0.3, WOOL, 2.0)
    assert g[0] == pytest.approx(80 * float(conductance_per_metre(660.0, 290.0, 0.309, WOOL, 2.0)))
    assert g[1] == pytest.approx(2 * float(header_conductance(660.0, 290.0, 0.309 / 2**0.5, 300.0, WOOL, 2.0)))
    left = np.exp(-g[0] / 2e4) * header_decay(g[1] / 2e4)
    assert lost_share(legs, g, 2e4) == pytest.approx(1 - float(left))
    made = stuff(legs, 0.3, WOOL, Steel(), 1e6)
    assert made.length == 680.0
    assert made.inside == pytest.approx(np.pi / 4 * (0.09 * 80 + 600 * 4 / 9 * 0.045))


@pytest.mark.parametrize(("bad", "where"), [({"tube": 130}, "tube"), ({"in_series": 0.5}, "in_series"),
                                            ({"device": -1}, "device")])
def test_what_cannot_be_built_is_refused(bad, where):
    with pytest.raises(ParameterError, match=where):
        replace(TROUGH, **bad)


LAYOUTS = st.builds(
    lambda device, n, cover, height, joints, thickness, bore: FieldPiping.of_points(
        device, in_series=n, cover=cover, height=height, joints=joints, branches=None, diameter=bore,
        insulation=Insulation(thickness=thickness)),
    device=st.floats(1, 1000), n=st.integers(1, 200), cover=st.floats(0.1, 0.8), height=st.floats(0, 2),
    joints=st.integers(0, 4), thickness=st.floats(0.02, 0.2), bore=st.floats(0.01, 0.3))


@pytest.mark.law
@given(layout=LAYOUTS, t=st.floats(320, 900), wind=st.floats(0, 10), tube=st.floats(0, 1), turn=st.booleans())
@settings(max_examples=60, deadline=None)
def test_splitting_a_device_in_two_never_lowers_loss_nor_drop(layout, t, wind, tube, turn):
    layout = replace(layout, tube=tube * layout.spacing, turn=turn)
    split = layout.split()
    whole, halves = layout.row(), split.row()
    assert split.row_aperture == pytest.approx(layout.row_aperture)
    assert halves.tube == pytest.approx(whole.tube, rel=1e-9, abs=1e-9)
    assert halves.outside >= whole.outside * (1 - 1e-9)
    assert halves.loss(t, 290.0, wind) >= whole.loss(t, 290.0, wind) * (1 - 1e-9)
    assert halves.fittings >= whole.fittings
    for one, two in zip(layout.legs(1e6), split.legs(1e6), strict=True):
        assert (float(two.length), float(two.count)) == pytest.approx((float(one.length), float(one.count)))


@pytest.mark.law
@given(layout=LAYOUTS, aperture=st.floats(1e4, 1e7), more=st.floats(1, 10))
@settings(max_examples=40, deadline=None)
def test_a_larger_field_has_no_shorter_way(layout, aperture, more):
    small, large = layout.legs(aperture), layout.legs(aperture * more)
    assert sum(leg.length for leg in large) >= sum(leg.length for leg in small) * (1 - 1e-9)
    assert (sum(leg.length * leg.count for leg in large)
            >= sum(leg.length * leg.count for leg in small) * (1 - 1e-9))


def test_legs_take_arrays():
    apertures = np.array([1e4, 1e5, 1e6])
    layout = replace(TROUGH, branches=None)
    for i, aperture in enumerate(apertures):
        for one, many in zip(layout.legs(float(aperture)), layout.legs(apertures), strict=True):
            assert np.broadcast_to(many.length, 3)[i] == pytest.approx(float(one.length))
            assert np.broadcast_to(many.count, 3)[i] == pytest.approx(float(one.count))
