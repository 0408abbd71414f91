"""A space of circuits with a grammar of toys: counting, pruning, keys, reading, and what errors say."""

from __future__ import annotations

import pickle
from collections.abc import Mapping
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.errors import DataError, ParameterError
from loopnet.explore import Candidate, Number, Pruning, Range, Space
from loopnet.plant import Plant

FRUIT, KNIFE, PLATE = ("apple", "melon", "nut"), ("short", "long"), ("flat", "deep")


class Kitchen:
    """Fruit, knife, plate: a melon wants a long knife, a nut none, deep plates are for melons, and size counts."""

    def __init__(self) -> None:
        self.asked: list[dict[str, str | float]] = []

    def choices(self) -> Mapping[str, tuple[str, ...]]:
        return {"fruit": FRUIT, "knife": KNIFE, "plate": PLATE}

    def numbers(self) -> Mapping[str, Number]:
        return {"size": Number("m", 0.01, 1.0, 0.1, "of the fruit"), "count": Number("-", 1.0, 9.0, 3.0)}

    def refuse(self, choices: Mapping[str, str | float]) -> str | None:
        self.asked.append(dict(choices))
        fruit, knife = choices.get("fruit"), choices.get("knife")
        if fruit == "nut":
            return "a knife does not open a nut"
        if fruit == "melon" and knife == "short":
            return "too short for a melon"
        if choices.get("plate") == "deep" and fruit == "apple":
            return "an apple rolls"
        return "too large" if float(choices.get("size", 0.0)) > 0.5 else None

    def matters(self, choices: Mapping[str, str | float]) -> frozenset[str]:
        return frozenset({"size"} if choices["fruit"] == "apple" else {"size", "count"})

    def draw(self, choices: Mapping[str, str | float]) -> Plant:
        return Plant(f"{choices['fruit']}_{choices['knife']}")


@pytest.fixture
def space() -> Space:
    return Space(Kitchen())


def test_every_circuit_is_either_feasible_or_pruned_for_a_reason(space):
    told = space.pruning()
    by_hand = {}
    for fruit, knife, plate in product(FRUIT, KNIFE, PLATE):
        reason = space.grammar.refuse({"fruit": fruit, "knife": knife, "plate": plate, "size": 0.1, "count": 3.0})
        by_hand[reason] = by_hand.get(reason, 0) + 1
    assert told.examined == 12
    assert told.feasible == by_hand.pop(None) == 4
    assert dict(told.counts) == by_hand == {"a knife does not open a nut": 4, "too short for a melon": 2,
                                            "an apple rolls": 2}
    assert told.examples["a knife does not open a nut"] == ({"fruit": "nut"},)
    assert {tuple(c.to_dict()) for c in space.feasible()} == {("count", "fruit", "knife", "plate", "site", "size")}


def test_what_is_refused_early_is_not_asked_again(space):
    space.feasible()
    assert not [asked for asked in space.grammar.asked if asked["fruit"] == "nut" and "knife" in asked]


def test_the_report_tells_counts_reasons_and_examples(space):
    lines = space.pruning().report().splitlines()
    assert lines[0].strip() == "12  circuits that can be written with these words"
    assert lines[1:3] == [" 4  pruned: a knife does not open a nut", "            such as nut"]
    assert lines[-1].strip() == "4  are left to be solved"
    assert "4  pruned for 2 other reasons" in space.pruning().report(1)
    assert space.pruning().to_frame()["circuits"].tolist() == [4, 2, 2]
    assert sum(space.pruning().to_dict()["pruned"].values()) == space.pruning().pruned == 8


def test_words_and_numbers_narrow_a_space():
    space = Space(Kitchen(), {"fruit": ("melon", "apple", "melon")}, {"size": Range(0.2, 0.3), "count": (2.0, 4.0)})
    first = space.feasible()[0]
    assert space.words["fruit"] == ("melon", "apple")
    assert space.size == 8
    assert first.numbers == {"size": 0.25, "count": 2.0}  # the middle, where the default lies outside
    assert space.bounds() == {"size": (0.2, 0.3)}
    assert space.levels() == {"count": (2.0, 4.0)}
    assert space.matters(first) == {"size", "count"}
    assert Space(Kitchen(), {"fruit": ("apple",)}, {"count": Range(2.0, 4.0)}).bounds(first.with_values()) == {
        "count": (2.0, 4.0)}
    apple = next(c for c in space.feasible() if c["fruit"] == "apple")
    assert Space(Kitchen(), {}, {"count": Range(2.0, 4.0)}).bounds(apple) == {}


