"""Draws follow the distributions of reference libraries, the surface is as good as it says, chances are integrals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import quad

from loopnet.errors import ParameterError
from loopnet.money import Finance
from loopnet.plants import find_plant
from loopnet.study import Case, Uncertain, fit_surface, fit_surfaces, price_ranges, tornado, uncertainties, uncertainty
from loopnet.study.chance import draw, moving_together, pert, triangular
from loopnet.study.sensitivity import first_order, share_first
from loopnet.study.surface import spread

from .made_cases import book, made

SHARES = np.linspace(0.0, 1.0, 41)
BOOK = book(mirror=(10, 20, 40), store=(1, 3, 4), tube=(2, 2, 2), drive=(5, 10, 15))


@pytest.fixture(scope="module")
def sand(basin):
    """A day of a real plant."""
    return Case(plant=find_plant("sand_silo"), weather=basin.slice(2160, 24))


def of_prices(cases, **options):
    """Prices alone are uncertain."""
    return uncertainty(cases, fit_surfaces(cases, only=()), **options)


# -- distributions -----------------------------------------------------------------------------------------------------


# quantiles computed with scipy.stats.beta and scipy.stats.triang
@pytest.mark.book
@settings(max_examples=30)
@given(low=st.floats(-5, 5), width=st.floats(0.1, 9), place=st.floats(0, 1))
def test_quantiles_are_those_of_scipy(low, width, place):
    high, likely = low + width, low + width * place
    expected = stats.beta(1 + 4 * place, 5 - 4 * place, loc=low, scale=width).ppf(SHARES)
    assert pert(SHARES, low, likely, high) == pytest.approx(expected, abs=1e-8 * width)
    expected = stats.triang(place, loc=low, scale=width).ppf(SHARES)
    assert triangular(SHARES, low, likely, high) == pytest.approx(expected, abs=1e-8 * width)


# mean (low + 4 likely + high) / 6: Malcolm et al., Operations Research 7 (1959) 646; from memory
@pytest.mark.book
def test_mean_of_pert():
    assert quad(lambda u: float(pert(u, 1.0, 2.0, 9.0)), 0, 1)[0] == pytest.approx((1 + 8 + 9) / 6, rel=1e-6)


# Spearman's correlation of a Gaussian copula, 6/pi asin(rho/2): Kruskal, J. Am. Stat. Assoc. 53 (1958) 814; from memory
@pytest.mark.book
@pytest.mark.parametrize("rho", [0.3, 0.7, -0.5])
def test_draws_move_together_as_they_are_told(rho):
    drawn = moving_together(["a", "b", "c"], 40_000, 3, correlations={("a", "b"): rho})
    assert stats.spearmanr(drawn["a"], drawn["b"])[0] == pytest.approx(6 / np.pi * np.arcsin(rho / 2), abs=0.015)
    assert abs(stats.spearmanr(drawn["a"], drawn["c"])[0]) < 0.015
    assert stats.kstest(drawn["b"], "uniform").pvalue > 1e-3


def test_a_market_moves_those_in_it_only():
    drawn = moving_together(["a", "b", "sun"], 20_000, 3, market=0.5, market_of=["a", "b"])
    assert stats.spearmanr(drawn["a"], drawn["b"])[0] == pytest.approx(6 / np.pi * np.arcsin(0.25), abs=0.02)
    assert abs(stats.spearmanr(drawn["a"], drawn["sun"])[0]) < 0.02


@pytest.mark.parametrize(("arguments", "words"), [
    ({"correlations": {("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): -0.9}}, "contradict"),
    ({"correlations": {("a", "d"): 0.5}}, "no such correlation"),
    ({"correlations": {("a", "b"): 1.5}}, "no such correlation"), ({"market": 1.0}, "market")])
def test_impossible_correlations_are_refused(arguments, words):
    with pytest.raises(ParameterError, match=words):
        moving_together(["a", "b", "c"], 10, 1, **arguments)
    with pytest.raises(ParameterError, match="distribution"):
        draw({}, {}, "flat")


# -- what decides ------------------------------------------------------------------------------------------------------


# Ishigami function, a = 7, b = 0.1: S1 = 0.3139, S2 = 0.4424, S3 = 0 (Ishigami and Homma, ISUMA 1990; from memory,
# and from its variances V = a^2/8 + b pi^4/5 + b^2 pi^8/18 + 1/2 in closed form)
@pytest.mark.book
def test_first_order_indices_of_the_ishigami_function():
    x = (2 * np.random.default_rng(5).random((3, 40_000)) - 1) * np.pi
    y = np.sin(x[0]) + 7 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])
    total = 49 / 8 + 0.1 * np.pi**4 / 5 + 0.01 * np.pi**8 / 18 + 0.5
    closed = [0.5 * (1 + 0.1 * np.pi**4 / 5) ** 2 / total, 49 / 8 / total, 0.0]
    assert closed == pytest.approx([0.3139, 0.4424, 0.0], abs=1e-4)
    assert [first_order(row, y) for row in x] == pytest.approx(closed, abs=0.02)


@pytest.mark.law
def test_indices_of_a_sum_are_shares_of_its_variance():
    x = np.random.default_rng(6).random((3, 40_000))
    y = 3 * x[0] + 2 * x[1] + x[2]
    assert [first_order(row, y) for row in x] == pytest.approx([9 / 14, 4 / 14, 1 / 14], abs=0.02)
    assert first_order(np.ones(100), np.arange(100.0)) == 0.0
    low, high = share_first(x[0], y > 3.0)
    assert low < 0.2 < 0.8 < high


# -- surface -----------------------------------------------------------------------------------------------------------


@pytest.mark.law
def test_points_are_spread_evenly_over_the_whole_range():
    points = spread(13, 4)
    assert points[0] == pytest.approx(np.zeros(4))
    for column in points[1:].T:  # one in each of twelve equal cells, ends included
        assert np.sort(column) == pytest.approx(np.linspace(-1, 1, 12))


def test_surface_of_finance_is_nearly_exact_and_says_how_nearly():
    case = made("one", BOOK, {"mirror": 3e4, "store": 5e4, "tube": 1e5})
    rate = Uncertain(name="rate", path="finance.rate", unit="1/year", low=0.05, likely=0.07, high=0.1)
    surface = fit_surface(case, [rate])
    prices = {key: BOOK[key].value for key in surface.keys}
    for value in (0.05, 0.062, 0.07, 0.1):
        exact = made("one", BOOK, case.pieces, finance=Finance(**{**case.finance.to_dict(), "rate": value})).cost
        assert surface.cost({"rate": [value]}, prices)[0] == pytest.approx(exact, rel=2 * surface.error_worst)
    assert 0.0 < surface.error_rms <= surface.error_worst < 2e-3
    assert surface.runs == 1


# a left-out point is missed by e / (1 - h), h the diagonal of the hat matrix: Allen, Technometrics 16 (1974) 125; from
# memory
@pytest.mark.book
def test_error_is_that_of_points_left_out():
    from loopnet.study.surface import _cross, _fit, _terms

    z = spread(9, 2)
    y = 1.0 + 0.3 * z[:, :1] + 0.2 * z[:, 1:] ** 3 + 0.1 * z[:, :1] * z[:, 1:]
    y[0] = -0.5  # not all above zero, so fitted as they are
    fit = _fit(z, y, np.arange(9), 2)
    terms = _terms(z, fit[2])
    hat = terms @ np.linalg.pinv(terms)
    left_out = (y - hat @ y)[:, 0] / (1.0 - np.diag(hat)) / -y[:, 0]
    rms, worst = _cross(fit, z, y, np.arange(9), np.ones(1))
    assert (rms, worst) == pytest.approx((np.sqrt(np.mean(left_out**2)), np.max(np.abs(left_out))), rel=1e-8)


def test_surface_of_physics_predicts_runs_it_has_not_seen(sand):
    inputs = uncertainties(sand, only=("optics", "cycle", "rate"))
    surface = fit_surface(sand, inputs)
    assert surface.runs == 7
    place = {"field.collector.intercept": 0.93, "turbine.efficiency": 0.835, "finance.rate": 0.09}
    plant = sand.plant.with_component("turbine", efficiency=0.835)
    moved = Case(plant=plant, weather=sand.weather, finance=Finance(rate=0.09))
    from loopnet.study import knob

    full = knob(moved, "field.collector.intercept").turn(moved, 0.93)
    prices = {key: sand.book[key].value * 1.3 for key in surface.keys}
    dear = full.with_prices(prices)
    values = {u.name: [place[u.path]] for u in surface.inputs}
    assert surface.cost(values, prices)[0] == pytest.approx(dear.cost, rel=3 * surface.error_worst)
    assert surface.error_worst < 0.02
    with pytest.raises(ParameterError, match="too few runs"):
        fit_surface(sand, inputs, runs=3)


def test_list_of_what_is_uncertain(sand):
    found = {u.path: u for u in uncertainties(sand)}
    assert found["field.collector.intercept"].likely == sand.plant.components["field"].collector.intercept
    assert all(u.low < u.high and u.source for u in found.values())
    emissivity = found["field.receiver.emissivity"]
    assert emissivity.high == 1.0
    assert "cut to the allowed" in emissivity.note
    with pytest.raises(ParameterError, match="not in the list"):
        uncertainties(sand, only=("luck",))
    with pytest.raises(ParameterError, match="within the range"):
        Uncertain(name="x", path="x", unit="-", low=1.0, likely=3.0, high=2.0)


# -- chances -----------------------------------------------------------------------------------------------------------


# two independent triangular prices; the chance that one is less than the other computed with scipy.integrate.quad
@pytest.mark.book
@pytest.mark.parametrize("shape", ["pert", "triangular"])
def test_chance_of_being_first_is_the_integral(shape):
    cases = [made("one", BOOK, {"mirror": 1e4}), made("two", BOOK, {"drive": 2.2e4})]
    found = of_prices(cases, samples=20_000, shape=shape, seed=2)
    kinds = {"pert": lambda lo, li, hi: stats.beta(1 + 4 * (li - lo) / (hi - lo), 1 + 4 * (hi - li) / (hi - lo),
                                                   loc=lo, scale=hi - lo),
             "triangular": lambda lo, li, hi: stats.triang((li - lo) / (hi - lo), loc=lo, scale=hi - lo)}
    one, two = kinds[shape](10, 20, 40), kinds[shape](5, 10, 15)
    exact = quad(lambda x: one.pdf(x) * two.sf(x / 2.2), 10, 40, points=[20])[0]
    assert found.probability_first["one"] == pytest.approx(exact, abs=4 * found.standard_error["one"])
    assert found.standard_error["one"] == pytest.approx(np.sqrt(exact * (1 - exact) / 20_000), rel=0.02)


@pytest.mark.law
def test_a_price_that_both_pay_moves_them_together():
    """Common draws: a plant that buys more of the same is never first, however wide the price."""
    found = of_prices([made("more", BOOK, {"mirror": 1.01e4}), made("less", BOOK, {"mirror": 1e4})], samples=500)
    assert found.probability_first == {"more": 0.0, "less": 1.0}
    assert found.standard_error["less"] == 3.0 / 500
    assert found.costs[0] == pytest.approx(1.01 * found.costs[1])


@pytest.mark.law
def test_draws_of_prices_give_the_exact_cost():
    cases = [made("one", BOOK, {"mirror": 3e4, "store": 5e4, "tube": 1e5}), made("two", BOOK, {"drive": 2.2e4})]
    found = of_prices(cases, samples=200)
    for k in (0, 77, 199):
        drawn = {name: values[k] for name, values in found.draws.items()}
        assert found.costs[0, k] == pytest.approx(cases[0].with_prices(drawn).cost, rel=1e-12)
    assert set(found.draws) == {"mirror", "store", "drive"}  # the tube's price has no range
    again = of_prices(cases, samples=200)
    assert np.array_equal(again.costs, found.costs)
    assert sum(found.probability_first.values()) == pytest.approx(1.0)


def test_what_decides_is_named():
    cases = [made("one", BOOK, {"mirror": 1e4, "store": 1e3}), made("two", BOOK, {"drive": 2.2e4, "store": 1e3})]
    found = of_prices(cases, samples=4000)
    table = found.deciders("one", "two")
    assert set(table.index[:2]) == {"mirror", "drive"}
    assert table["share"].sum() == pytest.approx(1.0, abs=0.1)
    assert table.loc["store", "share"] < 0.05  # both pay it alike
    assert table.loc["mirror", "first if low"] > 0.9 > 0.3 > table.loc["mirror", "first if high"]
    text = " ".join(found.sentences())
    assert "4,000 draws" in text
    assert "decides between" in text
    assert "standard error" in found.checks()
    assert found.cheaper.loc["one", "two"] + found.cheaper.loc["two", "one"] == pytest.approx(1.0)
    with pytest.raises(ParameterError, match="no such plant"):
        found.deciders("one", "three")


def test_results_are_complete_and_read_well(sand):
    found = of_prices([made("one", BOOK, {"mirror": 1e4})], samples=100)
    assert found.probability_first == {"one": 1.0}
    assert len(found.sentences()) == 1
    assert found.to_dict()["deciders"] == {}
    assert "first: one 100.0 %" in repr(found)
    assert "<table" in found._repr_html_()
    assert list(found.to_frame().columns[:2]) == ["first", "standard error"]


@pytest.mark.parametrize(("change", "words"), [("samples", "too few draws"), ("product", "different goods"),
                                               ("book", "different prices")])
def test_questions_without_an_answer_are_refused(change, words):
    other = {"product": made("warm", BOOK, {"mirror": 1e4}, product="heat"),
             "book": made("dear", BOOK.scaled(2.0), {"mirror": 1e4})}.get(change, made("two", BOOK, {"mirror": 1e4}))
    with pytest.raises(ParameterError, match=words):
        of_prices([made("one", BOOK, {"mirror": 1e4}), other], samples=10 if change == "samples" else 200)


def test_surfaces_side_by_side_are_those_made_one_by_one(sand, basin):
    cases = [sand, Case(plant=find_plant("oil_salt"), weather=basin.slice(2160, 24))]
    together, alone = (fit_surfaces(cases, only=("cycle",), runs=4, jobs=jobs) for jobs in (2, 1))
    assert [s.plant for s in together] == ["sand_silo", "oil_salt"]
    for one, two in zip(together, alone, strict=True):
        assert one.coefficients == pytest.approx(two.coefficients)
        assert one.runs == 4
    found = uncertainty(cases, together, samples=1000)
    assert "efficiency of the turbine" in found.draws
    assert 0.0 <= found.surface_effect < 0.2
    assert "full-model runs" in found.checks()


# -- tornado -----------------------------------------------------------------------------------------------------------


def test_tornado_is_sorted_and_its_ends_are_those_of_the_full_model(sand):
    found = tornado(sand)
    widths = [s.width for s in found.sways]
    assert widths == sorted(widths, reverse=True)
    assert {s.what.path for s in found.sways} == {u.path for u in price_ranges(sand)} | {"finance.rate"}
    for sway in found.sways[:3]:
        from loopnet.study import knob

        number = knob(sand, sway.what.path)
        assert number.turn(sand, sway.what.high).cost == pytest.approx(sway.at_high, rel=1e-9)
        assert number.turn(sand, sway.what.low).cost == pytest.approx(sway.at_low, rel=1e-9)
    assert found.sways[0].what.name in found.sentence()
    assert len(found.to_frame()) == len(found.sways) == len(found.to_dict()["sways"])
    only = tornado(sand, uncertainties(sand, only=("cycle",)))
    assert only.sways[0].at_low > found.likely > only.sways[0].at_high  # a better turbine is cheaper
