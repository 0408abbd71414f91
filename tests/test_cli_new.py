"""`loopnet new` writes a plant file that is the shipped plant, explained by the code itself, and destroys nothing."""

from __future__ import annotations

import re

import pytest

from loopnet.plantfile import first_sentence, known_ranges, plant_source, range_words
from loopnet.plants import find_plant, shipped

from .command import run


def drawn(plant):
    """All that sizing starts from."""
    return ({name: (type(part), part.to_dict()) for name, part in plant.components.items()}, plant.design,
            {name: (loop.medium.name, loop.pressure) for name, loop in plant.loops.items()}, plant.streams, plant.title)


@pytest.mark.parametrize("name", shipped())
def test_every_shipped_plant_is_written_as_it_is_drawn(name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "my_plant.py"
    said = run("new", "my_plant.py", "--like", name)
    assert said.status == 0, said.err
    mine, theirs = find_plant(str(path)), find_plant(name)
    assert repr(drawn(mine)) == repr(drawn(theirs))
    assert mine.name == "my_plant"
    text = path.read_text(encoding="utf-8")
    assert max(map(len, text.splitlines())) <= 120
    for part in theirs.components.values():  # whatever is in the plant is explained, each once
        words = first_sentence(type(part).__doc__).split()[:4]
        assert text.count(f"# {type(part).__name__}: {' '.join(words)}") == 1


def test_a_changed_number_changes_the_plant(tmp_path):
    path = tmp_path / "hotter.py"
    run("new", path, "--like", "sand_silo")
    path.write_text(path.read_text().replace('outlet="600 degC"', 'outlet="640 degC"'))
    assert find_plant(str(path)).components["field"].outlet == pytest.approx(913.15)
    said = run("check", path)
    assert said.status == 0, said.err
    assert "(hotter) is drawn soundly" in said.out


def test_ranges_are_those_of_the_code():
    text = plant_source("sand_silo", "mine.py", "mine")
    field = type(find_plant("sand_silo").components["field"])
    told = re.search(r"^ +#   outlet +(.*)$", text, re.MULTILINE)[1]
    meta = known_ranges(field)["outlet"].metadata
    assert told == f"{meta['doc']}; {range_words(meta)}"
    assert told.endswith("6.85 to 1327 degC")  # 280 to 1600 K, as the parameter says
    tail = text[text.index("# What may be set besides"):]
    assert all(f"#   {key} " in tail for key in known_ranges(field))
    assert re.search(r"^#   generator_efficiency +0.975; 0.5 to 1; ", tail, re.MULTILINE)


@pytest.mark.parametrize(("meta", "words"), [
    (("K", 280.0, 1600.0, False), "6.85 to 1327 degC"), (("K", 0.5, 150.0, True), "0.5 to 150 K, or None"),
    (("-", 0.0, 1.0, False), "0 to 1"), (("Pa", 0.0, 5e6, False), "0 to 50 bar"),
    (("m", 0.0, float("inf"), False), "0 m to any"), (("m^2", 0.01, 1e6, False), "0.01 to 1,000,000 m^2")])
def test_ranges_in_the_units_of_people(meta, words):
    assert range_words(dict(zip(("unit", "low", "high", "optional"), meta, strict=True))) == words


def test_a_file_that_is_there_is_kept(tmp_path):
    path = tmp_path / "mine.py"
    path.write_text("precious")
    said = run("new", path, "--like", "oil_salt")
    assert said.status == 2
    assert "there is such a file already" in said.err
    assert path.read_text() == "precious"
    assert run("new", path, "--like", "oil_salt", "--force").status == 0
    assert find_plant(str(path)).name == "mine"


@pytest.mark.parametrize(("arguments", "words"), [
    (("x.py", "--like", "sandsilo"), "--like sand_silo"), (("x.txt", "--like", "sand_silo"), "Try: x.py"),
    (("--like", "sand_silo"), "where to write is missing"), (("no/x.py", "--like", "sand_silo"), "no folder no")])
def test_bad_wishes_end_in_a_line(arguments, words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    said = run("new", *arguments)
    assert said.status == 2
    assert words in said.err
    assert len(said.err.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_without_like_the_plants_are_listed():
    said = run("new")
    assert said.status == 0
    rows = re.findall(r"^  (\w+) +\S.*\S", said.out, re.MULTILINE)
    assert rows == shipped()
