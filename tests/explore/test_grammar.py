"""The grammar over the catalogue: how many circuits, that what it draws sizes, and that its rules are true of all."""

from __future__ import annotations

import random
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from architectures.grammar import GRAMMAR
from architectures.grammar.levels import levels, reduced, steam_pressure
from architectures.grammar.words import CYCLES, FLUIDS, NUMBERS, RECEIVERS, STORES
from components.catalogue import collectors, entry
from components.organic_cycle import organic_fluid
from loopnet.explore import Candidate, Space, grammar
from loopnet.media import media_names, medium
from loopnet.money import price_book
from loopnet.plants import find_plant, shipped
from loopnet.solve import size
from loopnet.study.assess import bill_of

WORDS = GRAMMAR.choices()
DEFAULTS = {name: number.default for name, number in NUMBERS.items()}
BY_HAND = {
    "oil_salt": ("light_trough", "evacuated_tube", "diphenyl oil", "390 degC", "nitrate salt", "two_tanks", "reheat_3"),
    "salt_tower": ("light_heliostat", "salt_cylinder", "nitrate salt", "565 degC", "as field", "two_tanks", "reheat_5"),
    "sand_silo": ("light_heliostat", "particle_curtain", "quartz sand", "650 degC", "as field", "silos", "steam_5"),
    "film_rock": ("film_trough", "evacuated_tube", "diphenyl oil", "390 degC", "air", "rock_bed", "steam_1"),
    "air_rock": ("light_heliostat on masts", "cavity", "air", "565 degC", "as field", "rock_bed", "steam_3"),
}
"""Shipped plants in the words of the grammar: collector, receiver, field loop, heat, store loop, store, cycle."""


def chosen(collector, receiver, field_loop, heat, store_loop, store, cycle, cycle_loop="as store", **numbers):
    """All choices of a circuit at its defaults."""
    return {**DEFAULTS, "collector": collector, "receiver": receiver, "field_loop": field_loop, "heat": heat,
            "store_loop": store_loop, "store": store, "cycle_loop": cycle_loop, "cycle": cycle, **numbers}


SOME = ("light_trough", "light_fresnel", "light_dish", "light_heliostat", "light_heliostat on masts")
"""A third of the collectors: the whole space has three times as many circuits, and takes three times as long."""


@pytest.fixture(scope="module")
def whole():
    space = Space(grammar(), {"collector": SOME})
    return space, space.feasible()


def test_there_are_more_than_a_thousand_circuits_and_all_others_have_a_reason(whole):
    space, found = whole
    told = space.pruning()
    assert len(found) == told.feasible >= 1000
    assert sum(told.counts.values()) + told.feasible == told.examined == np.prod(
        [len(SOME)] + [len(words) for name, words in WORDS.items() if name != "collector"])
    assert len({c.circuit for c in found}) == len(found)
    assert all(3 < len(reason.split()) < 25 and told.examples[reason] for reason in told.counts)


def test_circuits_that_nobody_drew_appear(whole):
    found = {tuple(c[name] for name in ("field_loop", "store_loop", "store", "cycle")) for c in whole[1]}
    assert {("diphenyl oil", "air", "rock_bed", "steam_3"), ("air", "nitrate salt", "two_tanks", "reheat_5"),
            ("quartz sand", "as field", "silos", "air_and_steam"),
            ("air", "as field", "bauxite_brick_block", "steam_5"),
            ("nitrate salt", "as field", "two_tanks", "carbon_dioxide"),
            ("water", "as field", "none", "back_pressure"),
            ("diphenyl oil", "as field", "mine_waste", "town")} <= found


def test_every_word_is_used_or_its_absence_has_a_reason(whole):
    used = {name: {c[name] for c in whole[1]} for name in WORDS}
    unused = {(name, word) for name, words in WORDS.items() for word in words
              if name != "collector" and word not in used[name]}
    assert unused == {("field_loop", "crushed rock"), ("store_loop", "quartz sand"), ("store_loop", "crushed rock"),
                      ("store_loop", "water"), ("cycle_loop", "nitrate salt")}


def test_the_catalogue_gives_the_words():
    assert set(WORDS["field_loop"]) == set(media_names())
    assert {word.removesuffix(" on masts") for word in WORDS["collector"]} == set(collectors()) - {
        "trough_in_parts", "seasonal_trough"}
    book = price_book()
    for target in RECEIVERS.values():
        assert entry("receiver", target.entry).made
        assert target.price in book
    assert "grammar" not in shipped()


