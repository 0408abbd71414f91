"""Every number with its source: from the parameter, or from the catalogue where it is one of it."""

from __future__ import annotations

from dataclasses import fields, is_dataclass

import pytest

from components.catalogue import collector, entry
from components.mover import Mover
from loopnet.page.assumptions import SET, amount, assumptions, of_parameters
from loopnet.page.sentences import percent
from loopnet.plants import find_plant, shipped


def one(plant, where, name):
    (found,) = [a for a in assumptions(find_plant(plant)) if (a.where, a.name) == (where, name)]
    return found


def test_a_figure_of_the_catalogue_brings_its_source():
    figure = next(f for f in entry("collector", "light_heliostat").figures if f.name == "reflectance")
    told = one("sand_silo", "field.collector", "reflectance")
    assert told.status == figure.status
    assert told.source == f"{figure.source} (catalogue: light_heliostat)"


def test_a_figure_that_was_changed_is_not_the_catalogues():
    told = {a.name: a for a in of_parameters(collector("light_heliostat", reflectance=0.8), "c")}
    assert told["reflectance"].status == SET
    assert "light_heliostat" not in told["reflectance"].source
    assert "light_heliostat" in told["intercept"].source


def test_a_default_has_the_source_of_its_parameter_and_a_choice_tells_the_default():
    told = {a.name: a for a in of_parameters(Mover(height="140 m"), "lift")}
    assert (told["efficiency"].value, told["efficiency"].status) == ("0.75", "common practice")
    assert (told["height"].value, told["height"].status, told["height"].allowed) == ("140 m", SET, "0 to 400 m")
    pinch = one("sand_silo", "boiler", "pinch")
    assert pinch.value == "20 K"
    assert pinch.source.startswith(f"{SET}; if left out 8 K")


def test_a_part_is_told_once():
    found = assumptions(find_plant("oil_salt"))
    assert ("salt_pump", "all", "as oil_pump") in [(a.where, a.name, a.value) for a in found]
    assert not [a for a in found if a.where == "salt_pump" and a.name == "efficiency"]


@pytest.mark.parametrize("name", shipped())
def test_no_number_is_left_out(name):
    """Every parameter of every component stands there, but those of a part that is told elsewhere."""
    plant = find_plant(name)
    found = assumptions(plant)
    pointed = {a.where for a in found if a.name == "all"}
    told = {(a.where, a.name) for a in found}

    def missing(part, where):
        if where in pointed:
            return []
        wrong = [(where, f.name) for f in fields(part) if f.metadata and (where, f.name) not in told]
        return wrong + [x for f in fields(part) if is_dataclass(getattr(part, f.name))
                        for x in missing(getattr(part, f.name), f"{where}.{f.name}")]

    assert [x for n, c in plant.components.items() for x in missing(c, n)] == []
    assert all(a.source for a in found if a.status)


def test_amounts_are_in_the_units_people_use():
    assert amount(1.013e5, "Pa", 0.0) == "1.013 bar"
    assert amount(0.15, "rad") == "8.594°"
    assert amount((0.2, 0.8), "-") == "0.2, 0.8"


def test_a_share_that_rounds_away_is_a_bound():
    assert (percent(0.00004), percent(0.9995001), percent(0.5)) == ("less than 0.1 %", "more than 99.9 %", "50.0 %")
    assert (percent(0.0), percent(1.0), percent(0.0005001)) == ("0 %", "100 %", "0.1 %")
