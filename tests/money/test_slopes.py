"""The cost is linear in the prices, knows its slopes, names its weak point, and shows the prices it used."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.errors import ParameterError
from loopnet.money import Bill, Finance, levelise, price_book
from loopnet.money.result import COLUMNS

BOOK = price_book()
FINANCES = {
    "plain": Finance(),
    "all of it": Finance(decay=0.005, tax=0.25, salvage=0.05, owner=0.03, nominal=True, rate=0.09,
                         construction_rate=0.05),
    "own operation": Finance(om_fixed="50 USD/kW/year", om_variable=0.004),
}
ENERGY = {"electricity": {"electricity": 8e7, "rated_power": 2e7}, "heat": {"heat": 2e8},
          "both": {"electricity": 8e7, "heat": 5e7, "rated_power": 2e7}}


def bill(book=BOOK):
    return Bill([
        book.line("collector.structure_light", quantity=2.8e5, component="field"),
        book.line("collector.reflector_film", quantity=2.8e5, component="field"),
        book.line("washing", quantity=2.8e5, component="field"),
        book.line("medium.air", quantity=1e5, component="field"),
        book.line("medium.nitrate_salt", quantity=1.2e7, component="store"),
        book.line("pump", quantity=0.4, component="pump"),
        book.line("pump", quantity=0.9, component="other pump", life=11.0),
        book.line("turbine.condensing", quantity="22 MW", component="cycle", item="turbine"),
    ])


KEYS = sorted({line.price.key for line in bill()} - {"medium.air"})


@pytest.mark.law
@settings(max_examples=40, deadline=None)
@given(money=st.sampled_from(sorted(FINANCES)), of=st.sampled_from(sorted(ENERGY)),
       factors=st.lists(st.floats(0.05, 5.0), min_size=len(KEYS) + 3, max_size=len(KEYS) + 3))
def test_cost_at_other_prices_is_that_of_the_full_sum(money, of, factors):
    cost = levelise(bill(), FINANCES[money], book=BOOK, **ENERGY[of])
    keys = [*KEYS, *(key for key in ("om.fixed", "om.variable") if key in cost.slopes)]
    values = {key: BOOK[key].value * factor for key, factor in zip(keys, factors, strict=False)}
    values["medium.air"] = factors[-1]
    drawn = BOOK.with_values(values)
    again = levelise(bill(drawn), FINANCES[money], book=drawn, **ENERGY[of])
    assert cost.at_prices(values) == pytest.approx(again.usd_per_kwh, rel=1e-10, abs=1e-14)
    priced = sum(slope * BOOK[key].value for key, slope in cost.slopes.items())
    assert priced + cost.given == pytest.approx(cost.usd_per_kwh, rel=1e-12)


@pytest.mark.law
@settings(max_examples=20, deadline=None)
@given(money=st.sampled_from(sorted(FINANCES)), of=st.sampled_from(sorted(ENERGY)))
def test_terms_lines_and_formula_add_up(money, of):
    cost = levelise(bill(), FINANCES[money], book=BOOK, **ENERGY[of])
    assert cost.terms.to_numpy().sum() == pytest.approx(cost.usd_per_kwh, rel=1e-12)
    assert cost.by_formula == pytest.approx(cost.usd_per_kwh, rel=1e-12)
    operation = cost.by_component["operation"]
    assert sum(cost.line_terms) + operation == pytest.approx(cost.usd_per_kwh, rel=1e-12)
    assert all(slope >= 0.0 for slope in cost.slopes.values())
    assert tuple(cost.to_dict()["terms_usd_per_kwh"]["field"]) == COLUMNS


@pytest.mark.law
@settings(max_examples=25, deadline=None)
@given(rate=st.floats(0.0, 0.15), life=st.integers(1, 60), building=st.integers(0, 3))
def test_a_longer_life_is_never_dearer_without_replacements(rate, life, building):
    lasting = Bill([BOOK.line("collector.structure_light", quantity=1e5, component="field")])
    short, long = (levelise(lasting, Finance(rate=rate, life=years, construction_years=building), heat=1e8).usd_per_kwh
                   for years in (life, life + 1))
    assert long <= short * (1 + 1e-12)


def test_ten_thousand_draws_are_one_sum():
    cost = levelise(bill(), electricity=8e7, rated_power=2e7, book=BOOK)
    rng = np.random.default_rng(1)
    values = {key: rng.uniform(BOOK[key].low, BOOK[key].high, 10_000) for key in cost.slopes}
    found = cost.at_prices(values)
    assert found.shape == (10_000,)
    one = BOOK.with_values({key: float(column[7]) for key, column in values.items()})
    assert found[7] == pytest.approx(levelise(bill(one), electricity=8e7, rated_power=2e7, book=one).usd_per_kwh)
    assert cost.at_prices({}) == cost.usd_per_kwh


def test_a_price_that_is_not_used_is_refused_with_a_hint():
    cost = levelise(bill(), electricity=8e7, rated_power=2e7)
    with pytest.raises(ParameterError) as caught:
        cost.at_prices({"turbine.condensig": 1.0})
    assert "turbine.condensing" in caught.value.hint


def test_the_weak_point_is_named_with_its_dearest_line():
    dear = BOOK.with_values({"turbine.condensing": 6000.0})
    cost = levelise(bill(dear), electricity=8e7, rated_power=2e7, book=dear)
    assert cost.weak_point == "cycle"
    line, usd = cost.weak_line
    assert line.item == "turbine"
    assert usd == max(cost.line_terms)
    said = cost.weakness()
    for word in ("Weak point: cycle", "mostly capital", "turbine", "%"):
        assert word in said
    field = BOOK.with_values({"collector.reflector_film": 500.0})
    cost = levelise(bill(field), electricity=8e7, rated_power=2e7, book=field)
    assert (cost.weak_point, cost.weak_line[0].price.key) == ("field", "collector.reflector_film")
    assert "mostly replacements" in cost.weakness()
    running = levelise(Bill([BOOK.line("pump", quantity=0.1, component="pump")]), Finance(om_variable=0.5),
                       electricity=1e5, rated_power=1e6)
    assert running.weak_point == "operation"
    assert "the bill's dearest line is pump" in running.weakness()


def test_the_share_that_is_renewed_is_what_is_paid_again():
    film = BOOK.with_price("collector.reflector_film", renewed=0.25, life=5)
    money = Finance(rate=0.0, life=20, contingency=0, indirect=0, construction_years=0, om_fraction=0)
    one = Bill([film.line("collector.reflector_film", quantity=100.0, component="field")])
    cost = levelise(one, money, heat=1.0)
    assert cost.replacements == pytest.approx(3 * 0.25 * one.total / 20)
    assert one.lines[0].renewed == pytest.approx(0.25 * one.total)


def test_report_lists_every_price_and_marks_the_users_own(capsys):
    from loopnet.report import _console, _prices

    mine = price_book(prices={"pump": "900 USD/(L/s)"})
    plant = SimpleNamespace(bill=bill(mine), cost=levelise(bill(mine), electricity=8e7, rated_power=2e7, book=mine))
    _prices(_console(), [plant])
    said = capsys.readouterr().out
    for key in plant.cost.slopes:
        assert key in said
    assert "Kearney" not in said  # nothing that is not used
    _prices(_console(), [plant], only="user")
    own = capsys.readouterr().out
    assert "900 USD/(L/s)" in own
    assert "turbine" not in own
    assert any("price book" in note for note in plant.cost.notes)


def test_replaced_finance_object_comes_back_from_the_result():
    money = replace(FINANCES["all of it"], life=30)
    assert Finance(**levelise(bill(), money, electricity=8e7).finance) == money
