"""The fit: known coefficients come back within their own intervals, the published trough test, outliers, dropped terms,
and honest refusals."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.bench_fit import fit_collector
from components.bench_regress import choose_terms, combined, find_outliers, weighted_fit
from components.bench_terms import TERMS, Instruments
from components.incidence import IncidenceModifier
from loopnet.errors import DataError, LoopnetError, ParameterError

from .bench_made import APERTURE, EXACT, FACTS, TRUE, made_log, made_points

NOISE = (4.0, 0.15, 0.004)
OIL = {"aperture": 12, "heat_capacity": 2000, "medium": "oil", "density": "880 kg/m3 at 20 degC, 724 kg/m3 at 280 degC"}


# -- known coefficients ------------------------------------------------------------------------------------------------


def test_exact_data_gives_exact_coefficients():
    fit = fit_collector(made_points(), instruments=EXACT, **FACTS)
    assert fit.values == pytest.approx(TRUE, rel=1e-9)
    assert fit.scatter < 1e-9
    assert fit.left_out == ()


@pytest.mark.parametrize(("made", "terms", "more"), [
    ({"wind": lambda rng, n: rng.uniform(0, 8, n)}, {**TRUE, "a3": 0.05}, {}),
    ({"angle": lambda rng, n: rng.uniform(0, 50, n)}, {**TRUE, "k2": -8e-5}, {}),
])
def test_wind_and_incidence_are_found_where_they_vary(made, terms, more):
    fit = fit_collector(made_points(coefficients=terms, **made), instruments=EXACT, **FACTS, **more)
    found = {name: fit.values[name] for name in terms if name != "k2"}
    assert found == pytest.approx({k: v for k, v in terms.items() if k != "k2"}, rel=1e-8)
    if "k2" in terms:  # the coefficient in the balance is eta0 x k2
        assert fit["k2"].value == pytest.approx(TRUE["eta0"] * terms["k2"], rel=1e-8)
        theta = np.radians([0.0, 20.0, 50.0])
        np.testing.assert_allclose(fit.modifier()(theta), 1 + terms["k2"] * np.degrees(theta) ** 2, rtol=1e-8)


def test_a_known_modifier_takes_the_place_of_fitted_terms():
    known = IncidenceModifier(c2=-8e-5, includes_cosine=False)
    table = made_points(coefficients={**TRUE, "k2": -8e-5}, angle=lambda rng, n: rng.uniform(0, 50, n))
    fit = fit_collector(table, modifier=known, instruments=EXACT, **FACTS)
    assert fit.values == pytest.approx(TRUE, rel=1e-9)
    assert fit.modifier() is known


# GUM (JCGM 100:2008) asks that an interval of 95 % holds the truth in 95 % of cases. Of 200 trials a true 95 % gives
# between 177 and 198 hits (88.5 to 99 %) but once in some 5,000 times (binomial, computed).
@pytest.mark.book
def test_intervals_hold_the_truth_as_often_as_they_say():
    """Scatter anew in each row, and instruments off in all rows of a trial alike."""
    hits, outliers = dict.fromkeys(TRUE, 0), 0
    for trial in range(200):
        table = made_points(np.random.default_rng(trial), instruments=Instruments(), noise=NOISE)
        fit = fit_collector(table, instruments=Instruments(), **FACTS)
        outliers += len(fit.left_out)
        for name, true in TRUE.items():
            hits[name] += name in fit.values and fit[name].low <= true <= fit[name].high
    assert all(177 <= count <= 198 for count in hits.values()), hits
    assert outliers <= 10  # of 9,600 points; 0.6 are expected beyond 4 standard deviations


def test_the_interval_from_scatter_alone_is_that_of_students_t():
    """Against scipy's own straight line: slope and intercept of useful heat over temperature, one sun."""
    from scipy.stats import linregress, t

    rng = np.random.default_rng(11)
    over = np.linspace(5.0, 150.0, 20)
    table = pd.DataFrame({"time [h]": np.arange(20), "dni [W/m2]": 1000.0, "ambient [degC]": 20.0,
                          "inlet [degC]": 10 + over, "outlet [degC]": 30 + over,
                          "efficiency [%]": 70 - 0.08 * over + rng.normal(0, 0.5, 20)})
    fit = fit_collector(table, terms=("eta0", "a1"), instruments=EXACT)
    line = linregress(over, table["efficiency [%]"])
    half = t.ppf(0.975, 18)
    assert fit["a1"].value == pytest.approx(-10 * line.slope, rel=1e-9)
    assert fit["a1"].high - fit["a1"].value == pytest.approx(10 * half * line.stderr, rel=1e-6)
    assert fit["eta0"].value - fit["eta0"].low == pytest.approx(half * line.intercept_stderr / 100, rel=1e-6)


