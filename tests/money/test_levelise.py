"""Bills and levelised cost: worked examples, the cash flow behind the number, and laws of its terms."""

import pickle
import re
from dataclasses import replace

import numpy_financial as npf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.errors import ParameterError
from loopnet.money import Bill, Finance, LevelisedCost, Price, PriceBook, levelise, price_book

BOOK = price_book()
WASHING = 2.8e5 * BOOK.usd("washing")
BARE = Finance(contingency=0, indirect=0, construction_years=0, om_fixed=0, om_variable=0, om_fraction=0)


def own(**prices):
    """A book of own prices: name=(value, unit)."""
    return PriceBook(money_year=2023, prices={
        key: Price(key=key, value=value, unit=unit, year=2023, source="test", status="assumption")
        for key, (value, unit) in prices.items()})


def one(value, unit="USD/kW", quantity=1000.0, life=None):
    return Bill([own(kit=(value, unit)).line("kit", quantity=quantity, component="kit", life=life)])


def example(book=BOOK):
    return Bill([
        book.line("collector.trough", quantity=2.8e5, component="field", item="collector"),
        book.line("collector.reflector_film", quantity=2.8e5, component="field", item="film"),
        book.line("washing", quantity=2.8e5, component="field", item="washing"),
        book.line("medium.nitrate_salt", quantity=1.2e7, component="store", item="salt"),
        book.line("tank.salt_hot", quantity=6500.0, component="store", item="hot tank"),
        book.line("turbine.condensing", quantity="22 MW", component="cycle", item="turbine"),
    ])


@pytest.mark.book
def test_cost_of_a_photovoltaic_exercise():
    # textbook exercise (second-hand): 1.50 USD/W, capacity factor 22 %, 10 years, 8 %, O&M 0.04 USD/kWh; 0.1160 + 0.04
    cost = levelise(one(1500.0), replace(BARE, rate=0.08, life=10, om_variable=0.04), electricity=8760 * 0.22)
    assert cost.usd_per_kwh == pytest.approx(0.1560, abs=5.01e-5)


@pytest.mark.book
def test_cost_without_interest_is_money_spent_over_energy_made():
    # textbook exercise (second-hand): 995,000 USD and 175,000 a year over 25 years, 89.5e6 kWh in all: 0.0600 USD/kWh
    money = replace(BARE, rate=0.0, life=25, om_fixed=0.175)
    cost = levelise(one(995.0), money, electricity=89.5e6 / 25e3, rated_power=1000.0)
    assert cost.usd_per_kwh == pytest.approx(0.0600, abs=1e-4)
    assert cost.recovery == 1 / 25


@pytest.mark.book
@pytest.mark.parametrize(("decay", "printed"), [(0.0, 0.2273576), (0.005, 0.2367986)])
def test_cash_flow_at_the_levelised_price_is_worth_nothing(decay, printed):
    # 1,000 USD/kW, 20 USD a year, 500 kWh a year, 8 %, 25 years (worked for numpy-financial 1.0)
    money = replace(BARE, rate=0.08, life=25, om_fixed=0.02, decay=decay)
    cost = levelise(one(1000.0), money, electricity=500.0, rated_power=1000.0)
    assert cost.usd_per_kwh == pytest.approx(printed, abs=5.01e-8)
    flows = [-1000.0] + [cost.usd_per_kwh * 500 * (1 - decay) ** t - 20 for t in range(25)]
    assert npf.npv(0.08, flows) == pytest.approx(0.0, abs=1e-8)
    assert npf.irr(flows) == pytest.approx(0.08, rel=1e-9)


@pytest.mark.book
@settings(max_examples=40, deadline=None)
@given(rate=st.floats(0.0, 0.15), life=st.integers(2, 40), decay=st.floats(0, 0.03), film=st.integers(1, 45),
       building=st.integers(0, 4), indirect=st.floats(0, 0.3), variable=st.floats(0, 0.05))
def test_levelised_cost_is_the_price_that_pays_for_everything(rate, life, decay, film, building, indirect, variable):
    # the same plant as a list of yearly payments, valued by numpy-financial 1.0 (npv)
    money = Finance(rate=rate, life=life, contingency=0.1, indirect=indirect, construction_years=building, decay=decay,
                    om_fixed="30 USD/kW/year", om_variable=variable)
    book = own(kit=(800, "USD/m2"), film=(90, "USD/m2"), wash=(3, "USD/m2/y"))
    bill = Bill([book.line("kit", quantity=1.0, component="a"),
                 book.line("film", quantity=1.0, component="b", life=film),
                 book.line("wash", quantity=1.0, component="b")])
    cost = levelise(bill, money, electricity=400.0, rated_power=100.0)
    flows = [-890 * 1.1 * (1 + indirect) * sum((1 + rate) ** (k + 0.5) for k in range(building)) / building
             if building else -890 * 1.1 * (1 + indirect)]
    for year in range(1, life + 1):
        made = 400 * (1 - decay) ** (year - 1)
        again = 90.0 if year % film == 0 and year < life else 0.0
        flows.append((cost.usd_per_kwh - variable) * made - 3 - 3 - again)
    assert npf.npv(rate, flows) == pytest.approx(0.0, abs=1e-9 * 890)


