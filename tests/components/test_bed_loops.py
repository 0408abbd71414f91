"""The compiled march of a bed gives the numbers of the one with numpy."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components import bed_march
from components.bed_loops import blow, compiled, conduct
from components.bed_march import Bed
from loopnet.media import medium

AIR, ROCK = medium("air"), medium("crushed rock")


@pytest.fixture
def with_numpy(monkeypatch):
    monkeypatch.setattr(bed_march, "compiled", lambda: None)


def beds():
    return st.builds(Bed, solid=st.just(ROCK), gas=st.just(AIR), length=st.floats(1.0, 20.0),
                     area=st.floats(1.0, 300.0), cells=st.integers(5, 40), wall_ua=st.floats(0.0, 50.0),
                     exchange=st.sampled_from([None, 50.0, 1e5, float("inf")]))


@pytest.mark.law
@given(beds(), st.floats(0.02, 0.8), st.floats(300.0, 900.0), st.integers(0, 10**6), st.booleans())
@settings(max_examples=12, deadline=None)
def test_loops_and_numpy_agree(bed, velocity, inlet, seed, sorted_bed):
    warm = np.random.default_rng(seed).uniform(300.0, 900.0, bed.cells)
    warm = np.sort(warm)[::-1] if sorted_bed else warm
    curve = bed._curve
    state = np.interp(warm, curve.temperature, curve.energy)
    mass, h_in = velocity * bed.area * 1200.0, float(AIR.h(inlet))
    units = bed.transfer_units(velocity * bed.area) / bed.cells
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bed_march, "compiled", lambda: None)
        blown = state.copy()
        left = bed._blow(blown, mass, h_in, units)
        conducted, lost = bed._conduct(state, velocity * bed.area, 280.0, 3600.0)
    least, still, mixing, ua = bed._diffusion
    link = (still + mixing * velocity * bed.area + bed.tilting(velocity * bed.area) * bed.area * bed.cells
            / bed.length) * 3600.0
    looped, cooled = state.copy(), state.copy()
    assert blow(looped, mass, h_in, units, curve.energy, curve.gas, curve.slope) == pytest.approx(left, rel=1e-11)
    assert looped == pytest.approx(blown, rel=1e-11)
    gone = conduct(cooled, link, ua * 3600.0, 280.0, least, curve.energy, curve.temperature)
    assert gone == pytest.approx(lost, rel=1e-9, abs=1e-6 * bed.mass)
    assert cooled == pytest.approx(conducted, rel=1e-11)


def test_a_day_of_a_bed_is_the_same_compiled_or_not(with_numpy):
    bed = Bed(solid=ROCK, gas=AIR, length=5.0, area=50.0, wall_ua=20.0)
    plain = _day(bed)
    loops = compiled()
    assert loops is not None, "numba belongs to the test extra"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bed_march, "compiled", lambda: loops)
        assert _day(bed) == pytest.approx(plain, rel=1e-11)


def _day(bed):
    state, out = bed.uniform(400.0), []
    for flow, inlet in ((8.0, 850.0), (8.0, 700.0), (0.0, 700.0), (-6.0, 400.0), (-6.0, 420.0)):
        step = bed.step(state, flow, float(AIR.h(inlet)), 290.0, 4 * 3600.0)
        state = step.state
        out += [step.h_out, step.lost, *state]
    return np.array(out)


def test_without_numba_the_numpy_way_is_taken(monkeypatch):
    import builtins

    real = builtins.__import__

    def refuse(name, *rest):
        if name == "numba":
            raise ImportError(name)
        return real(name, *rest)

    compiled.cache_clear()
    monkeypatch.setattr(builtins, "__import__", refuse)
    try:
        assert compiled() is None
    finally:
        compiled.cache_clear()