def test_an_instrument_that_is_off_in_all_rows_moves_the_result_as_told():
    """By hand: a sun instrument 2 % high lowers eta0 by 2 %; an aperture 1 % too large lowers all by 1 %."""
    fit = fit_collector(made_points(), instruments=EXACT.__class__(**{**EXACT.to_dict(), "dni": 0.02}), **FACTS)
    assert fit["eta0"].instruments == pytest.approx(0.02 * TRUE["eta0"], rel=1e-6)
    assert fit["a1"].instruments == pytest.approx(0.0, abs=1e-6)
    fit = fit_collector(made_points(), instruments=EXACT.__class__(**{**EXACT.to_dict(), "aperture": 0.01}), **FACTS)
    for name, true in TRUE.items():
        assert fit[name].instruments == pytest.approx(0.01 * true, rel=1e-6)


# -- the published trough test -----------------------------------------------------------------------------------------

# Dudley, Kolb, Mahoney, Mancini, Matthews, Sloan, Kearney, SAND94-1884 (1994), cermet in vacuum, aperture 39.2 m2:
# sun, wind, ambient, inlet seen; outlet, flow and efficiency from memory, as quoted in many papers.
TROUGH = pd.DataFrame([
    (0, 933.7, 2.6, 21.2, 102.2, 124.0, 47.7, 72.51), (1, 968.2, 3.7, 22.4, 151.0, 173.3, 47.8, 70.90),
    (2, 982.3, 2.5, 24.3, 197.5, 219.5, 49.1, 70.17), (3, 909.5, 3.3, 26.2, 250.7, 269.4, 54.7, 70.25),
    (4, 937.9, 1.0, 28.8, 297.8, 316.9, 55.5, 67.98), (5, 880.6, 2.9, 27.5, 299.0, 317.2, 55.6, 68.92),
    (6, 920.9, 2.6, 29.5, 379.5, 398.0, 56.8, 62.34), (7, 903.2, 4.2, 31.1, 355.9, 374.0, 56.3, 63.83)],
    columns=["time [h]", "dni [W/m2]", "wind [m/s]", "ambient [degC]", "inlet [degC]", "outlet [degC]", "flow [L/min]",
             "efficiency [%]"])


# The report's equation, eta % = 73.3 - 0.007276 d - 0.496 d/I - 0.0691 d^2/I (seen). Tolerance: the report's test
# uncertainty of 2 points (memory) on eta0; its quadratic term within our own interval. Along the curve our fit to these
# eight points stays within the 4.0 points by which the report's own equation is off from them.
@pytest.mark.book
def test_the_published_points_give_the_published_collector():
    fit = fit_collector(TROUGH.drop(columns="flow [L/min]"))
    assert [c.name for c in fit.coefficients] == ["eta0", "a2"]  # the published linear term is next to nothing
    assert fit["eta0"].value == pytest.approx(0.733, abs=0.02)
    assert fit["a2"].low < 0.000691 < fit["a2"].high
    over = np.linspace(90.0, 350.0, 27)
    published = 73.3 - 0.007276 * over - 0.496 * over / 900 - 0.0691 * over**2 / 900
    ours = 100 * fit.useful(over, 900.0)[0] / 900
    assert np.max(np.abs(ours - published)) < 4.0
    ours = 100 * (fit.points["fitted"] / fit.points["dni"])
    assert np.max(np.abs(ours - TROUGH["efficiency [%]"])) < 2.5  # nearer to the points than the report's 4.0


