"""Time value of money against tables, worked examples and numpy-financial."""

import numpy_financial as npf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.errors import ParameterError
from loopnet.money import (
    capital_recovery,
    construction_factor,
    discounted_sum,
    real_rate,
    replacement_worth,
    replacement_years,
)

# Masters, Renewable and Efficient Electric Power Systems, appendix A, table A.2 (second-hand); printed to 4 decimals
TABLE = [
    (5, 0.03, 0.2184), (10, 0.05, 0.1295), (10, 0.08, 0.1490), (10, 0.10, 0.1627), (15, 0.07, 0.1098),
    (20, 0.06, 0.0872), (20, 0.07, 0.0944), (20, 0.08, 0.1019), (20, 0.10, 0.1175), (25, 0.05, 0.0710),
    (25, 0.07, 0.0858), (25, 0.08, 0.0937), (25, 0.10, 0.1102), (25, 0.12, 0.1275), (30, 0.05, 0.0651),
    (30, 0.07, 0.0806), (30, 0.08, 0.0888), (30, 0.09, 0.0973),
]


@pytest.mark.book
@pytest.mark.parametrize(("years", "rate", "printed"), TABLE)
def test_capital_recovery_equals_the_printed_table(years, rate, printed):
    assert capital_recovery(rate, years) == pytest.approx(printed, abs=5.01e-5)


@pytest.mark.book
@settings(max_examples=60, deadline=None)
@given(rate=st.floats(1e-3, 0.4), years=st.integers(1, 80))
def test_annuities_equal_numpy_financial(rate, years):
    # numpy-financial 1.0, pmt and pv; agreement to rounding
    assert capital_recovery(rate, years) == pytest.approx(-npf.pmt(rate, years, 1.0), rel=1e-10)
    assert discounted_sum(rate, years) == pytest.approx(-npf.pv(rate, years, 1.0), rel=1e-10)


@pytest.mark.book
def test_monthly_loan_of_the_numpy_financial_manual():
    # numpy-financial manual, pmt: 200,000 at 7.5 % over 15 years is 1854.0247200054619 a month (run with 1.0)
    assert 200_000 * capital_recovery(0.075 / 12, 180) == pytest.approx(1854.0247200054619, rel=1e-12)


@pytest.mark.book
def test_present_value_of_the_numpy_financial_manual():
    # numpy-financial manual, npv: 3065.2226681795 (inputs seen, result run with 1.0); our discounting of the same flows
    flows = [5000, 8000, 12000, 30000]
    worth = sum(flow * (discounted_sum(0.08, t) - discounted_sum(0.08, t - 1)) for t, flow in enumerate(flows, 1))
    assert worth - 40000 == pytest.approx(3065.2226681795, rel=1e-10)


@pytest.mark.book
def test_internal_rate_of_the_numpy_financial_manual_brings_the_worth_to_zero():
    # numpy-financial manual, irr: 0.5672303344358536 (seen)
    rate = 0.5672303344358536
    flows = [100000, 150000, 200000, 250000, 300000]
    worth = sum(flow * (discounted_sum(rate, t) - discounted_sum(rate, t - 1)) for t, flow in enumerate(flows, 1))
    assert worth == pytest.approx(250000, rel=1e-10)


@pytest.mark.law
@given(years=st.integers(1, 200))
@settings(max_examples=30, deadline=None)
def test_without_interest_the_capital_is_divided_by_the_years(years):
    assert capital_recovery(0.0, years) == 1.0 / years
    assert capital_recovery(1e-12, years) == pytest.approx(1.0 / years, rel=1e-9)


@pytest.mark.book
def test_growing_annuity():
    # closed form (1 - (1.03/1.08)^10) / (0.08 - 0.03) = 7.550134 (textbook formula, computed)
    assert discounted_sum(0.08, 10, decay=-0.03) == pytest.approx((1 - (1.03 / 1.08) ** 10) / 0.05, rel=1e-12)
    assert discounted_sum(0.08, 10, decay=-0.03) == pytest.approx(7.550134, abs=5e-7)


@pytest.mark.book
@pytest.mark.parametrize(("shares", "mid_year", "factor"), [
    ([1 / 3] * 3, True, 1.124586),  # computed from sum f (1+i)^t, formula from memory, to the digits shown
    ([1 / 3] * 3, False, 1.082133),
    ([0.10, 0.10, 0.80], True, 1.064837),
])
def test_interest_during_construction(shares, mid_year, factor):
    assert construction_factor(0.08, shares, mid_year=mid_year) == pytest.approx(factor, abs=5e-7)


@pytest.mark.book
def test_real_rate():
    # 10 % nominal at 2.5 % inflation is 7.31707 % real; recovery over 25 years .110168 and .088276 (numpy-financial)
    real = real_rate(0.10, 0.025)
    assert real == pytest.approx(0.0731707, abs=5e-8)
    assert capital_recovery(0.10, 25) / capital_recovery(real, 25) == pytest.approx(
        npf.pmt(0.10, 25, 1) / npf.pmt(real, 25, 1), rel=1e-10)
    assert capital_recovery(0.10, 25) / capital_recovery(real, 25) == pytest.approx(1.24800, abs=6e-6)


@pytest.mark.book
def test_replaced_mirror_skin():
    # 100 and 10 USD/m2 of skin in years 10 and 20 of 30 at 7 %: worth 107.6677, annuity 8.67655 (numpy-financial)
    flows = [100.0] + [0.0] * 30
    flows[10] = flows[20] = 10.0
    worth = 100 + 10 * replacement_worth(0.07, 10, 30)
    assert worth == pytest.approx(npf.npv(0.07, flows), rel=1e-10)
    assert worth == pytest.approx(107.6677, abs=5e-5)
    assert worth * capital_recovery(0.07, 30) == pytest.approx(8.67655, abs=5e-6)


@pytest.mark.law
@given(life=st.floats(0.5, 40), horizon=st.integers(1, 60))
@settings(max_examples=60, deadline=None)
def test_replacements_fall_within_the_life_of_the_plant(life, horizon):
    years = replacement_years(life, horizon)
    assert all(0 < year < horizon for year in years)
    assert (len(years) + 1) * life >= horizon * (1 - 1e-9)


@pytest.mark.law
@given(rate=st.floats(0.001, 0.3), years=st.integers(1, 60), more=st.floats(0.001, 0.1))
@settings(max_examples=60, deadline=None)
def test_recovery_rises_with_the_rate_and_falls_with_the_years(rate, years, more):
    assert capital_recovery(rate + more, years) > capital_recovery(rate, years) > capital_recovery(rate, years + 1)


@pytest.mark.parametrize("call", [
    lambda: capital_recovery(0.07, 0),
    lambda: capital_recovery(float("nan"), 25),
    lambda: capital_recovery(-1.0, 25),
    lambda: discounted_sum(0.07, 2.5),
    lambda: construction_factor(0.07, [0.5, 0.6]),
    lambda: construction_factor(0.07, [1.5, -0.5]),
    lambda: replacement_years(0.0, 25),
])
def test_nonsense_is_refused_with_its_facts(call):
    with pytest.raises(ParameterError) as caught:
        call()
    assert caught.value.where
    assert caught.value.got
    assert caught.value.allowed
    assert caught.value.hint
