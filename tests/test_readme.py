"""README keeps its word: its two commands, its links, its excerpt, its plant, its tables."""

from __future__ import annotations

import pkgutil
import re
import shlex
import subprocess
from importlib import import_module
from pathlib import Path

import pytest

import components
from loopnet.plant import Component
from loopnet.plants import shipped

from .command import run

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
SEE = "python3 -m venv .venv && .venv/bin/pip install -q -e . && .venv/bin/loopnet rank --plots plots"
TEST = "python3 -m venv .venv && .venv/bin/pip install -q -e '.[test]' && .venv/bin/python -m pytest -q -n 2"


def blocks(kind: str) -> list[str]:
    return re.findall(rf"^```{kind}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def test_two_commands_and_no_more_set_up():
    assert [block.strip() for block in blocks("sh")] == [SEE, TEST]
    assert README.count("pip install") == 2


def test_the_job_stands_above_the_commands():
    head = README[:README.index("```")]
    paragraphs = [p for p in head.split("\n\n") if p.strip() and not p.startswith("#")]
    assert paragraphs[0].startswith("loopnet is for people who")
    assert len(paragraphs) <= 2


def test_ci_finds_the_test_command():
    script = (ROOT / ".ci" / "run").read_text()
    line = next(line for line in script.splitlines() if "grep" in line)
    found = re.search(r"grep -m1 -o '([^']*)' README.md", line)
    assert found, "the way in which .ci/run reads README.md changed: look at this test too"
    done = subprocess.run(["grep", "-m1", "-o", found.group(1), "README.md"], cwd=ROOT, capture_output=True, text=True,
                          check=True)
    assert done.stdout == TEST + "\n"
    assert "[test]" in " ".join(shlex.split(done.stdout))


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md", "CHANGELOG.md"])
def test_links_lead_somewhere(page):
    for target in re.findall(r"\]\(([^)#]+)\)", (ROOT / page).read_text(encoding="utf-8")):
        assert (ROOT / target).exists(), target


def test_pictures_are_small_pictures():
    found = re.findall(r"!\[[^]]+\]\((docs/\S+\.png)\)", README)
    assert found
    for name in found:
        data = (ROOT / name).read_bytes()
        assert data.startswith(b"\x89PNG")
        assert len(data) < 200_000, name


def test_excerpt_ranks_the_shipped_plants():
    (excerpt,) = blocks("text")
    rows = re.findall(r"^(\w+) +([\d.]+) +[\d.,]+ +[\d.]+ %", excerpt, re.MULTILINE)
    assert sorted(name for name, _ in rows) == shipped()
    for table in excerpt.split("Ranked by")[1:]:  # one for each good
        costs = [float(cost) for cost in re.findall(r"^\w+ +([\d.]+) +[\d.,]+ +[\d.]+ %", table, re.MULTILINE)]
        assert costs == sorted(costs)
    assert max(map(len, excerpt.splitlines())) <= 110
    assert "invented" in excerpt


def test_the_example_is_short():
    example = blocks("python")[0]
    assert ">>>" in example
    assert len(example.strip().splitlines()) <= 15


def test_the_plant_of_your_own_is_sound(tmp_path):
    (text,) = (block for block in blocks("python") if "def build" in block)
    (tmp_path / "tile_dryers.py").write_text(text)
    said = run("check", tmp_path / "tile_dryers.py")
    assert said.status == 0, said.err
    assert "(tile_dryers) is drawn soundly" in said.out


def concrete() -> set[str]:
    for module in pkgutil.iter_modules(components.__path__):
        import_module(f"components.{module.name}")

    def below(kind: type) -> set[type]:
        return {kind}.union(*(below(child) for child in kind.__subclasses__()))

    return {kind.__name__ for kind in below(Component) if kind.__module__.startswith("components.")}


BASES = {"Store", "Inventory", "GroundStore", "HeatEngine", "AirCooled", "_Exchanging"}
"""What others are derived from, and nobody draws."""


def test_every_component_has_its_row():
    table = README[README.index("| component |"):]
    rows = {name for cells in re.findall(r"^\| (`\w+`(?:, `\w+`)*) \|", table, re.MULTILINE)
            for name in re.findall(r"\w+", cells)}
    assert concrete() - BASES == rows


@pytest.mark.parametrize("command", ["rank", "show", "cost", "breakeven", "diff", "check", "supply", "new"])
def test_options_in_the_reference_are_those_of_the_command(command):
    said = set(re.findall(r"^  (--\w+)", run(command, "--help").out, re.MULTILINE)) - {"--help"}
    rows = re.findall(r"^\| `(--\w+)(?: \w+)?` \| ([\w, ]+) \|", README, re.MULTILINE)
    assert {option for option, where in rows if where == "all" or command in where.split(", ")} == said
    assert f"`loopnet {command} " in README


def test_changed_results_have_their_heading():
    assert "### Changed results" in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
