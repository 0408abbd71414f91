"""What equations see: every read is recorded, and the cache never changes a value."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.solve.solution import design_conditions
from loopnet.solve.system import System, assemble
from loopnet.solve.view import Frame


@pytest.fixture(scope="module")
def recorded(all_sized) -> dict[tuple[str, str], tuple[System, Frame]]:
    """System and solved frame of each plant, sizing and rating."""
    made = {}
    for name, sized in all_sized.items():
        conditions = design_conditions(sized.plant)
        for component, model in sized.plant.components.items():
            for key, (low, high) in model.givens(sized.view(component)).items():
                conditions[f"{component}.{key}"] = np.array([(low + high) / 2])
        for mode, design in (("sizing", {}), ("rating", sized.values)):
            system = assemble(sized.plant, mode, conditions, design)
            values = {u: np.array([sized.values[u]]) for u in system.unknowns}
            made[name, mode] = system, system.frame(values, conditions, design)
    return made


PLANTS = [(name, mode) for name in ("oil_salt", "air_rock", "sand_silo") for mode in ("sizing", "rating")]


@pytest.mark.parametrize("key", PLANTS)
def test_an_unknown_that_is_not_recorded_changes_nothing(recorded, key):
    system, frame = recorded[key]
    plain = {e: np.array(residual(frame)) for e, residual in system.equations.items()}
    for unknown in system.unknowns:
        moved = frame.changed(unknown, frame.values[unknown] * 1.01 + 0.01)
        for equation, residual in system.equations.items():
            if unknown not in system.reads[equation]:
                assert np.array_equal(residual(moved), plain[equation]), (equation, unknown)


@pytest.mark.parametrize("key", PLANTS)
def test_a_condition_that_is_not_recorded_changes_nothing(recorded, key):
    system, frame = recorded[key]
    plain = {e: np.array(residual(frame)) for e, residual in system.equations.items()}
    changed = 0
    for condition in frame.conditions:
        conditions = {**frame.conditions, condition: frame.conditions[condition] * 1.01 + 0.01}
        moved = system.frame(frame.values, conditions, frame.design)
        for equation, residual in system.equations.items():
            same = np.array_equal(residual(moved), plain[equation])
            assert same or "?" + condition in system.reads[equation], (equation, condition)
            changed += not same
    assert changed  # some equation does follow the weather


def test_what_is_recorded_is_what_was_read(sized_sand):
    links = sized_sand.frame.links
    frame = Frame(links, dict(sized_sand.frame.values), sized_sand.frame.conditions, {}, sized_sand.plant.design)

    def reads(of) -> set[str]:
        frame.reads = set()
        of(frame.view("boiler"))
        seen, frame.reads = frame.reads, None
        return seen

    hot_in, hot_out = links["boiler"].sides["hot"]
    assert reads(lambda v: v["h_pinch"]) == {"boiler.h_pinch"}
    assert reads(lambda v: v.hot.m) == {hot_in.m}
    assert reads(lambda v: v.hot.inlet.T) == {hot_in.h}
    water = links["boiler"].sides["water"][0]
    assert reads(lambda v: v.water.inlet.T) == {water.h, water.p}
    assert reads(lambda v: v.hot.heat) == {hot_in.m, hot_in.h, hot_out.h}
    assert reads(lambda v: (v.site("wind"), v.frame.view("field").given("sun"))) == {"?wind", "?field.sun"}
    assert reads(lambda v: v.other("field")["aperture"]) == {"field.aperture"}
    assert reads(lambda v: v.design("h_pinch")) == {"boiler.h_pinch"}  # its present value when sizing
    # a shared intermediate passes its reads on, the first time and after
    assert reads(lambda v: v.once("k", lambda: v["h_pinch"] + v.once("inner", lambda: v.hot.m))) == {
        "boiler.h_pinch", hot_in.m}
    assert reads(lambda v: v.once("k", lambda: v["h_pinch"] + v.once("inner", lambda: v.hot.m))) == {
        "boiler.h_pinch", hot_in.m}


def test_view_tells_what_is_not_there(sized_sand):
    view = sized_sand.view("boiler")
    assert view.name == "boiler"
    with pytest.raises(AttributeError, match="boiler has no side 'cold'"):
        _ = view.cold
    assert view.sizing
    assert view.hot.ratio == 1.0
    assert view.targets is sized_sand.plant.design


def test_an_intermediate_is_computed_once_while_its_inputs_stay(sized_sand):
    frame = sized_sand.frame.changed("boiler.h_pinch", sized_sand.frame.values["boiler.h_pinch"])
    calls = []

    def twice(of: Frame):
        view = of.view("boiler")
        return view.once("doubled", lambda: calls.append(1) or 2.0 * view["h_pinch"])

    frame.reads_of = {**frame.reads_of}
    frame.reads = set()
    twice(frame)
    frame.reads = None
    calls.clear()
    assert twice(frame) is twice(frame)
    assert len(calls) == 1
    other = frame.changed("boiler.h_economiser", np.array([1.0]))
    assert twice(other) is twice(frame)
    assert len(calls) == 1
    moved = frame.changed("boiler.h_pinch", np.array([1.0]))
    assert twice(moved)[0] == 2.0
    assert twice(frame)[0] != 2.0
    assert twice(frame.at(np.array([0])))[0] == twice(frame)[0]


def test_an_intermediate_of_the_weather_alone_follows_the_points(sized_sand):
    three = {name: np.arange(3.0) for name in sized_sand.frame.conditions}
    frame = Frame(sized_sand.frame.links, {}, three, {}, sized_sand.plant.design)

    def doubled(of: Frame):
        view = of.view("field")
        return view.once("gusts", lambda: 2.0 * view.site("wind"))

    frame.reads = set()
    doubled(frame)
    assert frame.reads == {"?wind"}
    frame.reads = None
    assert list(doubled(frame)) == [0.0, 2.0, 4.0]
    assert list(doubled(frame.at(np.array([2, 0])))) == [4.0, 0.0]


@st.composite
def moves(draw):
    """A walk from frame to frame: an unknown of the steam cycle or the field changes, or points are dropped."""
    return draw(st.lists(st.one_of(st.tuples(st.just("changed"), st.integers(0, 10**6), st.floats(0.97, 1.03)),
                                   st.tuples(st.just("at"), st.integers(1, 6), st.just(0.0))), min_size=1, max_size=6))


@pytest.mark.law
@pytest.mark.parametrize("key", [("sand_silo", "sizing"), ("oil_salt", "rating")])
@given(walk=moves())
@settings(max_examples=12, deadline=None)
def test_value_with_cache_equals_value_without(recorded, key, walk):
    system, base = recorded[key]
    wide = {u: np.repeat(x, 7) * np.linspace(0.99, 1.01, 7) for u, x in base.values.items()}
    frame = system.frame(wide, {c: np.repeat(x, 7) for c, x in base.conditions.items()}, base.design)
    names = list(system.unknowns)
    for what, number, factor in walk:
        for residual in list(system.equations.values())[number % 5::5]:
            residual(frame)  # fills part of the cache
        if what == "changed":
            unknown = names[number % len(names)]
            frame = frame.changed(unknown, frame.values[unknown] * factor)
        else:
            points = len(frame.values[names[0]])
            frame = frame.at(np.arange(points)[:: 1 + number % max(points, 1)])
    bare = Frame(frame.links, frame.values, frame.conditions, frame.design, frame.targets)  # has recorded nothing
    for name, residual in system.equations.items():
        assert np.array_equal(residual(frame), residual(bare), equal_nan=True), name
        assert np.array_equal(residual(frame), residual(bare), equal_nan=True), name
    for name, component in system.plant.components.items():
        for one, two in zip(component.terms(frame.view(name)), component.terms(bare.view(name)), strict=True):
            assert np.array_equal(one.value, two.value, equal_nan=True), (name, one.label)
