"""Break-even: outside annuities met, values put back give the goal, no value is invented, ties are ties."""

from dataclasses import replace

import numpy_financial as npf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.errors import ConvergenceError, ParameterError
from loopnet.money import Finance, LevelisedCost
from loopnet.plants import find_plant
from loopnet.study import Case, break_even, knob
from loopnet.study.break_even import COMMON_TARGETS

from .made_cases import PLAIN, book, made

BOOK = book(mirror=(10, 20, 40), collector__frame=(5, 8, 16), store=(1, 3, 4), tube=(2, 2, 2))
ONE = made("one", BOOK, {"mirror": 3e4, "collector.frame": 3e4, "store": 5e4})
TWO = made("two", BOOK, {"mirror": 1e4, "tube": 3e5})


@pytest.fixture(scope="module")
def sand(basin):
    """A day of a real plant: every run of the full model is short."""
    return Case(plant=find_plant("sand_silo"), weather=basin.slice(2160, 24))


# -- outside numbers ---------------------------------------------------------------------------------------------------


# capital 1 MUSD, 150 MWh a year, 25 years; computed with numpy-financial
@pytest.mark.book
def test_rate_that_an_annuity_allows_is_that_of_numpy_financial():
    case = made("kit", book(mirror=(1, 1, 1)), {"mirror": 1e6}, kwh=1.5e6)
    found = break_even(case, "finance.rate", target=0.08)
    assert found.value == pytest.approx(npf.rate(25, -0.08 * 1.5e6, 1e6, 0.0), rel=1e-6)


# the same at 7 %; computed with numpy-financial: nper is a broken number of years, the answer the next whole one
@pytest.mark.book
def test_life_that_an_annuity_needs_is_that_of_numpy_financial():
    case = made("kit", book(mirror=(1, 1, 1)), {"mirror": 1e6}, kwh=1.2e6)
    found = break_even(case, "finance.life", target=0.065)
    years = float(npf.nper(0.07, -0.065 * 1.2e6, 1e6))
    assert found.value == int(years) + 1
    assert found.cost < 0.065 < found.vary.turn(case, found.value - 1).cost


# present worth computed with numpy-financial
@pytest.mark.book
def test_price_that_a_target_allows_is_the_present_worth_of_what_it_earns():
    case = made("kit", book(mirror=(1, 1, 9)), {"mirror": 1e5}, kwh=1e6)
    found = break_even(case, "mirror", target=0.05)
    assert found.value == pytest.approx(npf.pv(0.07, 25, -0.05 * 1e6) / 1e5, rel=1e-12)


# -- laws --------------------------------------------------------------------------------------------------------------


@pytest.mark.law
@settings(max_examples=25)
@given(target=st.floats(0.02, 0.4), path=st.sampled_from(["mirror", "store", "collector.frame", "finance.rate",
                                                          "mirrors"]))
def test_value_put_back_gives_the_target(target, path):
    found = break_even(ONE, path, target=target)
    if found.reached:
        assert found.vary.turn(ONE, found.value).cost == pytest.approx(target, rel=1e-6)
        assert found.step == 0.0
    else:
        low, high = (found.vary.turn(ONE, end).cost for end in found.searched)
        assert (low - target) * (high - target) > 0.0
        assert f"{100 * low:.4g}" in found.why
        assert "No such value" in found.why


@pytest.mark.law
@settings(max_examples=15)
@given(path=st.sampled_from(["mirror", "store", "tube", "finance.rate"]), tube=st.floats(0.2, 3.0))
def test_a_tie_is_a_tie_for_both_plants(path, tube):
    changed = BOOK.with_values({"tube": tube})
    one, two = replace(ONE, book=changed), replace(TWO, book=changed)
    found = break_even(one, path, tie=two)
    if found.reached:
        assert found.vary.turn(one, found.value).cost == pytest.approx(found.vary.turn(two, found.value).cost, rel=1e-6)
    mirrored = break_even(two, path, tie=one)
    assert mirrored.reached == found.reached
    if found.reached and path != "finance.rate":
        assert mirrored.value == pytest.approx(found.value, rel=1e-9)


