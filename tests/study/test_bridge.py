"""The bridge adds up, runs both ways, blames what was changed and nothing else; the chain of energy closes."""

from dataclasses import replace
from itertools import permutations
from math import exp, fsum, log, prod

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from loopnet.errors import ParameterError
from loopnet.money import Finance, price_book
from loopnet.plants import find_plant
from loopnet.study import Case, assess, bridge, energy_steps
from loopnet.study.bridge import log_mean
from loopnet.study.energy_steps import STEPS

NAMES = ("sand_silo", "oil_salt", "air_rock")


@pytest.fixture(scope="module")
def plants(basin):
    """Two days of three plants."""
    return {name: assess(find_plant(name), basin.slice(2160, 48)) for name in NAMES}


# the index is the integral of c dln(x) along the path on which all factors grow exponentially; computed with scipy.quad
@pytest.mark.book
@given(a=st.floats(1e-4, 1e3), ratio=st.floats(1e-3, 1e3))
def test_log_mean_is_the_divisia_integral(a, ratio):
    b = a * ratio
    assert log_mean(a, b) == pytest.approx(quad(lambda t: a * exp(t * log(b / a)), 0, 1)[0], rel=1e-7)


# lies between geometric and arithmetic mean (Carlson, Am. Math. Monthly 79 (1972) 615-618; from memory)
@pytest.mark.book
@given(a=st.floats(1e-6, 1e6), ratio=st.one_of(st.floats(1e-3, 1e3), st.floats(1 - 1e-5, 1 + 1e-5)))
def test_log_mean_lies_between_two_other_means(a, ratio):
    b = a * ratio
    assert (a * b) ** 0.5 * (1 - 1e-12) <= log_mean(a, b) <= 0.5 * (a + b) * (1 + 1e-12)
    assert log_mean(a, b) == pytest.approx(log_mean(b, a), rel=1e-9)


def test_log_mean_leaves_what_is_new_to_its_unit_cost():
    assert (log_mean(0.0, 3.0), log_mean(2.0, 0.0), log_mean(-1.0, 1.0)) == (0.0, 0.0, 0.0)
    assert log_mean(-2.0, -1.0) == pytest.approx(-log_mean(2.0, 1.0))


@pytest.mark.law
@pytest.mark.parametrize(("one", "two"), list(permutations(NAMES, 2)))
def test_terms_add_up_and_the_way_back_is_the_negative(plants, one, two):
    there, back = bridge(plants[one], plants[two]), bridge(plants[two], plants[one])
    assert fsum(there.by_name.values()) == pytest.approx(there.difference, abs=1e-12)
    assert there.difference == pytest.approx(plants[two].cost.usd_per_kwh - plants[one].cost.usd_per_kwh, abs=1e-15)
    assert there.by_name.keys() == back.by_name.keys()
    assert all(back.by_name[k] == pytest.approx(-v, abs=1e-12) for k, v in there.by_name.items())
    assert fsum(there.gathered(0.01).values()) == pytest.approx(there.difference, abs=1e-12)


@pytest.mark.law
@pytest.mark.parametrize("name", NAMES)
def test_chain_of_energy_gives_what_the_cost_is_per(plants, name):
    chain, cost = energy_steps(plants[name]), plants[name].cost
    assert chain.aperture * chain.sun * prod(chain.shares.values()) == pytest.approx(cost.energy, rel=1e-12)
    assert list(chain.shares) == list(STEPS)
    assert chain.after("own use") == pytest.approx(1.0 / chain.shares["own use"])
    # what the losses of light leave, summed apart from the chain
    year = plants[name].year
    light = [label for label in year.losses() if label in (
        "cosine", "shading", "blocking", "attenuation", "spillage", "reflector", "soiling", "intercept", "absorptance",
        "glass", "end loss", "incidence modifier")]
    unused = sum(kwh for label, kwh in year.losses().items() if label.startswith(("too little", "wind", "defocused")))
    lost = sum(year.losses()[label] for label in light)
    assert chain.shares["optics"] == pytest.approx(1.0 - lost / (year.sun - unused), rel=1e-9)