# Points drawn from the report's equation over its range of test (80 to 370 K, 600 to 1000 W/m2, from memory) give back
# its four coefficients (seen): a = eta0, b = -eta1, c = -a1, d = -a2, per cent.
@pytest.mark.book
@pytest.mark.parametrize(("a", "b", "c", "d"), [
    (73.3, -0.007276, -0.496, -0.0691), (73.4, -0.004683, -14.40, -0.0637), (73.6, -0.004206, 7.44, -0.0958),
    (73.8, -0.006460, -12.16, -0.0641)])
def test_the_published_equations_come_back(a, b, c, d):
    over, sun = (x.ravel() for x in np.meshgrid(np.linspace(80, 370, 8), np.linspace(600, 1000, 4)))
    table = pd.DataFrame({"time [h]": np.arange(over.size), "dni [W/m2]": sun, "ambient [degC]": 25.0,
                          "inlet [degC]": 15 + over, "outlet [degC]": 35 + over,
                          "efficiency [%]": a + b * over + c * over / sun + d * over**2 / sun})
    fit = fit_collector(table, terms=("eta0", "eta1", "a1", "a2"))
    found = [100 * fit.values[name] for name in ("eta0", "eta1", "a1", "a2")]
    assert found == pytest.approx([a, -b, -c, -d], rel=1e-6, abs=1e-6)
    at_900 = 100 * float(fit.useful(300.0, 900.0)[0]) / 900  # table of the equation at 900 W/m2 and 300 K (computed)
    assert at_900 == pytest.approx({-0.496: 64.04, -14.40: 60.83, 7.44: 65.24, -12.16: 61.40}[c], abs=0.05)


# The same efficiencies from flow and temperatures: silicone oil by CoolProp's INCOMP tables (computed here),
# flow and outlet from memory. Tolerance 1 %: the stated uncertainty of a flow loop (common practice, no source).
@pytest.mark.book
def test_published_efficiencies_from_flow_and_temperatures():
    from CoolProp.CoolProp import PropsSI

    def along(what, unit):
        return ", ".join(f"{PropsSI(what, 'T', c + 273.15, 'P', 2e6, 'INCOMP::S800'):.2f} {unit} at {c} degC"
                         for c in (90, 200, 300, 350, 395))

    fit = fit_collector(TROUGH.drop(columns="efficiency [%]"), aperture="39.2 m2", medium="silicone oil",
                        heat_capacity=along("C", "J/kg/K"), density=along("D", "kg/m3"))
    np.testing.assert_allclose(100 * fit.points["measured"] / fit.points["dni"], TROUGH["efficiency [%]"], rtol=0.01)


# -- outliers, terms, dynamics -----------------------------------------------------------------------------------------


def test_outliers_are_named_and_do_not_move_the_fit():
    table = made_points(np.random.default_rng(4), noise=NOISE)
    clean = fit_collector(table, instruments=EXACT, **FACTS)
    spoiled = table.copy()
    for row in (7, 30):
        spoiled.loc[row, "flow [kg/s]"] *= 1.4
    fit = fit_collector(spoiled, instruments=EXACT, **FACTS)
    named = [x for x in fit.left_out if x.kind == "outlier"]
    assert [x.rows for x in named] == [(8,), (31,)]
    assert "row 8:" in named[0].reason
    assert "above the fit" in named[0].reason
    without = fit_collector(table.drop(index=[7, 30]), instruments=EXACT, **FACTS)
    assert fit.values == pytest.approx(without.values, rel=1e-9)
    assert fit.values == pytest.approx(clean.values, rel=0.15)
    kept = fit_collector(spoiled, instruments=EXACT, outliers=np.inf, **FACTS)
    assert not kept.left_out
    assert kept.scatter > 3 * fit.scatter


def test_too_many_outliers_are_refused():
    table = made_points(np.random.default_rng(4), noise=NOISE)
    spoiled = table.copy()
    spoiled.loc[1:45:4, "flow [kg/s]"] *= np.tile([1.6, 0.5], 6)
    spoiled.loc[2, "flow [kg/s]"] *= 1.6
    with pytest.raises(DataError, match=r"rows .*: too many points do not fit; got 1\d of 48 points"):
        fit_collector(spoiled, instruments=EXACT, **FACTS)
    table.loc[::3, "flow [kg/s]"] *= 1.5  # so many that nobody can say which are wrong
    fit = fit_collector(table, instruments=EXACT, **FACTS)
    assert any("more than careful measurement does" in text for text in fit.warnings)


