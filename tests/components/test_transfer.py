"""Exchanger formulas against textbook examples and the ht library."""

from __future__ import annotations

import ht.hx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.transfer import decay_mean, effectiveness, lmtd, transfer_units, ua_at_flow
from loopnet.errors import ParameterError

KINDS = ["counter", "parallel", "cross"]


# Incropera et al., table 11.3: closed forms, computed to six digits.
@pytest.mark.book
@pytest.mark.parametrize(("ntu", "ratio", "values"), [
    (1.0, 0.5, [0.564733, 0.517913, 0.547490]), (3.0, 1.0, [0.75, 0.498761, 0.681291]),
    (5.0, 0.7, [0.920670, 0.588116, 0.844482]),
])
def test_effectiveness_closed_forms(ntu, ratio, values):
    for kind, value, tolerance in zip(KINDS, values, (1e-6, 1e-6, 1e-2), strict=True):
        assert effectiveness(ntu, ratio, kind) == pytest.approx(value, abs=tolerance)


# ht 1.2.0: computed. At ratio 0 every arrangement is 1 - exp(-NTU).
@pytest.mark.book
@pytest.mark.parametrize("ntu", [0.01, 0.5, 2.667, 8.0])
def test_effectiveness_against_ht(ntu):
    names = {"counter": "counterflow", "parallel": "parallel", "cross": "crossflow approximate"}
    for kind, name in names.items():
        for ratio in (0.05, 0.357, 0.99, 1.0):
            want = ht.hx.effectiveness_from_NTU(ntu, ratio, subtype=name)
            assert effectiveness(ntu, ratio, kind) == pytest.approx(want, rel=1e-9)
        assert effectiveness(ntu, 0.0, kind) == pytest.approx(1 - np.exp(-ntu), rel=1e-12)


# Incropera Ex 11.1 (LMTD seen; rest memory): oil 0.1 kg/s, cp 2131, 100 to 60 degC; water 0.2 kg/s, cp 4178, 30 degC;
# U 38.1, tube 25 mm: 8524 W, 40.2 degC, 43.2 K, 65.9 m. Tolerance 0.2 %.
@pytest.mark.book
def test_incropera_counterflow_example():
    heat = 0.1 * 2131 * 40.0
    out = 30.0 + heat / (0.2 * 4178)
    u = 1 / (1 / 2250 + 1 / 38.8)
    mean = lmtd(100.0 - out, 60.0 - 30.0)
    assert (heat, out) == (pytest.approx(8524, rel=2e-3), pytest.approx(40.2, rel=2e-3))
    assert mean == pytest.approx(43.2, rel=2e-3)
    assert heat / (u * mean * np.pi * 0.025) == pytest.approx(65.9, rel=2e-3)
    effect, ratio = heat / (0.1 * 2131 * 70.0), 0.1 * 2131 / (0.2 * 4178)
    assert transfer_units(effect, ratio) * 0.1 * 2131 * mean == pytest.approx(heat, rel=1e-12)


# Incropera Ex 11.5 (memory): condenser, 2e9 W at 50 degC, water 3e4 kg/s from 20 degC, 30 000 tubes of 25 mm, two
# passes, U 4478: water out 36.0 degC, LMTD 21 K, L 4.51 m. cp 4179. Tolerance 0.5 %.
@pytest.mark.book
def test_incropera_condenser_example():
    out = 20.0 + 2e9 / (3e4 * 4179)
    mean = lmtd(30.0, 50.0 - out)
    assert (out, mean) == (pytest.approx(36.0, rel=5e-3), pytest.approx(21.0, rel=5e-3))
    ua = 4478 * 30000 * 2 * np.pi * 0.025 * 4.51
    assert ua * mean == pytest.approx(2e9, rel=5e-3)
    assert effectiveness(ua / (3e4 * 4179), 0.0) * 3e4 * 4179 * 30 == pytest.approx(2e9, rel=5e-3)