@pytest.mark.parametrize(("family", "label", "kind", "step"), [
    ("field", "wind stow", "loss", "sun left unused"), ("field", "too little sun", "loss", "sun left unused"),
    ("field", "defocused, store full", "loss", "sun left unused"), ("field", "dust of a new kind", "loss", "optics"),
    ("field", "receiver heat", "loss", "receiver"), ("field", "field warm-up", "loss", "receiver"),
    ("field", "freeze protection", "loss", "receiver"), ("field", "tracking drives", "electricity", "receiver"),
    ("field", "drive motors", "loss", "receiver"), ("pipe", "pipe heat", "loss", "pipes"),
    ("mover", "pump power", "electricity", "pipes"), ("exchanger", "anything", "loss", "pipes"),
    ("store", "store wall", "loss", "store"), ("cycle", "condenser", "loss", "cycle"), ("user", "x", "loss", "cycle"),
    ("new family", "x", "loss", "pipes")])
def test_losses_belong_to_steps(family, label, kind, step):
    from loopnet.study.energy_steps import _step

    assert _step(family, label, kind) == step


def test_a_plant_against_itself_has_no_terms_to_speak_of(plants):
    same = bridge(plants["sand_silo"], plants["sand_silo"])
    assert all(usd == 0.0 for usd in same.by_name.values())
    assert all(term.kind in ("capital", "running") for term in same.terms)


def test_a_dearer_receiver_is_blamed_and_nothing_else(basin, plants):
    dear = price_book().with_price("receiver.particle", value=240.0)
    other = assess(find_plant("sand_silo"), basin.slice(2160, 48), book=dear)
    found = bridge(plants["sand_silo"], other)
    assert found.by_name["receiver: capital"] == pytest.approx(found.difference, rel=1e-9)


def test_dearer_money_is_a_term_of_its_own(basin, plants):
    other = assess(find_plant("sand_silo"), basin.slice(2160, 48), finance=Finance(rate=0.1))
    found = bridge(plants["sand_silo"], other)
    assert found.by_name["finance"] == pytest.approx(found.difference, rel=0.02)  # replacements take the rest
    assert all(abs(t.usd_per_kwh) < 1e-12 for t in found.terms if t.kind in ("energy", "capital"))


def test_weaker_optics_are_charged_with_the_mirrors_they_ask_for(basin, plants):
    case = Case(plant=find_plant("sand_silo"), weather=basin.slice(2160, 48))
    plant = case.plant.with_component("field", collector=replace(
        case.plant.components["field"].collector, reflectance=0.85))
    found = bridge(plants["sand_silo"], case.with_plant(plant).assessment)
    assert max(found.by_name, key=lambda k: abs(found.by_name[k])) == "optics"
    mirrors = sum(u for line, u in zip(plants["sand_silo"].bill, plants["sand_silo"].cost.line_terms, strict=True)
                  if line.price.key.startswith(("collector.", "site.", "washing")))
    # all else alike, mirrors grow as the inverse of what the optics pass on
    shares = [energy_steps(a).shares["optics"] for a in (plants["sand_silo"], case.with_plant(plant).assessment)]
    assert found.by_name["optics"] == pytest.approx(mirrors * np.log(shares[0] / shares[1]), rel=0.06)


def test_terms_show_both_plants_and_what_is_in_one_only(plants):
    found = bridge(plants["oil_salt"], plants["sand_silo"])
    pipes = next(t for t in found.terms if t.name == "pipes: capital")
    assert pipes.second == 0.0
    gone = sum(u for line, u in zip(plants["oil_salt"].bill, plants["oil_salt"].cost.line_terms, strict=True)
               if "header" in line.component or line.price.key.startswith(("pipe.", "medium.diphenyl")))
    assert -pipes.usd_per_kwh == pytest.approx(gone, rel=0.02)
    frame = found.to_frame()
    assert frame["ct/kWh"].sum() == pytest.approx(100 * found.difference)
    assert found.to_dict()["terms_usd_per_kwh"] == found.by_name
    assert "For sand_silo" in found.sentence()
    assert "<table" in found._repr_html_()


def test_different_goods_are_refused(plants):
    heat = replace(plants["sand_silo"], cost=replace(plants["sand_silo"].cost, product="heat"))
    with pytest.raises(ParameterError, match="different goods"):
        bridge(plants["sand_silo"], heat)