@pytest.mark.parametrize("seed", range(12))
def test_what_is_drawn_sizes_and_has_a_bill(whole, seed):
    candidate = random.Random(seed).choice(whole[1])
    sized = size(whole[0].build(candidate))
    assert sized.certificate.worst < 1e-8
    assert sized.certificate.pinch > 0.0
    assert whole[0].doubt(sized) is None
    found = levels(candidate.to_dict())
    field = sized.view("field").main
    assert float(field.outlet.T[0]) == pytest.approx(found.field_hot)
    assert abs(float(field.inlet.T[0]) - found.field_cold) < 45.0  # a sketch
    bill = bill_of(sized, price_book())
    assert sum(line.usd for line in bill) > 1e6


@pytest.mark.parametrize("name", BY_HAND)
def test_shipped_plants_can_be_said_and_come_out_alike(name):
    # our own plants: a grammar that knows its trade draws a field within a third of what was drawn by hand
    own = find_plant(name)
    choices = chosen(*BY_HAND[name], power=own.design.net_power, solar_multiple=own.design.solar_multiple,
                     store_hours=own.design.store_hours)
    assert GRAMMAR.refuse(choices) is None
    drawn, by_hand = size(GRAMMAR.draw(choices)), size(own)
    ratio = drawn.values["field.aperture"] / by_hand.values["field.aperture"]
    assert 0.67 < ratio < 1.5, f"{ratio:.2f}"


@pytest.mark.parametrize(("said", "change"), [
    ("do not belong together", {"collector": "dish"}),
    ("is not made for a gas", {"receiver": "boiling_row", "field_loop": "air"}),
    ("narrow tube", {"field_loop": "air"}),
    ("does not stand this heat", {"heat": "450 degC"}),
    ("hotter than the receiver", {"field_loop": "nitrate salt", "heat": "565 degC", "store_loop": "as field"}),
    ("lose most of its light", {"receiver": "bare_tube", "heat": "390 degC"}),
    ("no exchanger kind for grains", {"store_loop": "quartz sand"}),
    ("no liquid passes", {"store_loop": "as field", "store": "rock_bed"}),
    ("boil in a tank", {"store_loop": "as field"}),
    ("hotter than the material", {"store_loop": "as field", "store": "dense_concrete_block"}),
    ("too cold for its steam turbine", {"heat": "180 degC", "store_loop": "as field"}),
    ("would freeze on its way back", {"cycle": "steam_1"}),
    ("decompose", {"cycle": "organic_R245fa"}),
    ("too cold for a hot-air turbine", {"cycle": "hot_air_turbine"}),
    ("steam goes straight", {"receiver": "boiling_row", "field_loop": "water"}),
    ("takes boiling water", {"receiver": "boiling_row", "field_loop": "water", "store_loop": "as field"}),
    ("gains nothing", {"cycle_loop": "diphenyl oil"}),
    ("of no use where nothing is stored", {"store": "none"}),
    ("cools too far", {"store_loop": "as field", "store": "mine_waste"}),
    ("does not stand this heat", {"hotter": 10.0}),
])
def test_each_kind_of_impossible_circuit_is_refused_in_plain_words(said, change):
    choices = {**chosen(*BY_HAND["oil_salt"]), **change}
    assert said in (GRAMMAR.refuse(choices) or "")


@pytest.mark.law
@settings(max_examples=150, deadline=None)
@given(st.fixed_dictionaries({name: st.sampled_from(words) for name, words in WORDS.items()}), st.data())
def test_what_is_refused_of_a_part_is_refused_of_the_whole(words, data):
    part = data.draw(st.sets(st.sampled_from(sorted(words))))
    early = GRAMMAR.refuse({**DEFAULTS, **{name: words[name] for name in part}})
    whole = GRAMMAR.refuse({**DEFAULTS, **words})
    assert whole is not None or early is None


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(st.sampled_from([word for word, cycle in CYCLES.items() if cycle.kind in ("steam", "reheat")]),
       st.sampled_from([("light_heliostat", "salt_cylinder", "nitrate salt", "two_tanks"),
                        ("light_heliostat", "open_air", "air", "rock_bed"),
                        ("light_heliostat", "particle_curtain", "quartz sand", "silos")]),
       st.sampled_from(["450 degC", "510 degC", "565 degC"]), st.floats(0.5, 2.0))
def test_levels_fall_from_field_to_steam_and_stay_above_feedwater(cycle, light, heat, closeness):
    collector, receiver, fluid, store = light
    choices = chosen(collector, receiver, fluid, heat, "as field", store, cycle, closeness=closeness)
    if GRAMMAR.refuse(choices) is not None:
        return
    found = levels(choices)
    assert found.field_hot >= found.store_hot >= found.cycle_hot > found.drawn.hot
    assert found.store_cold >= found.drawn.back > 330.0
    boils = float(medium("water").T_sat(found.drawn.pressure))
    assert found.drawn.hot > boils > found.drawn.back - 80.0


