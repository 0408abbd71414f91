"""The cash flow against numpy-financial, worked examples, and the laws that tie it to the levelised cost."""

import pickle
from dataclasses import replace

import numpy_financial as npf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.errors import ParameterError
from loopnet.money import (
    ACCELERATED,
    Bill,
    Finance,
    Price,
    PriceBook,
    cash_flow,
    internal_rate,
    levelise,
    net_present_value,
    payback_time,
)


def own(**prices):
    return PriceBook(money_year=2023, prices={
        key: Price(key=key, value=value, unit=unit, year=2023, source="test", status="assumption", **more)
        for key, (value, unit, more) in prices.items()})


BOOK = own(frame=(60.0, "USD/m2", {}), film=(12.0, "USD/m2", {"life": 4, "renewed": 0.5}), wash=(0.5, "USD/m2/y", {}),
           turbine=(800.0, "USD/kW", {"life": 9.5}))
MONEY = Finance(om_fixed="30 USD/kW/year")
BILL = Bill([BOOK.line("frame", quantity=100.0, component="field"),
             BOOK.line("film", quantity=100.0, component="field"),
             BOOK.line("wash", quantity=100.0, component="field"),
             BOOK.line("turbine", quantity="5 kW", component="turbine")])


def _real(rate, money):
    return (1 + rate) / (1 + money.inflation) - 1 if money.nominal else rate


@pytest.mark.book
def test_internal_rate_of_the_numpy_financial_manual():
    # numpy-financial manual, irr (seen): 0.5672303344358536
    assert internal_rate([-250_000, 100_000, 150_000, 200_000, 250_000, 300_000]) == pytest.approx(
        0.5672303344358536, rel=1e-10)


@pytest.mark.book
def test_present_value_of_the_numpy_financial_manual():
    # numpy-financial manual, npv: inputs seen, result run with 1.0
    assert net_present_value(0.08, [-40_000, 5_000, 8_000, 12_000, 30_000]) == pytest.approx(3065.2226681795, rel=1e-12)


@pytest.mark.book
@settings(max_examples=50, deadline=None)
@given(flows=st.lists(st.floats(10.0, 1000.0), min_size=2, max_size=30), cost=st.floats(100.0, 5000.0),
       rate=st.floats(-0.3, 0.8))
def test_worth_and_rate_equal_numpy_financial(flows, cost, rate):
    # numpy-financial 1.0, npv and irr
    payments = [-cost, *flows]
    assert net_present_value(rate, payments) == pytest.approx(npf.npv(rate, payments), rel=1e-10, abs=1e-9 * cost)
    found, theirs = internal_rate(payments), npf.irr(payments)
    if found is None:
        assert not -0.9 < theirs < 10.0
    else:
        assert found == pytest.approx(theirs, rel=1e-10, abs=1e-10)
        assert npf.npv(found, payments) == pytest.approx(0.0, abs=1e-8 * max(1.0, 1 / (1 + found) ** len(flows)) * cost)


@pytest.mark.book
@pytest.mark.parametrize(("decay", "price"), [(0.0, 0.2273576), (0.005, 0.2367986)])
def test_flow_of_a_worked_example(decay, price):
    # 1,000 USD, 20 USD a year, 500 kWh a year, 8 %, 25 years (worked for numpy-financial 1.0): worth 0, rate 8.000 %
    book = own(kit=(1000.0, "USD/kW", {}))
    money = Finance(rate=0.08, life=25, contingency=0, indirect=0, construction_years=0, om_fixed=0.02, om_variable=0,
                    decay=decay)
    flow = cash_flow(levelise(Bill([book.line("kit", quantity=1000.0, component="kit")]), money, electricity=500.0,
                              rated_power=1000.0))
    assert flow.usd_per_kwh_electricity == pytest.approx(price, abs=5.01e-8)
    assert flow.net[1] == pytest.approx(price * 500 - 20, abs=1e-4)
    assert npf.npv(0.08, flow.net) == pytest.approx(0.0, abs=1e-9)
    assert npf.irr(flow.net) == pytest.approx(0.08, rel=1e-9)
    assert flow.internal_rate == pytest.approx(npf.irr(flow.net), rel=1e-10)


@pytest.mark.law
@settings(max_examples=40, deadline=None)
@given(rate=st.floats(0.005, 0.15), life=st.integers(2, 40), decay=st.floats(0, 0.03), building=st.integers(0, 4),
       tax=st.floats(0.0, 0.5), inflation=st.floats(0.0, 0.08), salvage=st.floats(-0.2, 0.5), heat=st.floats(0, 500),
       interest=st.one_of(st.none(), st.floats(0.0, 0.1)), nominal=st.booleans())