@pytest.mark.book
def test_replaced_skin_as_an_annuity():
    # 100 and 10 USD/m2 of skin in years 10 and 20 of 30, 7 %: 8.67655 USD/m2 a year, the skin 0.61791 (numpy-financial)
    book = own(frame=(90, "USD/m2"), skin=(10, "USD/m2"))
    bill = Bill([book.line("frame", quantity=1, component="frame"),
                 book.line("skin", quantity=1, component="skin", life=10)])
    cost = levelise(bill, replace(BARE, rate=0.07, life=30), heat=1.0)
    assert cost.usd_per_kwh == pytest.approx(8.67655, abs=5.01e-6)
    assert cost.replacements == pytest.approx(0.61791, abs=5.01e-6)
    assert cost.terms.loc["skin", "replacements"] == pytest.approx(cost.replacements)


def golden(collector=50.0, storage=15.0, block=900.0, receiver=150.0):
    book = own(collector=(collector, "USD/m2"), site=(10, "USD/m2"), receiver=(receiver, "USD/kW"),
               storage=(storage, "USD/kWh"), block=(block, "USD/kW"))
    area = 555.5556e6 / (950 * 0.62 * 0.88)
    return Bill([book.line("collector", quantity=area, component="collectors"),
                 book.line("site", quantity=area, component="site"),
                 book.line("receiver", quantity="555.5556 MW", component="receiver"),
                 book.line("storage", quantity="2666.667 MWh", component="storage"),
                 book.line("block", quantity=1e8 / 0.9, component="block")])


def golden_cost(rate=0.05, life=30, **prices):
    money = Finance(rate=rate, life=life, contingency=0.07, indirect=0.13, construction_years=0,
                    om_fixed="40 USD/kW/year", om_variable="3 USD/MWh")
    return levelise(golden(**prices), money, electricity=569.4e6, rated_power=100e6)


@pytest.mark.book
@pytest.mark.parametrize(("rate", "life", "printed"), [
    (0.05, 30, 0.04976), (0.05, 25, 0.05336), (0.07, 30, 0.05925), (0.08, 25, 0.06724)])
def test_plant_at_the_goals_for_2030(rate, life, printed):
    # goals of DOE SunShot 2030: 50 USD/m2, 150 USD/kW_t, 15 USD/kWh_t, 900 USD/kW, 40 USD/kW-y, 3 USD/MWh give 5 ct/kWh
    # (5 ct/kWh and 50 USD/m2 seen, the rest from memory); the plant around them is invented, and computed by hand
    assert golden_cost(rate, life).usd_per_kwh == pytest.approx(printed, abs=5.01e-6)


@pytest.mark.book
def test_capital_of_the_plant_at_the_goals_for_2030():
    # the same hand computation: direct 53.59 + 10.72 + 83.33 + 40.00 + 100.00 = 287.64 MUSD, with on-costs 347.79
    cost = golden_cost()
    assert cost.bill.total == pytest.approx(287.64e6, abs=0.01e6)
    assert cost.capital_usd == pytest.approx(347.79e6, abs=0.01e6)
    assert cost.weak_point == "block"


@pytest.mark.book
@pytest.mark.parametrize(("changed", "cents"), [
    ({"collector": 60.0}, 0.148), ({"storage": 25.0}, 0.368), ({"block": 1000.0}, 0.153), ({"receiver": 160.0}, 0.077)])
def test_slopes_of_the_plant_at_the_goals_for_2030(changed, cents):
    # the same hand computation, at 5 % and 30 years; printed to 0.001 ct
    assert 100 * (golden_cost(**changed).usd_per_kwh - golden_cost().usd_per_kwh) == pytest.approx(cents, abs=6e-4)


@pytest.mark.law
@settings(max_examples=40, deadline=None)
@given(rate=st.floats(0, 0.2), life=st.integers(1, 50), power=st.floats(1e5, 1e9), heat=st.floats(0, 1e9),
       rated=st.one_of(st.none(), st.floats(1e6, 1e9)), decay=st.floats(0, 0.05))
