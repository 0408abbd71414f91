"""Matching, blocks and diagnosis on textbook systems, and the circuits of the shipped plants."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components, structural_rank

from loopnet.errors import SpecificationError
from loopnet.solve import rate
from loopnet.solve.paths import branches, spoken
from loopnet.solve.structure import blocks, circuits


def ordered(reads, unknowns=None):
    return blocks(reads, unknowns if unknowns is not None else sorted({u for r in reads.values() for u in r}))


# Block triangular form as in Duff, Erisman & Reid, Direct Methods for Sparse Matrices, ch. 6 (idea, from memory): a
# permuted lower triangle falls apart into single unknowns, a ring does not.
@pytest.mark.book
def test_triangular_system_is_solved_one_by_one():
    reads = {"c": ["x", "y", "z"], "a": ["x"], "b": ["x", "y"]}
    found = ordered(reads)
    assert [b.equations for b in found] == [("a",), ("b",), ("c",)]
    assert [b.unknowns for b in found] == [("x",), ("y",), ("z",)]


@pytest.mark.book
def test_ring_stays_together_and_comes_after_what_it_needs():
    reads = {"r1": ["x", "y"], "r2": ["y", "z"], "r3": ["z", "x", "w"], "first": ["w"], "last": ["x", "v"]}
    found = ordered(reads)
    assert [set(b.equations) for b in found] == [{"first"}, {"r1", "r2", "r3"}, {"last"}]
    assert set(found[1].unknowns) == {"x", "y", "z"}


def test_conditions_are_no_unknowns():
    assert ordered({"a": ["x", "?sun"]}, ["x"])[0].unknowns == ("x",)


def test_empty_system():
    assert blocks({}, []) == []
    assert circuits({}, []) == []


@st.composite
def square(draw):
    """A random square system with a full diagonal, so that it can be solved."""
    n = draw(st.integers(1, 9))
    extra = draw(st.lists(st.tuples(st.integers(0, n - 1), st.integers(0, n - 1)), max_size=2 * n))
    names = draw(st.permutations(range(n)))
    reads = {f"e{i}": {f"u{names[i]}"} for i in range(n)}
    for i, j in extra:
        reads[f"e{i}"].add(f"u{j}")
    return reads, names


@pytest.mark.law
@given(square())
@settings(max_examples=80, deadline=None)
def test_blocks_are_a_triangle_of_irreducible_squares(case):
    reads, names = case
    n = len(names)
    found = blocks(reads, [f"u{i}" for i in range(n)])
    assert sorted(e for b in found for e in b.equations) == sorted(reads)
    assert sorted(u for b in found for u in b.unknowns) == sorted(f"u{i}" for i in range(n))
    known: set[str] = set()
    for block in found:
        assert all(u in reads[e] for e, u in zip(block.equations, block.unknowns, strict=True))
        known |= set(block.unknowns)
        assert all(reads[e] <= known for e in block.equations)
    # the same number of blocks as the strong components of the matched matrix, by scipy (computed)
    matrix = np.array([[f"u{names[j]}" in reads[f"e{i}"] for j in range(n)] for i in range(n)], dtype=int)
    assert len(found) == connected_components(csr_matrix(matrix), connection="strong")[0]


@pytest.mark.law
@given(st.lists(st.sets(st.integers(0, 5), min_size=1), min_size=1, max_size=6))
@settings(max_examples=80, deadline=None)
def test_what_is_left_over_is_counted_like_the_rank(rows):
    """Unknowns and equations too many are what the structural rank (scipy, computed) leaves over."""
    reads = {f"e{i}": {f"u{j}" for j in row} for i, row in enumerate(rows)}
    matrix = np.array([[int(j in row) for j in range(6)] for row in rows])
    rank = structural_rank(csr_matrix(matrix))
    if rank == len(rows) == 6:
        assert len(blocks(reads, [f"u{j}" for j in range(6)])) >= 1
        return
    with pytest.raises(SpecificationError) as caught:
        blocks(reads, [f"u{j}" for j in range(6)])
    many = [int(part.split()[0]) for part in caught.value.got.split(", ")]
    assert many == [6 - rank, len(rows) - rank]


# Dulmage & Mendelsohn, Can. J. Math. 10 (1958) 517: coarse parts do not depend on the matching found; here two
# equations fight over x, y and z hang on one equation, and w is well posed and must not be blamed.
@pytest.mark.book
def test_diagnosis_blames_only_the_ill_posed_parts():
    reads = {"one": ["x"], "two": ["x"], "hanging": ["y", "z", "x"], "fine": ["w", "x"]}
    with pytest.raises(SpecificationError) as caught:
        blocks(reads, ["x", "y", "z", "w"])
    assert caught.value.what == "nothing sets y, z; these specifications fight: one, two"
    assert caught.value.got == "1 unknown too many, 1 equation too many"
    assert caught.value.hint == "give one specification more; drop one of them, or free what it fixes"


def test_diagnosis_speaks_of_flows_first_and_of_specifications_before_balances():
    with pytest.raises(SpecificationError, match=r"nothing sets the flow of loop 'oil' from tanks\.charge") as caught:
        blocks({"a.energy": ["m[oil, tanks.charge]", "a.UA"]}, ["m[oil, tanks.charge]", "a.UA"], where="plant 'x'")
    assert caught.value.where == "plant 'x'"
    with pytest.raises(SpecificationError, match="nothing sets p\\[a -> b\\]") as caught:
        blocks({}, ["p[a -> b]"])
    assert "pump" in caught.value.hint
    tight = {"a.energy": ["x"], "a.spec": ["x"], "x": ["x"], "m[oil].pressure level": ["x"]}
    with pytest.raises(SpecificationError, match=r"fight: a\.spec; got"):
        blocks(tight, ["x"])
    with pytest.raises(SpecificationError, match=r"fight: a\.energy, b\.energy; got"):
        blocks({"a.energy": ["x"], "b.energy": ["x"]}, ["x"])
    with pytest.raises(SpecificationError, match=r"e19 and 5 more; got"):
        blocks({f"e{i:02}": ["x"] for i in range(25)}, ["x"])


def test_a_known_reason_takes_the_place_of_the_guess():
    def explain(loose, tight):
        assert (list(loose), list(tight)) == (["y"], ["a", "b"])
        return [("the pump is missing", "put one in")]

    with pytest.raises(SpecificationError) as caught:
        blocks({"a": ["x"], "b": ["x"]}, ["x", "y"], explain=explain)
    assert caught.value.what.startswith("the pump is missing")
    assert caught.value.hint.startswith("put one in")


def test_spoken_paths():
    assert spoken("m[hot salt]") == "loop 'hot salt'"


# -- circuits ----------------------------------------------------------------------------------------------------------


def test_circuits_share_nothing_and_leave_nothing_out():
    reads = {"a.e": ["x"], "b.e": ["x", "y"], "c.e": ["z", "?sun"]}
    assert circuits(reads, ["x", "y", "z"]) == [(["a.e", "b.e"], ["x", "y"]), (["c.e"], ["z"])]
    # two unknowns of one component stay together, unless the plant may be cut there
    reads = {"s.one": ["s.a", "h[1]"], "s.two": ["s.b", "h[2]"]}
    names = ["s.a", "h[1]", "s.b", "h[2]"]
    assert len(circuits(reads, names)) == 1
    assert len(circuits(reads, names, cut=["s"])) == 2


def test_plants_fall_apart_at_their_stores(all_sized):
    expected = {
        "oil_salt": [{"field", "hot_header", "cold_header", "oil_pump", "charger", "salt_pump", "tanks"},
                     {"tanks", "hot_pump", "boiler", "turbine"}],
        "air_rock": [{"field", "hot_duct", "cold_duct", "fan", "bed"}, {"bed", "boiler", "boiler_fan", "turbine"}],
        "sand_silo": [{"field", "lift", "silos"}, {"silos", "boiler", "return_lift", "turbine"}]}
    for name, sized in all_sized.items():
        found = rate(sized)
        assert sorted(map(sorted, (c.components for c in found))) == sorted(map(sorted, expected[name]))
        assert [len(c.unknowns) for c in found] == sorted((len(c.unknowns) for c in found), reverse=True)
        assert not set(found[0].unknowns) & set(found[1].unknowns)
        for circuit in found:
            assert sorted(u for b in circuit.order for u in b.unknowns) == sorted(circuit.unknowns)
            store = next(n for n in circuit.components if sized.plant.components[n].family == "store")
            assert not circuit.whole(store)
            assert all(circuit.whole(n) for n in circuit.components if n != store)


def test_sun_and_load_meet_only_through_the_store(all_sized):
    for sized in all_sized.values():
        sunny, loaded = sorted(rate(sized), key=lambda c: "turbine.load" in c.needs)
        assert "field.absorbed" in sunny.needs
        assert "turbine.load" not in sunny.needs
        assert "turbine.load" in loaded.needs
        assert not any(n.startswith("field.") for n in loaded.needs)


def test_one_flow_for_streams_that_follow_one_another(sized_oil):
    flows = branches(sized_oil.plant)
    assert len(flows) == len(sized_oil.plant.streams)
    assert sorted(set(flows.values())) == ["m[oil]", "m[salt, tanks.charge]", "m[salt, tanks.discharge]",
                                           "m[steam, boiler.reheat]", "m[steam, boiler.water]"]
    assert list(flows.values()).count("m[oil]") == 5
