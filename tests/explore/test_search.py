"""Designs, the search of numbers, and explorations of real plants over three days."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopnet.errors import DataError, ParameterError
from loopnet.explore import Results, Row, explore
from loopnet.explore.designs import factorial, hypercube
from loopnet.explore.figures import FIRM, land_under_mirrors
from loopnet.explore.optimise import best_numbers
from loopnet.explore.pareto import CRITERIA
from loopnet.money import Finance, price_book
from loopnet.plants import find_plant
from loopnet.solve import size
from loopnet.study import assess

from .small_space import DAYS, SmallGrammar, small_space

MULTIPLE, HOURS = [1.0, 4.0], [36000.0, 72000.0]


# -- designs -----------------------------------------------------------------------------------------------------------


def test_a_factorial_holds_every_combination_once():
    design = factorial(small_space(solar_multiple=(2.0, 3.0, 4.0), store_hours=HOURS), points=2)
    found = {(c["kind"], c["solar_multiple"], c["store_hours"]) for c in design.candidates}
    assert len(design.candidates) == len(found) == 2 * 3 * 2
    assert found == {(k, m, h) for k in ("small", "large") for m in (2.0, 3.0, 4.0) for h in HOURS}


def test_what_its_numbers_forbid_is_counted_and_not_tried():
    design = factorial(small_space(solar_multiple=MULTIPLE, store_hours=(36000.0,)), points=4)
    assert design.refused == {"too small a field": 2}
    assert {c["solar_multiple"] for c in design.candidates} == {2.0, 3.0, 4.0}


def test_a_factorial_too_large_for_memory_is_refused():
    with pytest.raises(ParameterError, match="too many combinations"):
        factorial(small_space(solar_multiple=[1.3, 4.0], store_hours=HOURS), points=2000)


@pytest.mark.law
@given(st.integers(1, 60), st.integers(0, 1000))
def test_a_hypercube_has_a_point_in_every_slice_of_every_number(points, seed):
    space = small_space(solar_multiple=[1.3, 4.0], store_hours=HOURS)
    found = hypercube(space, points, seed).candidates
    assert len(found) == points
    for name, (low, high) in space.bounds().items():
        slices = [int((c[name] - low) / (high - low) * points) for c in found]
        assert sorted(slices) == list(range(points))
    kinds = [c["kind"] for c in found]
    assert abs(kinds.count("small") - kinds.count("large")) <= 1


def test_the_same_seed_gives_the_same_points_and_another_gives_others():
    space = small_space(solar_multiple=MULTIPLE, store_hours=HOURS)
    assert hypercube(space, 9, 3) == hypercube(space, 9, 3) != hypercube(space, 9, 4)


class ShyGrammar(SmallGrammar):
    """A small plant takes no notice of the hours of store."""

    def matters(self, choices):
        return frozenset({"solar_multiple"} if choices["kind"] == "small" else {"solar_multiple", "store_hours"})


def test_numbers_that_do_not_matter_are_not_varied():
    space = replace(small_space(solar_multiple=(2.0, 3.0), store_hours=(36000.0, 54000.0, 72000.0)),
                    grammar=ShyGrammar())
    kinds = [c["kind"] for c in factorial(space).candidates]
    assert (kinds.count("small"), kinds.count("large")) == (2, 6)
    assert {c["store_hours"] for c in hypercube(space, 30).candidates if c["kind"] == "small"} == {36000.0}


# -- the search of numbers ---------------------------------------------------------------------------------------------


def judged(cost, asked):
    def of(candidate):
        asked.append(candidate)
        m, h = candidate["solar_multiple"], candidate["store_hours"] / 3600.0
        value = cost(m, h)
        if value is None:
            return None
        return Row(candidate.key, candidate, "s", {"product": "heat"}, {"usd_per_kwh": value})
    return of


def start():
    return small_space(solar_multiple=MULTIPLE, store_hours=HOURS).feasible()[0]


BOUNDS = {"solar_multiple": (1.0, 4.0), "store_hours": (36000.0, 72000.0)}


@pytest.mark.law
@given(st.floats(1.3, 3.7), st.floats(11.0, 19.0), st.floats(-0.5, 0.5))
def test_the_search_finds_the_lowest_point_of_a_valley(m, h, twist):
    def cost(x, y):
        u, v = (x - m) / 3.0, (y - h) / 10.0
        return 0.1 + u * u + v * v + twist * u * v

    best = best_numbers(judged(cost, asked := []), start(), BOUNDS, CRITERIA["cost"], points=40)
    assert len(asked) <= 40
    assert best["usd_per_kwh"] < 0.1 + 0.002
    assert abs(best.candidate["solar_multiple"] - m) < 0.2


def test_the_search_comes_along_where_part_of_the_range_cannot_be():
    def cost(x, y):
        return None if x > 3.0 else 0.2 - 0.03 * x + ((y - 15.0) / 10.0) ** 2

    best = best_numbers(judged(cost, asked := []), start(), BOUNDS, CRITERIA["cost"], points=60)
    assert best.candidate["solar_multiple"] == pytest.approx(3.0, abs=0.15)
    assert sum(c["solar_multiple"] > 3.0 for c in asked) < len(asked) / 2  # it turns away from where nothing can be


def test_more_may_be_better():
    best = best_numbers(judged(lambda x, y: x, []), start(), BOUNDS, CRITERIA["cost"].__class__(
        "usd_per_kwh", True, 1.0, "", ""), points=30)
    assert best.candidate["solar_multiple"] == pytest.approx(4.0, abs=0.05)


def test_where_all_fails_there_is_no_best():
    assert best_numbers(judged(lambda x, y: None, []), start(), BOUNDS, CRITERIA["cost"], points=10) is None


# -- real plants, three days -------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A file of results, and the exploration that made it."""
    path = tmp_path_factory.mktemp("explore") / "small.sqlite"
    return path, explore(small_space(("small", "large", "broken", "odd")), weather=DAYS, results=path, refine=1, jobs=1,
                         model="test")