def test_shortcut_of_prices_is_the_full_model(sand):
    """Linear in prices, so found in closed form; here the plant is billed and levelised anew at that price."""
    target = 0.95 * sand.cost
    found = break_even(sand, "turbine.condensing", target=target)
    at_that = sand.book.with_values({"turbine.condensing": found.value})
    again = Case(plant=sand.plant, weather=sand.weather, book=at_that)
    assert again.cost == pytest.approx(target, rel=1e-9)
    assert len(found.tried) == 2  # no search was needed


@pytest.mark.parametrize(("path", "factor"), [("field.collector.reflectance", 1.02), ("store_hours", 1.01)])
def test_physics_is_searched_with_the_full_model(sand, path, factor):
    target = factor * sand.cost
    found = break_even(sand, path, target=target)
    assert found.reached, found.why
    again = found.vary.turn(Case(plant=sand.plant, weather=sand.weather), found.value)
    assert again.cost == pytest.approx(target, rel=1e-6 if not found.step else 1e-3)
    assert "full model" in found.why


# -- no such value -----------------------------------------------------------------------------------------------------


def test_a_gift_that_would_not_do_is_said():
    found = break_even(ONE, "store", target=0.05)
    gift = found.vary.turn(ONE, 0.0).cost
    assert (found.reached, found.value, found.cost) == (False, None, None)
    assert found.searched[0] == 0.0
    assert "Even as a gift" in found.why
    assert f"{100 * gift:.4g} ct/kWh" in found.why


def test_a_price_that_a_plant_does_not_pay_is_said():
    assert "does not depend on this price" in break_even(ONE, "tube", target=0.05).why


def test_two_that_pay_a_price_alike_do_not_tie_by_it():
    """Nineteen times the pieces for nineteen times the energy: alike but for rounding."""
    one = made("one", BOOK, {"mirror": 1e4, "tube": 1e3}, kwh=1.1e5)
    two = made("two", BOOK, {"mirror": 19e4}, kwh=19 * 1.1e5)
    assert one.assessment.cost.slopes["mirror"] != two.assessment.cost.slopes["mirror"]
    assert "move alike" in break_even(one, "mirror", tie=two).why


def test_what_cannot_be_built_ends_the_search(sand):
    found = break_even(sand, "field.outlet", target=0.2 * sand.cost, within=("600 degC", "1100 degC"))
    assert not found.reached
    assert "cannot be computed" in found.why
    assert found.searched[1] < 1100 + 273.15


def test_a_range_in_which_nothing_can_be_built_is_refused(sand):
    with pytest.raises(ParameterError, match="nowhere in this range"):
        break_even(sand, "field.outlet", target=0.05, within=("1200 degC", "1300 degC"))


class Jumpy(type(ONE)):
    """A cost that steps down by a share at ten pieces of store."""

    def __init__(self, by):
        super().__init__(**{name: getattr(ONE, name) for name in ONE.__dataclass_fields__})
        object.__setattr__(self, "by", by)

    def with_prices(self, values):
        new = Jumpy(self.by)
        object.__setattr__(new, "book", self.book.with_values(values))
        return new

    @property
    def cost(self):
        return ONE.cost * (1.0 + (self.by if self.book["store"].value < 4.0 else 0.0))


@pytest.mark.parametrize(("by", "reached"), [(2e-4, True), (0.05, False)])
def test_a_small_step_is_told_and_a_large_one_is_no_answer(by, reached):
    found = break_even(Jumpy(by), "store", target=ONE.cost * (1.0 + by / 2), within=(3, 5))
    assert found.reached is reached
    assert ("steps over the goal" if reached else "jumps over the goal") in found.why
    if reached:
        assert found.value == pytest.approx(4.0, rel=1e-6)
        assert found.step == pytest.approx(by * ONE.cost, rel=1e-9)