# Incropera Ex 11.3 (problem seen; result memory): gas 300 to 100 degC, water 1 kg/s 35 to 125 degC, cp 4197, U 100,
# cross flow, both unmixed: eps 0.755, Cr 0.45, NTU 2.1, A 39.7 m2. Tolerance 2 % (chart).
@pytest.mark.book
def test_incropera_crossflow_example():
    ratio, effect = 90.0 / 200.0, 200.0 / 265.0
    assert effectiveness(2.1, ratio, "cross") == pytest.approx(effect, rel=0.02)
    assert 39.7 * 100.0 / (4197.0 * ratio) == pytest.approx(2.1, rel=0.02)


# Limit: mean of equal differences is the difference; published value 59.8 and 30 K in Incropera Ex 11.1 gives 43.2 K.
@pytest.mark.law
@given(a=st.floats(0.01, 500), b=st.floats(0.01, 500))
@settings(max_examples=80, deadline=None)
def test_lmtd_lies_between_geometric_and_arithmetic_mean(a, b):
    mean = lmtd(a, b)
    assert np.sqrt(a * b) * (1 - 1e-12) <= mean <= (a + b) / 2 * (1 + 1e-12)
    assert min(a, b) * (1 - 1e-12) <= mean <= max(a, b) * (1 + 1e-12)
    assert lmtd(b, a) == pytest.approx(float(mean), rel=1e-12)
    if abs(a - b) > 0.1 * b:
        assert mean == pytest.approx((a - b) / np.log(a / b), rel=1e-10)


def test_lmtd_is_smooth_at_equal_differences_and_positive_when_crossed():
    d = np.linspace(19.9, 20.1, 401)
    assert np.max(np.abs(np.diff(lmtd(d, 20.0), 2))) < 1e-7
    crossed = lmtd(np.linspace(-50.0, 1.0, 500), 20.0)
    assert np.all(crossed > 0)
    assert np.all(np.diff(crossed) > 0)


@pytest.mark.law
@given(ntu=st.floats(0, 30), more=st.floats(0, 5), ratio=st.floats(0, 1), kind=st.sampled_from(KINDS))
@settings(max_examples=80, deadline=None)
def test_effectiveness_is_a_fraction_and_rises_with_transfer_units(ntu, more, ratio, kind):
    e = float(effectiveness(ntu, ratio, kind))
    assert 0 <= e <= 1
    assert effectiveness(ntu + more, ratio, kind) >= e - 1e-12
    assert effectiveness(ntu, ratio, "parallel") <= effectiveness(ntu, ratio, "counter") + 1e-12
    if kind != "cross" and ntu < 6:
        assert transfer_units(e, ratio, kind) == pytest.approx(ntu, rel=1e-6, abs=1e-9)


def test_counterflow_is_smooth_through_balanced_flow():
    ratio = 1.0 - np.linspace(0.0, 1e-4, 401)
    assert np.max(np.abs(np.diff(effectiveness(3.0, ratio), 2))) < 1e-10
    assert decay_mean(1e-5) == pytest.approx(float(decay_mean(0.999999e-5)), rel=1e-10)


# Films in turbulent flow: halving both flows leaves 0.5^0.8 = 0.574 of the conductance (Dittus-Boelter, memory);
# halving one of two equal films leaves 2 / (1 + 2^0.8) = 0.7296.
@pytest.mark.book
def test_conductance_follows_the_flows():
    assert ua_at_flow(1e6, 0.5, 0.5) == pytest.approx(0.574e6, rel=1e-3)
    assert ua_at_flow(1e6, 1.0, 0.5) == pytest.approx(0.7296e6, rel=1e-4)
    assert ua_at_flow(1e6, 0.5, 1.0, hot_share=0.0) == pytest.approx(1e6)
    assert ua_at_flow(1e6, 0.5, 0.5, hot_share=0.0, wall_share=1.0) == pytest.approx(1e6)
    assert 0 <= ua_at_flow(1e6, 0.0, 0.0) < 1.0


@pytest.mark.parametrize("call", [
    lambda: effectiveness(1.0, 0.5, "spiral"), lambda: transfer_units(0.9, 0.5, "parallel"),
    lambda: transfer_units(1.0, 0.5), lambda: transfer_units(0.1, 0.5, "cross"),
    lambda: ua_at_flow(1.0, 1, 1, 0.8, 0.7, 0.6),
])
def test_what_cannot_be_is_refused(call):
    with pytest.raises(ParameterError, match="allowed"):
        call()
