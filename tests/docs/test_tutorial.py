"""The tutorial: its notebook is its page, it runs from the first cell to the last, and prints what the page says."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import pytest

DOCS = Path(__file__).parents[2] / "docs"
sys.path.insert(0, str(DOCS))

from making.tutorial import SOURCE, Block, agrees, blocks, notebook, printed, run, with_outputs  # noqa: E402

PAGE = SOURCE.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def done():
    """The notebook, run."""
    return run((DOCS / "tutorial.ipynb").read_text(encoding="utf-8"), DOCS)


def code(book):
    return [cell for cell in book["cells"] if cell["cell_type"] == "code"]


def test_the_notebook_is_the_page_without_outputs():
    text = (DOCS / "tutorial.ipynb").read_text(encoding="utf-8")
    assert text == notebook(PAGE)
    assert all(cell["outputs"] == [] for cell in code(json.loads(text)))


def test_it_prints_what_the_page_says(done):
    said = [block.said for block in blocks(PAGE) if block.kind == "code"]
    assert len(said) == len(code(done)) > 10
    for number, (want, cell) in enumerate(zip(said, code(done), strict=True)):
        got = printed(cell)
        assert bool(want) == bool(got), f"cell {number} prints {got!r}: run python docs/make.py --run"
        assert agrees(want or "", got), f"cell {number} prints {got!r}, the page says {want!r}: run docs/make.py --run"


def test_it_shows_results(done):
    html = [out["data"]["text/html"] for cell in code(done) for out in cell["outputs"]
            if out["output_type"] == "execute_result" and "text/html" in out["data"]]
    assert sum("<svg" in text for text in html) >= 3
    assert any("Ranked by what a kWh costs" in text for text in html)
    assert sum(map(len, html)) < 500_000


def test_the_words_follow_from_the_numbers(done):
    """The decision of the page: the order of the plants, and that the bench does not change it."""
    said = "\n".join(map(printed, code(done)))
    assert "sand_silo < oil_salt < wide < narrow" in said
    cost = {name: float(x) for name, x in re.findall(r"^(narrow|wide): .*?, ([\d.]+) US cents", said, re.MULTILINE)}
    assert cost["narrow"] > cost["wide"] + 2.0, "wide saves more than any cheaper mirror would"
    ends = [float(x) for x in re.findall(r"eta0 [\d.]+: ([\d.]+) US cents", said)]
    rival = float(re.search(r"tie with oil_salt \(now ([\d.]+)", said)[1])
    assert min(ends) > rival, "a better sun meter would not change the order"
    assert (max(ends) - min(ends)) / cost["wide"] < 0.06, "a few per cent"
    assert "does not tie with sand_silo" in said, "do not reach the falling sand"


def test_it_says_what_hurts_and_what_is_invented():
    for word in ("blinds and burns", "water thrown into it explodes", "**invented**", "Local codes", "no permit",
                 "no yield that a bank would lend on"):
        assert word in " ".join(PAGE.split()), word


def test_lines_of_code_fit():
    assert max(len(line) for block in blocks(PAGE) if block.kind == "code" for line in block.text.splitlines()) <= 120


# -- the tool ----------------------------------------------------------------------------------------------------------

SMALL = "# Title\n\n```python\nprint(1.0)\n```\n```text\n2.0\n```\n\nbetween\n\n```python\nx = 1\n```\nend\n"


def test_a_page_becomes_cells():
    assert blocks(SMALL) == [Block("markdown", "# Title"), Block("code", "print(1.0)", "2.0\n"),
                             Block("markdown", "between"), Block("code", "x = 1"), Block("markdown", "end")]


def test_outputs_are_renewed():
    said = [{"cell_type": "code", "outputs": [{"output_type": "stream", "name": "stdout", "text": text}]}
            for text in ("1.0\n", "")]
    renewed = with_outputs(SMALL, {"cells": said})
    assert renewed == SMALL.replace("2.0", "1.0")
    assert with_outputs(renewed, {"cells": said}) == renewed


@pytest.mark.parametrize(("said", "got", "same"), [
    ("12,345 GWh", "12,400 GWh", True), ("12,345 GWh", "13,345 GWh", False), ("10.4 cents", "10.5 cents", True),
    ("a b", "a  b", True), ("cheapest", "dearest", False), ("1.72", "-1.72", False), ("100%", "99%", True)])
def test_outputs_agree_within_rounding(said, got, same):
    assert agrees(said, got) is same