def test_a_grammar_that_does_not_tell_what_matters_lets_all_matter():
    class Plain(Kitchen):
        matters = None

    space = Space(Plain(), {}, {"count": Range(2.0, 4.0)})
    assert space.bounds(space.feasible()[0]) == {"count": (2.0, 4.0)}
    assert space.doubt(object()) is None


def test_sites_multiply_circuits_and_are_no_part_of_them(tmp_path):
    space = Space(Kitchen(), {}, {}, ("tamarisk", "elsewhere.csv"))
    found = space.feasible()
    assert len(found) == space.pruning().feasible == 8
    assert space.pruning().examined == 24
    assert sum(space.pruning().counts.values()) == 16
    assert len({c.key for c in found}) == 8
    assert len({c.circuit for c in found}) == 4
    assert {c["site"] for c in found} == {"tamarisk", "elsewhere.csv"}


def test_building_refuses_what_cannot_be_and_what_lacks_a_choice(space):
    first = space.feasible()[0]
    assert space.build(first).name == "apple_short"
    with pytest.raises(ParameterError, match="too large"):
        space.build(first.with_values(size=0.6))
    with pytest.raises(ParameterError, match=r"size: out of range; got 2 m; allowed: 0.01 m to 1 m"):
        space.build(first.with_values(size=2.0))
    with pytest.raises(ParameterError, match="no knife"):
        space.build(Candidate.of({"fruit": "apple", "plate": "flat", "size": 0.1, "count": 3.0}))


@pytest.mark.parametrize(("given", "said"), [
    ({"words": {"fruits": ("apple",)}}, "no such choice; got 'fruits'"),
    ({"words": {"fruit": ("aple",)}}, "Try: 'apple'"),
    ({"words": {"fruit": ()}}, "nothing to choose from"),
    ({"numbers": {"size": (5.0,)}}, "size: out of range; got 5 m"),
    ({"numbers": {"sizes": (0.1,)}}, "Try: 'size'"),
    ({"sites": ()}, "nothing to choose from"),
])
def test_a_space_refuses_what_its_grammar_does_not_say(given, said):
    with pytest.raises(ParameterError) as why:
        Space(Kitchen(), **given)
    assert said in str(why.value)


def test_an_empty_range_is_refused():
    with pytest.raises(ParameterError, match="the range is empty"):
        Range(2.0, 2.0)


# ---- candidates

CHOICES = st.dictionaries(st.text("abcdef_", min_size=1, max_size=6),
                          st.one_of(st.text(max_size=5), st.floats(-1e9, 1e9)), min_size=1, max_size=5)


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(CHOICES)
def test_a_key_does_not_depend_on_order_or_on_the_last_digits(choices):
    one, other = Candidate.of(choices), Candidate.of(dict(reversed(choices.items())))
    assert one == other
    assert one.key == other.key
    assert Candidate.of(one.to_dict()).key == one.key
    assert pickle.loads(pickle.dumps(one)).key == one.key
    near = {name: value if isinstance(value, str) else value * (1 + 1e-15) for name, value in choices.items()}
    rounded = {name: f"{float(v):.12g}" if not isinstance(v, str) else v for name, v in choices.items()}
    if {n: f"{float(v):.12g}" if not isinstance(v, str) else v for n, v in near.items()} == rounded:
        assert Candidate.of(near).key == one.key
    assert one.circuit == Candidate.of({**choices, **dict.fromkeys(one.numbers, 7.0)}).circuit