def test_an_exploration_has_the_figures_of_an_assessment(kept):
    _, found = kept
    lead, = found.best(1)
    plant = SmallGrammar().draw(lead.candidate.to_dict())
    a = assess(plant, DAYS, exact=True)
    assert lead.key in found.exact  # the best was run hour by hour
    assert lead["usd_per_kwh"] == pytest.approx(a.cost.usd_per_kwh, rel=1e-9)
    assert lead["capital_usd"] == pytest.approx(a.cost.capital_usd, rel=1e-9)
    assert lead["delivery_kwh"] == pytest.approx(a.year.net * 365 / 3, rel=1e-9)
    served = a.year.hourly["load"] * a.year.hourly["generating"]
    assert lead["full_supply"] == pytest.approx(float((served >= 0.999).mean()))
    net = (a.year.hourly["net"] / plant.design.net_power).clip(0.0, 1.0)
    assert lead["firm_months"] == float(net.mean() >= FIRM)
    assert found.moved < 0.05


def test_failures_are_rows_with_their_reason(kept):
    _, found = kept
    assert found.failures() == {"ParameterError: it cannot be built": 2, "ZeroDivisionError: not foreseen: odd": 2}
    messages = {row.message for row in found.rows if row.error == "ParameterError"}
    assert messages == {"plant: it cannot be built; got broken; allowed: whole. Try: mend it."}
    frame = found.to_frame()
    assert len(frame) == 8
    assert frame["error"].notna().sum() == 4
    assert set(frame["mode"]) == {"map", "exact"}


def test_no_plant_is_computed_again_for_other_prices_or_finance(kept):
    path, found = kept
    book, finance = price_book().scaled(1.3), Finance(rate=0.04)
    other = explore(small_space(("small", "large")), weather=DAYS, results=path, refine=0, jobs=1, model="test",
                    book=book, finance=finance)
    assert other.computed == 0
    for row in other.done:
        a = assess(SmallGrammar().draw(row.candidate.to_dict()), DAYS, book=book, finance=finance, exact=False)
        assert row["usd_per_kwh"] == pytest.approx(a.cost.usd_per_kwh, rel=1e-9)
    same = explore(small_space(("small", "large")), weather=DAYS, results=path, refine=0, jobs=1, model="test")
    before = {row.candidate.key: row["usd_per_kwh"] for row in found.done if row.key not in found.exact}
    assert same.computed == 0
    assert before.items() <= {row.candidate.key: row["usd_per_kwh"] for row in same.done}.items()


def test_failures_are_tried_anew_only_when_asked(kept):
    path, _ = kept
    broken = small_space(("broken",))
    again = {"weather": DAYS, "results": path, "refine": 0, "jobs": 1, "model": "test"}
    assert explore(broken, **again).computed == 0
    assert explore(broken, **again, retry=True).computed == 2


def test_optimise_beats_its_start_and_resumes_for_nothing(tmp_path):
    space = small_space(("large",), solar_multiple=[1.5, 4.0], store_hours=(50400.0,))
    asked = {"search": "optimise", "points": 6, "weather": DAYS, "results": tmp_path / "o.sqlite", "refine": 0,
             "jobs": 1, "model": "test"}
    found = explore(space, **asked)
    begun = space.feasible()[0]
    first, = (row for row in found.rows if row.candidate == begun)
    lead, = found.best()
    assert lead["usd_per_kwh"] < first["usd_per_kwh"]
    assert 1 < found.computed <= 7
    again = explore(space, **asked)
    assert again.computed == 0
    assert again.best()[0].candidate == lead.candidate


def test_what_cannot_be_asked_is_refused_before_the_work(tmp_path):
    with pytest.raises(ParameterError, match="no such search"):
        explore(small_space(), search="guess", weather=DAYS)
    with pytest.raises(ParameterError, match="no such criterion"):
        explore(small_space(), goal="beauty", weather=DAYS)
    with pytest.raises(ParameterError, match="too few points"):
        explore(small_space(solar_multiple=MULTIPLE), points=0, weather=DAYS)
    with pytest.raises(DataError, match="cannot use this file"):
        explore(small_space(), weather=DAYS, results=tmp_path / "no" / "r.sqlite")


def test_results_given_by_the_caller_stay_open(kept):
    with Results() as mine:
        explore(small_space(("broken",)), weather=DAYS, results=mine, refine=0, jobs=1, model="test")
        assert mine.counts()["failed"] == 2


@pytest.mark.parametrize(("name", "cover"), [("oil_salt", 5.77 / 17.3), ("dish_oil", 0.25)])
def test_land_is_that_of_the_layout(name, cover):
    plant = find_plant(name)
    tracking = plant.components["field"].collector.tracking
    cover = tracking.aperture_width / tracking.row_spacing if hasattr(tracking, "row_spacing") else cover
    sized = size(plant)
    assert land_under_mirrors(sized) == pytest.approx(sized.values["field.aperture"] / cover)
    assert 2.0 < 1.0 / cover < 5.0  # a mirror takes two to five times its area of land: common practice


def test_the_front_of_an_exploration_is_sorted_and_none_beats_another(kept):
    _, found = kept
    edge = found.front(["cost", "capital", "output"])
    values = np.array([[r["usd_per_kwh"], r["capital_usd"], -r["delivery_kwh"]] for r in edge])
    assert (np.diff(values[:, 0]) >= 0).all()
    assert not any((a <= b).all() and (a < b).any() for a in values for b in values)