def test_terms_and_capital_add_up(rate, life, power, heat, rated, decay):
    cost = levelise(example(), Finance(rate=rate, life=life, decay=decay), electricity=power, heat=heat,
                    rated_power=rated)
    assert cost.terms.to_numpy().sum() == pytest.approx(cost.usd_per_kwh, rel=1e-13)
    assert sum(cost.by_component.values()) == pytest.approx(cost.usd_per_kwh, rel=1e-13)
    assert sum(cost.capital_by_component.values()) == pytest.approx(cost.capital_usd, rel=1e-14)
    by_formula = ((cost.capital_usd * cost.recovery + cost.fixed_om + cost.replacements) / cost.energy
                  + cost.variable_om)
    assert by_formula == pytest.approx(cost.usd_per_kwh, rel=1e-12)


@pytest.mark.law
@settings(max_examples=30, deadline=None)
@given(key=st.sampled_from(sorted({line.price.key for line in example()} | {"om.fixed", "om.variable"})),
       factor=st.floats(1.01, 10))
def test_a_dearer_price_makes_a_dearer_kwh(key, factor):
    dear = BOOK.with_price(key, usd=BOOK.usd(key) * factor)
    before, after = (levelise(example().priced(book), electricity=8e7, rated_power=2e7, book=book)
                     for book in (BOOK, dear))
    assert after.usd_per_kwh > before.usd_per_kwh


@pytest.mark.law
@settings(max_examples=20, deadline=None)
@given(factor=st.floats(0.01, 100))
def test_scaling_all_prices_scales_the_cost(factor):
    book = BOOK.scaled(factor)
    before = levelise(example(), electricity=8e7, rated_power=2e7)
    after = levelise(example(book), electricity=8e7, rated_power=2e7, book=book)
    assert after.usd_per_kwh == pytest.approx(factor * before.usd_per_kwh, rel=1e-12)
    assert after.capital_usd == pytest.approx(factor * before.capital_usd, rel=1e-12)


@pytest.mark.law
@settings(max_examples=30, deadline=None)
@given(rate=st.floats(0, 0.15), more=st.floats(0.001, 0.05), life=st.floats(1, 24))
def test_dear_money_and_short_lives_make_a_dearer_kwh(rate, more, life):
    base = levelise(example(), Finance(rate=rate), electricity=8e7)
    assert levelise(example(), Finance(rate=rate + more), electricity=8e7).usd_per_kwh > base.usd_per_kwh
    lasting, fading = (levelise(one(1000.0, life=x), replace(BARE, rate=rate), heat=1e3) for x in (25, life))
    assert fading.usd_per_kwh > lasting.usd_per_kwh == pytest.approx(lasting.recovery, rel=1e-12)


def test_on_costs_are_entries_of_their_own():
    money = Finance(contingency=0.1, indirect=0.2, construction_years=2, rate=0.05)
    cost = levelise(one(1000.0), money, heat=100.0)
    capital = cost.capital_by_component
    assert list(capital) == ["kit", "contingency", "engineering and owner", "interest during construction"]
    assert capital["contingency"] == pytest.approx(100)
    assert capital["engineering and owner"] == pytest.approx(220)
    assert capital["interest during construction"] == pytest.approx(1320 * ((1.05**1.5 + 1.05**0.5) / 2 - 1))


def test_heat_alone_and_electricity_alone_and_both():
    heat = levelise(example(), heat=2e8, rated_power=2e7)
    power = levelise(example(), electricity=8e7, rated_power=2e7)
    both = levelise(example(), electricity=8e7, heat=2e8, rated_power=2e7)
    assert (heat.product, power.product, both.product) == ("heat", "electricity", "electricity")
    assert (heat.usd_per_kwh_electricity, power.usd_per_kwh_heat) == (None, None)
    assert heat.usd_per_kwh_heat == heat.usd_per_kwh
    assert both.usd_per_kwh_heat == pytest.approx(0.3 * both.usd_per_kwh_electricity)
    assert any("0.3 kWh of electricity" in note for note in both.notes)
    # what is sold at these prices pays the yearly cost
    yearly = both.capital_usd * both.recovery + both.fixed_om + both.replacements + 0.0035 * 8e7
    assert both.usd_per_kwh_electricity * 8e7 + both.usd_per_kwh_heat * 2e8 == pytest.approx(yearly)