def test_a_dip_between_the_values_tried_is_found():
    class Valley(Jumpy):
        def with_prices(self, values):
            new = Valley(0.0)
            object.__setattr__(new, "book", self.book.with_values(values))
            return new

        @property
        def cost(self):
            return 0.1 + 0.01 * (self.book["store"].value - 3.9) ** 2

    found = break_even(Valley(0.0), "store", target=0.1001, within=(2.5, 5.0))
    assert found.value == pytest.approx(3.9 - 0.1, abs=1e-4) or found.value == pytest.approx(3.9 + 0.1, abs=1e-4)
    assert not break_even(Valley(0.0), "store", target=0.0999, within=(2.5, 5.0)).reached


# -- goals, names, results ---------------------------------------------------------------------------------------------


def test_common_targets_by_product():
    warm = made("warm", BOOK, {"mirror": 1e4}, product="heat")
    assert break_even(warm, "mirror").goal == COMMON_TARGETS["heat"] == 0.005
    assert break_even(ONE, "mirror", target="0.06 USD/kWh").goal == 0.06


@pytest.mark.parametrize(("arguments", "words"), [
    ({"vary": "mirrror"}, "mirror"), ({"vary": "finance.rat"}, "finance.rate"),
    ({"vary": "mirror", "target": 0.05, "tie": TWO}, "two goals"),
    ({"vary": "mirror", "target": -1.0}, "above zero"),
    ({"vary": "mirror", "within": (5, 5)}, "cannot be searched"),
    ({"vary": "mirror", "tie": made("warm", BOOK, {"mirror": 1e4}, product="heat")}, "different goods"),
])
def test_bad_questions_are_refused_with_a_hint(arguments, words):
    with pytest.raises(ParameterError, match=words):
        break_even(ONE, **arguments)


def test_knobs_of_a_real_plant(sand):
    assert knob(sand, "field.outlet").now == pytest.approx(873.15)
    assert knob(sand, "design.store_hours") == replace(knob(sand, "store_hours"), path="design.store_hours")
    assert knob(sand, "turbine.heaters").whole
    assert knob(sand, "turbine.heaters").turn(sand, 3.0).plant.components["turbine"].heaters == 3
    assert knob(sand, "field.collector.soiling.rate").turn(sand, 0.004).plant.components[
        "field"].collector.soiling.rate == 0.004
    assert knob(sand, "weather.sun").turn(sand, 0.5).weather.columns["dni"].sum() == pytest.approx(
        0.5 * sand.weather.columns["dni"].sum())
    assert knob(sand, "collector.drive.life").turn(sand, 9.0).book["collector.drive"].life == 9.0
    with pytest.raises(ParameterError, match="no number"):
        knob(sand, "field.collector")


def test_mirrors_are_all_collector_prices_together(sand):
    number = knob(sand, "mirrors")
    lines = [line for line in sand.assessment.bill if line.price.key.startswith("collector.")]
    assert number.now * sand.assessment.aperture == pytest.approx(sum(line.usd for line in lines))
    twice = number.turn(sand, 2 * number.now).assessment
    assert knob(number.turn(sand, 15.0), "mirrors").now == pytest.approx(15.0)
    assert twice.cost.usd_per_kwh > sand.cost
    assert isinstance(twice.cost, LevelisedCost)


def test_money_shares_the_year_and_physics_does_not(sand):
    assert sand.with_money(finance=Finance(rate=0.05)).operated[1] is sand.operated[1]
    assert "operated" not in sand.with_sun(0.9).__dict__
    with pytest.raises(ConvergenceError):
        raise ConvergenceError("so that a search meets one")


def test_result_reads_well():
    found = break_even(ONE, "mirror", target=0.2)
    facts = found.to_dict()
    assert (facts["reached"], facts["unit"], facts["plant"]) == (True, "USD/piece", "one")
    assert facts["value"] == found.value
    assert list(found.to_frame().iloc[:, 0]) == sorted(found.to_frame().iloc[:, 0])
    assert "mirror" in repr(found)
    assert "<table" in found._repr_html_()
    assert PLAIN.rate == 0.07