# normal boiling points of handbooks, from memory: toluene 110.6, cyclopentane 49.3, n-pentane 36.1, isobutane -11.7
# degC; a line through the critical point and one at 0.7 of it is good for some 5 %
@pytest.mark.book
@pytest.mark.parametrize(("fluid", "boils"), [("toluene", 110.6), ("cyclopentane", 49.3), ("n-pentane", 36.1),
                                              ("isobutane", -11.7)])
def test_vapour_pressure_of_a_sketch_against_normal_boiling_points(fluid, boils):
    critical = organic_fluid(fluid).p_critical
    assert reduced(fluid, boils + 273.15) * critical == pytest.approx(101325.0, rel=0.06)


# computed with CoolProp, through the tables of the component: where each fluid boils at half its critical pressure
@pytest.mark.book
@pytest.mark.parametrize("fluid", FLUIDS)
def test_boiling_of_a_sketch_against_published_states(fluid):
    states = organic_fluid(fluid)
    boils = float(states.saturated("T_g", 0.5 * states.p_critical))
    assert reduced(fluid, boils) == pytest.approx(0.5, rel=0.05)


# the shipped plants, which follow common practice: 100 bar with steam of 540 degC, 60 bar at 371 degC with reheat
@pytest.mark.frozen
def test_usual_steam_is_that_of_shipped_plants():
    assert steam_pressure(813.15, False) == pytest.approx(100e5)
    assert steam_pressure(644.15, True) == pytest.approx(60e5)


# tubes that the sources of the catalogue name beside the concentration: 70 mm, 64 mm and 40 mm
@pytest.mark.parametrize(("collector", "tube"), [("trough", 0.070), ("film_trough", 0.064), ("sheet_trough", 0.040)])
def test_the_tube_is_as_wide_as_the_concentration_says(collector, tube):
    words = ("evacuated_tube", "diphenyl oil", "320 degC", "air", "rock_bed", "steam_1")
    field = GRAMMAR.draw(chosen(collector, *words)).components["field"]
    assert field.receiver.outer_diameter == pytest.approx(tube, rel=0.02)
    assert field.row.diameter == field.receiver.inner_diameter


def test_numbers_that_matter_follow_the_words():
    stored = chosen(*BY_HAND["oil_salt"])
    assert GRAMMAR.matters(stored) == {"power", "solar_multiple", "store_hours", "hotter", "closeness",
                                       "cycle_pressure", "unit_size"}
    assert "direct_multiple" in GRAMMAR.matters({**stored, "store": "none"})
    assert "season_hours" in GRAMMAR.matters({**stored, "store": "mine_waste"})
    assert "unit_size" not in GRAMMAR.matters(chosen(*BY_HAND["salt_tower"]))
    assert set(NUMBERS) >= GRAMMAR.matters(stored)
    assert STORES["silos"].phases == ("particles",)


@pytest.mark.parametrize(("name", "value"), [("closeness", 2.0), ("cycle_pressure", 0.7), ("hotter", -20.0),
                                             ("unit_size", 0.3), ("power", 5e6), ("solar_multiple", 2.0)])
def test_each_number_changes_what_is_drawn_and_it_still_sizes(name, value):
    choices = chosen(*BY_HAND["film_rock"])
    before, after = size(GRAMMAR.draw(choices)), size(GRAMMAR.draw({**choices, name: value}))
    assert abs(after.values["field.aperture"] / before.values["field.aperture"] - 1.0) > 1e-4


def test_fans_that_heat_in_place_of_mirrors_are_doubted():
    def sized(electricity, heat):
        view = SimpleNamespace(main=SimpleNamespace(heat=np.array([heat])))
        return SimpleNamespace(values={"fan.electricity": electricity}, view=lambda name: view,
                               plant=SimpleNamespace(of_family=lambda family: ["fan"]))

    assert GRAMMAR.doubt(sized(2e7, 1e4)).startswith("fans, pumps or lifts")
    assert GRAMMAR.doubt(sized(1e6, 5e7)) is None


def test_a_title_tells_the_circuit_from_sun_to_use():
    words = chosen(*BY_HAND["film_rock"])
    assert GRAMMAR.title(words) == "film trough, evacuated tube, oil 390 degC, air, rock bed, steam 1"
    plant = GRAMMAR.draw(words)
    assert plant.title == GRAMMAR.title(words)
    assert plant.name == f"circuit_{Candidate.of(words).circuit}"


def test_the_shipped_space_of_tamarisk_can_be_read():
    from importlib.resources import as_file, files

    with as_file(files("architectures.grammar") / "tamarisk.toml") as path:
        space = Space.read(path)
    assert 100 < len(space.feasible()) < 1500
    assert set(space.bounds()) == {"solar_multiple", "store_hours", "closeness"}