# computed with sha256sum of GNU coreutils on the choices as JSON, first 12 digits: a key is the same on every machine
# and in every version, or a store of results forgets what it knows
@pytest.mark.book
def test_the_key_of_a_known_candidate():
    known = Candidate.of({"b": 1.0, "a": "x", "site": "here"})
    assert known.key == "51ea0daad087"
    assert known.circuit == "bac82bcae3ff"


@pytest.mark.parametrize("value", [float("nan"), float("inf"), True, None, [1.0]])
def test_a_candidate_holds_words_and_finite_numbers_only(value):
    with pytest.raises(ParameterError, match="neither a word nor a number"):
        Candidate.of({"a": value})


def test_a_candidate_refuses_other_names():
    one = Candidate.of({"a": "x", "n": 1.0})
    with pytest.raises(ParameterError, match="no such number"):
        one.with_values(m=1.0)
    with pytest.raises(ParameterError, match="chosen twice"):
        Candidate((("a", "x"), ("a", "y")))
    assert one.with_values(n=2.0)["n"] == 2.0
    assert "x" in repr(one)


# ---- files

@pytest.fixture
def kitchen(monkeypatch):
    monkeypatch.setattr("loopnet.explore.space.grammar", Kitchen)


def written(tmp_path, text):
    path = tmp_path / "meal.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_space_is_read_from_a_file(tmp_path, kitchen):
    (tmp_path / "north.csv").write_text("x")
    space = Space.read(written(tmp_path, """
title = "A meal"
sites = ["tamarisk", "north.csv"]
[words]
fruit = ["apple", "melon"]
knife = "long"
[numbers]
size = { low = "10 cm", high = "0.3 m" }
count = [2, 4]
"""))
    assert space.title == "A meal"
    assert space.sites == ("tamarisk", str(tmp_path / "north.csv"))
    assert space.words == {"fruit": ("apple", "melon"), "knife": ("long",), "plate": PLATE}
    assert space.numbers == {"size": Range(0.1, 0.3), "count": (2.0, 4.0)}
    assert Space.read(written(tmp_path, "[numbers]\nsize = { low = 0.2 }\n")).bounds() == {"size": (0.2, 1.0)}


@pytest.mark.parametrize(("text", "said"), [
    ("[words]\nfruit = ['apple', 'melom']\n", ("line 2: words.fruit: no such word; got 'melom'", "Try: 'melon'")),
    ("[words]\n\nfruits = ['apple']\n", ("line 3: words: no such choice; got 'fruits'", "Try: 'fruit'")),
    ("[words]\nsize = ['1 m']\n", ("no such choice", "move size to [numbers]")),
    ("[numbers]\nfruit = 1\n", ("no such number", "move fruit to [words]")),
    ("[numbers]\ncount = 3\nsize = '3 kg'\n", ("line 3: numbers.size: wrong unit; got 3 kg",)),
    ("[numbers]\nsize = { low = '2 m' }\n", ("out of range; got 2 m; allowed: 0.01 m to 1 m",)),
    ("[numbers]\nsize = { low = '3 cm', hihg = '1 m' }\n", ("no such end of a range", "'high'")),
    ("[numbers]\nsize = { low = '5 cm', high = '4 cm' }\n", ("line 2: ", "the range is empty")),
    ("word = 3\n", ("line 1: SPACE: no such part of a space; got 'word'", "'words'")),
    ("words = 3\n", ("line 1: words: not a table",)),
    ("sites = ['nowhere.csv']\n", ("line 1: sites: no such weather file; got 'nowhere.csv'",)),
])
def test_errors_of_a_file_name_line_and_what_is_allowed(tmp_path, kitchen, text, said):
    with pytest.raises(ParameterError) as why:
        Space.read(written(tmp_path, text))
    for part in said:
        assert part in str(why.value)


def test_a_file_that_cannot_be_read(tmp_path, kitchen):
    with pytest.raises(DataError, match="cannot read the space"):
        Space.read(tmp_path / "none.toml")
    with pytest.raises(DataError, match="this is no TOML"):
        Space.read(written(tmp_path, "a = = 1"))


def test_an_empty_pruning_prints():
    assert "0 reasons" in repr(Pruning(1, 1, {}, {}))
    assert "1  are left" in Pruning(1, 1, {}, {}).report()