def test_a_term_that_is_not_there_is_dropped_by_name_and_kept_if_asked_for():
    table = made_points(np.random.default_rng(2), {"eta0": 0.72, "a1": 0.9}, noise=NOISE)
    fit = fit_collector(table, instruments=EXACT, **FACTS)
    assert list(fit.values) == ["eta0", "a1"]
    why = {trial.term: trial.why for trial in fit.dropped}
    assert "not told apart from zero" in why["a2"] or "negative" in why["a2"]
    with pytest.raises(ParameterError, match=r"not in the fit; got 'a2' \("):
        fit["a2"]
    asked = fit_collector(table, terms=("eta0", "a1", "a2"), instruments=EXACT, **FACTS)
    assert asked["a2"].low < 0 < asked["a2"].high
    assert any("a2 is not told apart from zero" in text for text in asked.warnings)


def test_false_terms_are_kept_as_rarely_as_the_significance_says():
    """A term that is zero stays in about 2.5 % of trials: 5 %, and negative ones are dropped. Of 100 at most 9
    (binomial, once in 1,000 times; computed)."""
    kept = sum("a2" in fit_collector(made_points(np.random.default_rng(s), {"eta0": 0.72, "a1": 0.9}, noise=NOISE),
                                     instruments=EXACT, **FACTS).values for s in range(100))
    assert kept <= 9


def test_warming_up_is_a_term_of_its_own():
    """A log in which the inlet follows slowly: steady rows are few; with all rows a5 comes back within its interval,
    and leaving it out gives a worse fit."""
    table = made_log(warms=9000.0, settle=25.0, faults=False)
    fit = fit_collector(table, dynamic=True, **OIL)
    assert fit["a5"].value == pytest.approx(9000.0, rel=0.03)
    assert fit["a5"].low < 9000.0 < fit["a5"].high
    for name in TRUE:
        assert fit[name].low < TRUE[name] < fit[name].high
    without = fit_collector(table, dynamic=True, terms=("eta0", "a1", "a2"), outliers=np.inf, **OIL)
    assert without.scatter > 5 * fit.scatter


def test_a_log_with_faults_names_them_all():
    fit = fit_collector(made_log(), **OIL)
    for name in TRUE:
        assert fit[name].low < TRUE[name] < fit[name].high
    reasons = {x.kind + " " + x.reason.split(" changes")[0].split(":")[0]: x.rows for x in fit.left_out}
    assert "unsteady dni" in reasons
    assert "unsteady flow" in reasons
    outlier = next(x for x in fit.left_out if x.kind == "outlier")
    assert set(range(130, 135)) & set(outlier.rows)  # minutes 258 to 268, when the sun's instrument was shaded
    used = [row for rows, yes in zip(fit.points["rows"], fit.points["used"], strict=True) if yes for row in rows]
    gone = [row for x in fit.left_out for row in x.rows]
    assert sorted(used + gone) == list(range(1, 176))


# -- honest refusals ---------------------------------------------------------------------------------------------------


def test_one_temperature_does_not_tell_losses():
    rng = np.random.default_rng(1)
    table = made_points(rng, noise=NOISE, levels=1, each=24)
    table["dni [W/m2]"], table["ambient [degC]"] = 900.0, 24.0
    with pytest.raises(DataError, match=r"cannot be told apart: a1 and a2; got 24 points .*four or more inlet temp"):
        fit_collector(table, terms=("eta0", "a1", "a2"), **FACTS)
    with pytest.raises(DataError, match=r"cannot be told apart: a3"):  # no wind in any row
        fit_collector(made_points(), terms=("eta0", "a1", "a3"), **FACTS)
    with pytest.raises(DataError, match=r"cannot be told apart: (eta0 and a1|a1 and eta0)"):
        fit_collector(made_points().assign(**{"dni [W/m2]": 900.0, "ambient [degC]": 20.0, "inlet [degC]": 80.0,
                                              "outlet [degC]": 90.0}), terms=("eta0", "a1"), **FACTS)
    fit = fit_collector(table, **FACTS)
    assert not fit.has_loss
    assert any("cannot be told apart from the optics by this test" in text for text in fit.warnings)


