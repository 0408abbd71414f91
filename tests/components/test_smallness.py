"""The penalty of smallness: it grows as devices shrink, agrees with the pieces it is made of, and takes no longer."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from components.field_piping import FieldPiping
from components.friction import pressure_drop
from components.piping import Insulation
from components.smallness import FieldDuty, piping_figures, smallness, smallness_table
from loopnet.media import medium
from loopnet.money import price_book

OIL, BOOK, DUTY = medium("diphenyl oil"), price_book(), FieldDuty()
WOOL = Insulation(thickness=0.05)
FIELD = FieldPiping.of_points("10 m2", in_series=40, insulation=WOOL, branches=4)


@pytest.fixture(scope="module")
def sizes():
    return smallness(OIL, DUTY, BOOK)


@pytest.mark.law
def test_smaller_devices_lose_pump_and_cost_more(sizes):
    for small, large in pairwise(sizes):
        assert small.device < large.device
        for what in ("loss", "row_loss", "pumping", "cost", "joints", "pipe"):
            assert getattr(small, what) > getattr(large, what), what


def test_figures_are_those_of_their_pieces():
    made = piping_figures(FIELD, 4e5, OIL, DUTY, BOOK)
    rows, row, middle = 1000, FIELD.row(), 0.5 * (DUTY.hot + DUTY.cold)
    flow = 550.0 * 400 / (OIL.h(DUTY.hot) - OIL.h(DUTY.cold))
    dp = pressure_drop(flow, OIL.rho(middle), OIL.mu(middle), row.diameter, row.length, minor=row.fittings)
    assert made.row_drop == pytest.approx(float(dp))
    assert made.devices == pytest.approx(rows * 40)
    assert made.row_loss == pytest.approx(float(row.loss(middle, DUTY.ambient, DUTY.wind)))
    assert made.joints == pytest.approx(2 / 10)
    assert made.pumping == pytest.approx(
        rows * flow * (made.row_drop + made.header_drop) / (OIL.rho(middle) * DUTY.pump) / 4e5)
    assert made.pipe > rows * FIELD.row_pipe / 4e5


def test_insulation_of_the_rows_is_that_of_the_headers_where_none_is_told():
    bare = replace(FIELD, insulation=None)
    assert piping_figures(bare, 4e5, OIL, DUTY, BOOK, WOOL).row_loss == pytest.approx(
        piping_figures(FIELD, 4e5, OIL, DUTY, BOOK, WOOL).row_loss)


@pytest.mark.law
def test_splitting_never_lowers_loss_of_the_whole_field():
    for field in (FIELD, replace(FIELD, tube=2.0), replace(FIELD, turn=False, joints=0.0, riser=0.0)):
        whole, split = (piping_figures(f, 4e5, OIL, DUTY, BOOK) for f in (field, field.split()))
        assert split.loss >= whole.loss * (1 - 1e-12)
        assert split.devices == pytest.approx(2 * whole.devices)


def test_the_row_chosen_is_the_cheapest_of_its_neighbours(sizes):
    """Ten per cent more or less bore, and the next thickness, cost no less in a year than what was chosen."""
    from components.economic_pipe import PipeMoney

    money = PipeMoney.of_book(BOOK)
    chosen = sizes[1]

    def yearly(bore: float, thickness: float) -> float:
        field = FieldPiping.of_points(10.0, in_series=chosen.in_series, branches=None, diameter=bore,
                                      insulation=Insulation(thickness=thickness))
        made = piping_figures(field, 1e6, OIL, DUTY, BOOK, Insulation(thickness=0.1))
        return (money.annuity * made.cost + money.heat * money.hot * made.loss
                + money.electricity * money.flowing * made.pumping)

    grid = {(b, s): yearly(b, s) for b in chosen.bore * np.array([0.75, 1.0, 1.35]) for s in (0.03, 0.04, 0.05, 0.06,
                                                                                         0.08, 0.1, 0.12)}
    assert min(grid, key=lambda key: grid[key])[0] == chosen.bore


def test_the_table_has_its_units(sizes):
    table = smallness_table(sizes)
    assert list(table.index) == [1.0, 10.0, 100.0, 1000.0]
    assert table["warm-up [kWh/m2]"].iloc[0] == pytest.approx(sizes[0].warm_up / 3.6e6)
    assert sizes[0].to_dict()["loss"] == sizes[0].row_loss + sizes[0].header_loss
