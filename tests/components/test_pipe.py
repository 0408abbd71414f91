"""Headers in a plant: laid out by a field's own drawing or by numbers, their heat at night, their limits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from components.field_piping import FieldPiping
from components.legs import conductances
from components.pipe import HeaderPipe
from components.piping import Insulation
from loopnet.errors import ParameterError
from loopnet.money import price_book
from loopnet.plant import Plant
from loopnet.solve import Sized, size

LAYOUT = FieldPiping(device=650, in_series=4, spacing=122, row_spacing=15, tube=120, branches=4, runner=150)


@pytest.fixture(scope="module")
def plain(sized_oil) -> Sized:
    """The headers of the oil plant told by length per aperture."""
    plant = sized_oil.plant
    for name in ("hot_header", "cold_header"):
        plant = plant.with_component(name, layout=None)
    return size(plant)


@pytest.fixture(scope="module")
def laid(plain) -> Sized:
    """The same plant, rows and headers from one layout."""
    plant: Plant = plain.plant.with_component("field", row=LAYOUT.row())
    for name in ("hot_header", "cold_header"):
        plant = plant.with_component(name, layout=LAYOUT)
    return size(plant)


def test_a_layout_lays_out_the_header(laid):
    view = laid.view("hot_header")
    header: HeaderPipe = laid.plant.components["hot_header"]
    aperture = laid.values["field.aperture"]
    names = [leg.name for leg in header.legs(view)]
    assert names == ["runner", "main header", "branch headers"]
    branches = header.legs(view)[-1]
    assert float(np.squeeze(branches.count * branches.length)) == pytest.approx(LAYOUT.length_per_aperture * aperture)
    flow, rho = float(view.main.m[0]), float(np.squeeze(view.main.inlet.rho))
    assert flow / (rho * np.pi / 4 * float(view["diameter"][0]) ** 2) == pytest.approx(2.2)


def test_numbers_that_tell_the_same_give_the_same(plain):
    """One runner and one header with 50 branches, told either way."""
    lengths = LAYOUT.length_per_aperture
    told = size(plain.plant.with_component("hot_header", length_per_aperture=lengths, runner=150.0))
    view = told.view("hot_header")
    runner, header = told.plant.components["hot_header"].legs(view)
    assert (runner.count, float(runner.length), header.taps) == (1.0, 150.0, 50.0)
    assert float(np.squeeze(header.length)) == pytest.approx(lengths * told.values["field.aperture"])


def test_equal_headers_side_by_side_share_the_flow(plain):
    two = size(plain.plant.with_component("hot_header", parallel=2))
    one = plain.values["hot_header.diameter"]
    drops = [float((v.inlet.p - v.outlet.p)[0]) for v in (s.view("hot_header").main for s in (two, plain))]
    # the same velocity, half the header and the whole runner each, D^-1.2 of friction
    assert 0.75 < drops[0] / drops[1] < 1.0
    assert two.values["hot_header.diameter"] == pytest.approx(one / 2**0.5, rel=1e-2)


def test_what_holds_the_pipe_at_night(laid):
    view, header = laid.view("hot_header"), laid.plant.components["hot_header"]
    ambient = float(view.site("ambient")[0])
    assert float(np.squeeze(header.hold(view, ambient))) == pytest.approx(0.0, abs=1e-9)
    cool, warm = (float(np.squeeze(header.hold(view, t))) for t in (ambient + 40, ambient + 80))
    assert 2 * cool < warm < 2.5 * cool  # wool conducts better when it is warmer
    each = conductances(header.legs(view), ambient + 80, ambient, view["diameter"], header.insulation,
                        view.site("wind"))
    assert warm == pytest.approx(80 * float(np.squeeze(sum(each))))
    by_day = -float(np.squeeze(view.main.heat))
    assert float(np.squeeze(header.hold(view, view.main.inlet.T))) == pytest.approx(by_day, rel=0.01)


def test_insulation_too_hot_is_told_by_the_name_of_the_header(laid):
    view, header = laid.view("hot_header"), laid.plant.components["hot_header"]
    assert list(header.findings(view)) == []
    narrow = replace(header.insulation)
    object.__setattr__(narrow, "validity", (273.15, 400.0))
    (text,) = replace(header, insulation=narrow).findings(view)
    assert text.startswith("hot_header: insulation at a mean of")


def test_a_layout_needs_its_field(plain):
    with pytest.raises(ParameterError, match="a layout is that of a field"):
        HeaderPipe(layout=LAYOUT).check({"main": plain.view("hot_header").main.medium})


def test_warm_up_and_costs_follow_the_layout(laid):
    view, header = laid.view("hot_header"), laid.plant.components["hot_header"]
    heat, time = header.warm_up(view)[:2]
    assert heat / time == pytest.approx(float(np.squeeze(header.hold(view, view.main.inlet.T))))
    thick = replace(header, insulation=Insulation(thickness=0.3))
    assert thick.hold(view, 500.0) < header.hold(view, 500.0) / 1.3
    lines = {line.item: line for line in header.costs(view, price_book())}
    assert set(lines) == {"steel", "insulation", "medium inside"}
    assert lines["medium inside"].quantity > 0


def test_a_layout_and_numbers_are_not_both_taken(laid):
    with pytest.raises(ParameterError, match=r"HeaderPipe\.runner: the layout already says"):
        size(laid.plant.with_component("hot_header", runner="300 m"))