def test_at_the_levelised_cost_the_plant_is_worth_nothing(rate, life, decay, building, tax, inflation, salvage, heat,
                                                          interest, nominal):
    money = Finance(rate=rate + (0.08 if nominal else 0.0), nominal=nominal, life=life, decay=decay, tax=tax,
                    inflation=inflation, salvage=salvage, construction_years=building, construction_rate=interest,
                    depreciation=ACCELERATED if life >= 6 else (), om_fixed="30 USD/kW/year", om_variable=0.01)
    cost = levelise(BILL, money, electricity=9000.0, heat=heat, rated_power=5000.0)
    flow = cash_flow(cost)
    assert flow.net_present_value == pytest.approx(0.0, abs=1e-9 * cost.capital_usd)
    assert sum(flow.columns["capital"] + flow.columns["construction loan"]) == pytest.approx(-cost.capital_usd)
    owed = -sum(paid * (1 + (money.real if interest is None else _real(interest, money))) ** -when
                for paid, when in zip(flow.columns["capital"], flow.times, strict=True))
    assert owed == pytest.approx(cost.capital_usd)  # spending with interest is what is owed at start-up
    # far below zero late payments weigh 1e20 and more: what is left is measured by what was added up
    weighed = net_present_value(flow.internal_rate, [abs(x) for x in flow.net], flow.times)
    assert net_present_value(flow.internal_rate, flow.net, flow.times) == pytest.approx(0, abs=1e-8 * weighed)


@pytest.mark.law
@settings(max_examples=20, deadline=None)
@given(more=st.floats(1.01, 3.0))
def test_a_better_price_earns_more_and_pays_back_sooner(more):
    cost = levelise(BILL, MONEY, electricity=9000.0, rated_power=5000.0)
    base, better = cash_flow(cost), cash_flow(cost, electricity=more * cost.usd_per_kwh)
    assert better.net_present_value > 0.0
    assert better.internal_rate > base.internal_rate
    assert better.payback < base.payback
    assert better.discounted_payback > better.payback
    assert cash_flow(cost, electricity=0.5 * cost.usd_per_kwh).net_present_value < 0.0


def test_every_payment_stands_in_its_year():
    flow = cash_flow(levelise(BILL, replace(MONEY, tax=0.25), electricity=9000.0, rated_power=5000.0), electricity=0.2)
    table = flow.to_frame()
    # film at half its cost every fourth year, turbine at 9.5 and 19 years of 25
    assert table.loc[4.0, "replacements"] == pytest.approx(-600.0)
    assert table.loc[9.5, "replacements"] == pytest.approx(-4000.0)
    assert set(table.index[table["replacements"] < 0]) == {4, 8, 9.5, 12, 16, 19, 20, 24}
    assert (table.loc[1:, "washing and other yearly lines"].dropna() <= 0).all()
    assert table.loc[25.0, "washing and other yearly lines"] == pytest.approx(-50.0)
    assert table.loc[1.0, "sales"] == pytest.approx(1800.0)
    assert list(table.index[:2]) == [-1.5, -0.5]
    assert table["net"].to_numpy() == pytest.approx(table.drop(columns="net").sum(axis=1).to_numpy())
    assert pickle.loads(pickle.dumps(flow)) == flow
    assert flow.to_dict()["net_present_value_usd"] == flow.net_present_value
    assert flow.internal_rate_nominal == pytest.approx((1 + flow.internal_rate) * 1.025 - 1)
    assert "internal rate" in repr(flow)


@pytest.mark.book
def test_payback_of_an_even_income():
    # capital over yearly income (textbook definition of simple payback); with interest n = -ln(1 - C r / A) / ln(1 + r)
    # by numpy-financial 1.0, nper, between payments only approximated by a straight line
    assert payback_time([-1000.0] + [160.0] * 10) == pytest.approx(6.25)
    assert payback_time([-1000.0] + [160.0] * 20, rate=0.05) == pytest.approx(npf.nper(0.05, -160.0, 1000.0), abs=0.01)
    assert payback_time([-1000.0, 600.0, 600.0, -500.0, 400.0]) == pytest.approx(3.75)  # a dip counts
    assert payback_time([-1000.0] + [50.0] * 10) is None
    assert payback_time([5.0, 5.0]) == 0.0


def test_no_rate_where_income_never_comes():
    assert internal_rate([-100.0, -5.0, -5.0]) is None
    assert internal_rate([0.0, 0.0]) is None
    flow = cash_flow(levelise(BILL, MONEY, electricity=9000.0, rated_power=5000.0), electricity=0.0)
    assert flow.internal_rate is None
    assert flow.payback is None
    assert "no internal rate" in repr(flow)


def test_prices_of_what_is_not_delivered_are_refused():
    cost = levelise(BILL, MONEY, electricity=9000.0, rated_power=5000.0)
    for bad in ({"heat": 0.01}, {"electricity": float("nan")}):
        with pytest.raises(ParameterError) as caught:
            cash_flow(cost, **bad)
        assert caught.value.hint
    with pytest.raises(ParameterError):
        net_present_value(-1.0, [1.0])


@pytest.mark.law
def test_cost_of_heat_sold_beside_electricity():
    cost = levelise(BILL, replace(MONEY, heat_worth=0.4), electricity=9000.0, heat=4000.0, rated_power=5000.0)
    flow = cash_flow(cost)
    assert flow.usd_per_kwh_heat == pytest.approx(0.4 * flow.usd_per_kwh_electricity)
    assert flow.columns["sales"][-1] == pytest.approx(cost.usd_per_kwh * (9000 + 0.4 * 4000))