def test_operation_comes_from_the_price_book_or_from_the_user():
    cost = levelise(example(), electricity=8e7, rated_power=1e8)
    assert cost.fixed_om == pytest.approx(60 * 1e5 + WASHING)
    assert cost.variable_om == pytest.approx(0.0035)
    assert {"om.fixed", "om.variable", "washing"} <= set(cost.prices_used().index)
    mine = levelise(example(), Finance(om_fixed="10 USD/kW/year", om_variable=0), electricity=8e7, rated_power=1e8)
    assert mine.fixed_om == pytest.approx(10 * 1e5 + WASHING)
    assert "om.fixed" not in mine.prices_used().index
    share = levelise(example(), Finance(om_fraction=0.02), heat=8e7)
    assert share.fixed_om == pytest.approx(0.02 * example().total + WASHING)


def test_formula_can_be_worked_out_by_its_reader():
    for cost in (golden_cost(), levelise(example(), Finance(decay=0.005), electricity=8e7, rated_power=2e7)):
        symbols, numbers = cost.formula().splitlines()
        assert symbols == "cost = (capital x recovery + fixed O&M + replacements) / energy + variable O&M"
        capital, recovery, fixed, again, energy, variable, result = map(
            float, re.findall(r"(?<![\w.])\d+(?:\.\d+)?(?:e-?\d+)?(?![\w.])", numbers))
        assert 100 * (capital * recovery + fixed + again) / energy + variable == pytest.approx(result, rel=1e-3)
        assert result == pytest.approx(100 * cost.usd_per_kwh, rel=1e-3)


def test_result_is_a_frozen_snapshot():
    cost = levelise(example(), electricity=8e7, rated_power=2e7)
    assert isinstance(cost, LevelisedCost)
    again = pickle.loads(pickle.dumps(cost))
    assert again == cost
    with pytest.raises(AttributeError):
        cost.usd_per_kwh = 0.0
    assert cost.weak_point == cost.to_frame().index[0] == "field"
    assert cost.to_frame().loc["total", "total"] == pytest.approx(100 * cost.usd_per_kwh)
    assert "weak point field" in repr(cost)
    assert "recovery" in cost._repr_html_()
    assert cost.to_dict()["capital_by_component"] == cost.capital_by_component
    assert set(cost.prices_used()["status"]) <= {"seen", "second-hand", "from memory", "common practice", "assumption"}


def test_bill_adds_up_and_shows_itself():
    bill = example()
    frame = bill.to_frame()
    assert bill.total == pytest.approx(sum(bill.by_component().values()))
    assert bill.total == pytest.approx(frame.loc[frame["kind"] == "capital", "usd"].sum())
    assert bill.yearly_by_component() == {"field": pytest.approx(WASHING)}
    assert (bill + bill).total == pytest.approx(2 * bill.total)
    assert len(bill.prices_used()) == 6
    assert "6 lines" in repr(bill)
    assert "nitrate" in bill._repr_html_()
    lasting = bill + Bill([BOOK.line("collector.drive", quantity=1.0, component="field", life=30, note="quoted")])
    assert lasting.priced(BOOK) == lasting
    assert lasting.lines[-1].life == 30


def test_extrapolated_prices_are_carried_to_the_result():
    bill = Bill([BOOK.line("turbine.condensing", quantity=1e5, component="cycle")])
    assert any("turbine.condensing" in text for text in levelise(bill, electricity=1e5).warnings)


@pytest.mark.parametrize("call", [
    lambda: levelise(example(), electricity=0.0),
    lambda: levelise(example()),
    lambda: levelise(example(), electricity=0.0, heat=0.0),
    lambda: levelise(example(), electricity=-1.0),
    lambda: levelise(example(), heat=float("nan")),
    lambda: levelise(Bill(), electricity=1.0),
    lambda: levelise(example(), electricity=1.0, rated_power=0.0),
    lambda: levelise(example(), electricity=1.0, rated_power=1e6, book=price_book(money_year=2019)),
    lambda: Bill(["line"]),
    lambda: Bill([*example(), *example(price_book(money_year=2019))]),
    lambda: Finance(rate=7),
    lambda: Finance(rate="7 USD"),
    lambda: Finance(life=24.5),
    lambda: Finance(life=0),
    lambda: Finance(contingency=-0.1),
    lambda: Finance(om_fixed=66),
])
def test_nonsense_is_refused_with_its_facts(call):
    with pytest.raises(ParameterError) as caught:
        call()
    assert caught.value.where
    assert caught.value.got
    assert caught.value.allowed
    assert caught.value.hint


def test_rates_and_times_may_be_written_with_units():
    money = Finance(rate="7 %/year", life="25 years", om_fixed="66 USD/kW/year", om_variable="3.5 USD/MWh")
    assert money.rate == pytest.approx(0.07)
    assert money.om_fixed == pytest.approx(0.066)
    assert money.om_variable == pytest.approx(0.0035)