def test_without_losses_there_is_no_receiver():
    fit = fit_collector(made_points(), terms=("eta0",), outliers=np.inf, **FACTS)
    with pytest.raises(DataError, match=r"does not tell losses.*two or more inlet temperatures"):
        fit.receiver()


@pytest.mark.parametrize(("change", "facts", "words"), [
    ({"drop": "flow [kg/s]"}, {}, "heat must be measured in one way; got no column of it"),
    ({"drop": "outlet [degC]"}, {}, "no column of outlet"),
    ({"drop": "dni [W/m2]"}, {}, "no column of dni"),
    ({"drop": "ambient [degC]"}, {}, "no column of ambient"),
    ({"add": "boiled [kg/h]"}, {}, "heat must be measured in one way; got boil-off and flow"),
    ({}, {"aperture": None}, "the aperture is not known.*# aperture: 12 m2"),
    ({}, {"aperture": "12 kg"}, "cannot read the aperture; got 12 kg"),
    ({}, {"aperture": -1.0}, "table, aperture: out of range"),
    ({}, {"heat_capacity": None, "medium": "lard"}, "no such medium"),
    ({}, {"heat_capacity": None, "medium": "water"}, "water would be boiling.*absolute pressure of the loop"),
    ({}, {"terms": ("eta0", "b7")}, "no such term; got 'b7'"),
    ({}, {"terms": ("a1",)}, "terms must hold eta0"),
    ({}, {"confidence": 95}, "confidence: out of range"),
    ({"head": 4}, {}, "too few points"),
])
def test_what_cannot_be_fitted_is_refused(change, facts, words):
    table = made_points()
    table = table.drop(columns=change["drop"]) if "drop" in change else table
    table = table.assign(**{change["add"]: 1.0}) if "add" in change else table
    table = table.head(change.get("head", len(table)))
    with pytest.raises(LoopnetError, match=words) as caught:
        fit_collector(table, **{**FACTS, **facts})
    assert caught.value.hint or facts.get("medium") == "lard"


def test_nothing_steady_is_refused():
    table = made_points().assign(**{"time [min]": lambda t: t["time [min]"] / 20})
    table["inlet [degC]"] = np.linspace(20, 200, len(table))
    table["outlet [degC]"] = table["inlet [degC]"] + 10
    with pytest.raises(DataError, match="no row is steady"):
        fit_collector(table, **FACTS)


# -- laws --------------------------------------------------------------------------------------------------------------


@pytest.mark.law
@settings(max_examples=15, deadline=None)
@given(st.floats(0.3, 0.9), st.floats(0.1, 2.0), st.floats(5e-4, 5e-3))
def test_any_collector_comes_back_and_its_heat_falls_with_temperature(eta0, a1, a2):
    true = {"eta0": eta0, "a1": a1, "a2": a2}
    fit = fit_collector(made_points(coefficients=true, hottest=150.0), instruments=EXACT, **FACTS)
    assert fit.values == pytest.approx(true, rel=1e-6)
    useful, error = fit.useful(np.linspace(0, 150, 20), 900.0)
    assert np.all(np.diff(useful) < 0)
    assert np.all(useful <= eta0 * 900.0 * (1 + 1e-9))  # never above sun times optics
    loss = fit.receiver()(293.15 + np.linspace(0, 150, 20), 293.15)
    np.testing.assert_allclose(fit["eta0"].value * 900.0 - loss, useful, rtol=1e-9)
    assert np.all(error >= 0)


@pytest.mark.law
def test_scale_of_aperture_and_order_of_rows_do_not_matter():
    """Twice the aperture with twice the flow is the same collector; so are shuffled rows with their times renewed."""
    table = made_points(np.random.default_rng(8), noise=NOISE)
    fit = fit_collector(table, **FACTS)
    twice = table.assign(**{"flow [kg/s]": 2 * table["flow [kg/s]"]})
    assert fit_collector(twice, **{**FACTS, "aperture": 2 * APERTURE}).values == pytest.approx(fit.values, rel=1e-9)
    mixed = table.sample(frac=1.0, random_state=1).assign(**{"time [min]": 20.0 * np.arange(len(table))})
    assert fit_collector(mixed, **FACTS).values == pytest.approx(fit.values, rel=1e-9)


