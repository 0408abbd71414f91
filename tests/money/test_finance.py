"""Rates real and nominal, tax, depreciation, rest value: printed values, numpy-financial, and limits."""

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
    capital_recovery,
    depreciation_worth,
    levelise,
    straight_line,
    tax_factor,
)

KIT = Price(key="kit", value=1000.0, unit="USD/kW", year=2023, source="test", status="assumption", life=7, renewed=0.4)
BILL = Bill([PriceBook(prices={"kit": KIT}, money_year=2023).line("kit", quantity=1000.0, component="kit")])
BARE = Finance(contingency=0, indirect=0, construction_years=0, om_fixed=0, om_variable=0, om_fraction=0)


@pytest.mark.book
@pytest.mark.parametrize(("rate", "worth", "factor", "charge"), [
    (0.06, 0.852624, 1.050977, 0.076352), (0.08, 0.811326, 1.065261, 0.094624)])
def test_fixed_charge_rate_with_accelerated_depreciation(rate, worth, factor, charge):
    # NREL/TP-462-5173 (1995), formula from memory; tax 25.7 %, IRS five-year shares, 30 years, nominal; by hand
    money = replace(BARE, rate=rate, nominal=True, inflation=0.0, life=30, tax=0.257, depreciation=ACCELERATED)
    assert depreciation_worth(rate, ACCELERATED) == pytest.approx(worth, abs=5e-7)
    assert depreciation_worth(rate, ACCELERATED) == pytest.approx(npf.npv(rate, [0.0, *ACCELERATED]), rel=1e-12)
    assert tax_factor(0.257, worth) == pytest.approx(factor, abs=2e-6)
    assert money.fixed_charge == pytest.approx(charge, abs=1e-6)


@pytest.mark.book
def test_nominal_rate_is_made_real():
    # 10 % nominal at 2.5 % inflation: 7.31707 % real; recovery over 25 years .110168 and .088276, ratio 1.24800
    # (numpy-financial 1.0, pmt)
    money = replace(BARE, rate=0.10, nominal=True, inflation=0.025, life=25)
    assert money.real == pytest.approx(0.0731707, abs=5e-8)
    assert money.with_inflation == 0.10
    assert money.recovery == pytest.approx(-npf.pmt(money.real, 25, 1), rel=1e-10)
    assert money.recovery == pytest.approx(0.088276, abs=5.01e-7)
    assert money.nominal_price_factor == pytest.approx(0.110168 / 0.088276, rel=1e-5)
    assert money.nominal_price_factor == pytest.approx(1.24800, abs=6e-6)
    real = replace(money, nominal=False, rate=money.real)
    assert real.with_inflation == pytest.approx(0.10, rel=1e-12)
    assert levelise(BILL, real, heat=1.0).usd_per_kwh == pytest.approx(levelise(BILL, money, heat=1.0).usd_per_kwh)


@pytest.mark.book
def test_accelerated_shares_are_those_of_the_table():
    # IRS publication 946, table A-1, five-year property, half-year rule (from memory)
    assert ACCELERATED == (0.20, 0.32, 0.192, 0.1152, 0.1152, 0.0576)
    assert sum(ACCELERATED) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.law
@settings(max_examples=30, deadline=None)
@given(tax=st.floats(0.0, 0.6), rate=st.floats(0.0, 0.2), years=st.integers(1, 25), inflation=st.floats(0.0, 0.1))
def test_tax_never_makes_it_cheaper_and_writing_off_at_once_makes_it_free(tax, rate, years, inflation):
    money = replace(BARE, rate=rate, tax=tax, inflation=inflation, depreciation=straight_line(years))
    assert money.fixed_charge >= capital_recovery(rate, 25) * (1 - 1e-12)
    assert tax_factor(tax, 1.0) == 1.0
    assert sum(straight_line(years)) == pytest.approx(1.0)
    slower = replace(money, depreciation=straight_line(25))
    assert slower.fixed_charge >= money.fixed_charge * (1 - 1e-12)


@pytest.mark.law
@settings(max_examples=30, deadline=None)
@given(salvage=st.floats(-0.3, 1.0), rate=st.floats(1e-4, 0.2), life=st.integers(1, 40))
def test_rest_value_is_credited_at_the_end(salvage, rate, life):
    # without replacements: yearly cost of a loan with a balloon, numpy-financial pmt(rate, n, pv, fv)
    bill = Bill([replace(BILL.lines[0], price=replace(KIT, life=None, renewed=1.0))])
    cost = levelise(bill, replace(BARE, rate=rate, life=life, salvage=salvage), heat=1.0)
    assert cost.usd_per_kwh == pytest.approx(-npf.pmt(rate, life, 1000.0, -1000.0 * salvage), rel=1e-10, abs=1e-8)
    assert cost.terms["salvage"].sum() == pytest.approx(-cost.salvage)
    assert ("salvage" in cost.formula()) == (salvage != 0.0)


def test_owners_cost_is_laid_on_beside_engineering():
    cost = levelise(BILL, replace(BARE, contingency=0.1, indirect=0.2, owner=0.05), heat=1.0)
    assert cost.capital_by_component["engineering and owner"] == pytest.approx(0.25 * 1100)


def test_formula_and_table_show_tax_only_where_there_is_some():
    plain = levelise(BILL, BARE, heat=1.0)
    taxed = levelise(BILL, replace(BARE, tax=0.3), heat=1.0)
    assert "fixed charge rate" in taxed.formula()
    assert "recovery" in plain.formula()
    assert "tax" in taxed.to_frame().columns
    assert "tax" not in plain.to_frame().columns
    assert taxed.usd_per_kwh > plain.usd_per_kwh
    assert any("30 %" in note for note in taxed.notes)
    assert taxed.by_formula == pytest.approx(taxed.usd_per_kwh, rel=1e-12)


def test_finance_goes_round_through_a_dict():
    money = replace(BARE, depreciation=ACCELERATED, nominal=True, rate=0.09)
    assert Finance(**money.to_dict()) == money


@pytest.mark.parametrize("given", [
    {"tax": 1.0}, {"nominal": 1}, {"nominal": True, "rate": 0.01}, {"depreciation": (0.5, 0.6)},
    {"depreciation": (1.5, -0.5)}, {"depreciation": "fast"}, {"depreciation": straight_line(30)}, {"salvage": 2.0},
    {"inflation": 3.0}, {"owner": -0.1}])
def test_nonsense_is_refused_with_its_facts(given):
    with pytest.raises(ParameterError) as caught:
        replace(BARE, **given)
    assert caught.value.where.startswith("Finance.")
    assert caught.value.got
    assert caught.value.allowed
    assert caught.value.hint