@pytest.mark.law
def test_every_term_comes_back_when_it_alone_is_added():
    """The balance is linear: data made with one more term, by its own formula, give that term."""
    formulas = {"eta1": lambda b, d, v, T: 1e-4 * b * d, "a3": lambda b, d, v, T: 0.06 * v * d,
                "a6": lambda b, d, v, T: 0.002 * v * b, "a8": lambda b, d, v, T: 2e-8 * d**4,
                "radiation": lambda b, d, v, T: 0.02 * 5.670374419e-8 * ((T + d) ** 4 - T**4)}
    sizes = {"eta1": 1e-4, "a3": 0.06, "a6": 0.002, "a8": 2e-8, "radiation": 0.02}
    rng = np.random.default_rng(0)
    n = 40
    sun, over, wind = rng.uniform(600, 1000, n), rng.uniform(5, 250, n), rng.uniform(0, 8, n)
    for name, lost in formulas.items():
        q = 0.7 * sun - 0.5 * over - lost(sun, over, wind, 293.15)
        table = pd.DataFrame({"time [h]": np.arange(n), "dni [W/m2]": sun, "ambient [degC]": 20.0, "wind [m/s]": wind,
                              "inlet [degC]": 15 + over, "outlet [degC]": 25 + over, "efficiency [-]": q / sun})
        fit = fit_collector(table, terms=("eta0", "a1", name), instruments=EXACT)
        assert fit[name].value == pytest.approx(sizes[name], rel=1e-7), name
        loss = fit.receiver()(293.15 + over, 293.15, wind, sun)
        np.testing.assert_allclose(0.7 * sun - loss, q, rtol=1e-9, err_msg=name)
    assert set(formulas) | {"eta0", "k1", "k2", "a1", "a2", "a5"} == set(TERMS)


# -- pieces ------------------------------------------------------------------------------------------------------------


def test_the_robust_fit_stands_a_quarter_of_nonsense():
    rng = np.random.default_rng(0)
    x = rng.uniform(0, 10, 80)
    X, y = np.column_stack([np.ones(80), x]), 1 + 2 * x + rng.normal(0, 0.1, 80)
    y[:16] += rng.uniform(3, 8, 16)
    assert find_outliers(X, y, np.ones(80)).tolist() == [True] * 16 + [False] * 64
    assert not find_outliers(X[:7], y[:7], np.ones(7)).any()  # too few to judge


def test_terms_go_negative_first_then_weakest():
    rng = np.random.default_rng(1)
    table = {name: rng.normal(size=60) for name in ("a", "b", "c", "d")}
    y = 5 * table["a"] - 1.0 * table["b"] + 0.001 * table["c"] + 2 * table["d"] + rng.normal(0, 0.1, 60)

    def fit(names):
        return weighted_fit(np.column_stack([table[n] for n in names]), y, np.ones(60))

    terms, dropped = choose_terms(fit, ("a", "b", "c", "d"), ("b",), ("a",), lambda f: 2.0)
    assert terms == ("a", "d")
    assert [trial.term for trial in dropped] == ["b", "c"]
    assert "negative" in dropped[0].why


def test_uncertainties_add_in_squares():
    X = np.column_stack([np.ones(10), np.arange(10.0)])
    estimate = weighted_fit(X, X @ [1.0, 2.0] + np.tile([0.1, -0.1], 5), np.ones(10))
    whole, freedom = combined(estimate, [np.full(10, 0.3), np.full(10, 0.4)])
    assert whole[0, 0] - estimate.covariance[0, 0] == pytest.approx(0.25)  # an offset goes into the intercept alone
    assert whole[1, 1] == pytest.approx(estimate.covariance[1, 1])
    assert freedom[1] == pytest.approx(8.0)
    assert freedom[0] > 8.0
