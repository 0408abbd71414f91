"""Pages of docs/: made from the code and up to date, links that lead somewhere, one source for what a component is."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
sys.path.insert(0, str(DOCS))

import make  # noqa: E402
from making import checks, component_page, pages, source, words  # noqa: E402

from components.exchanger import Exchanger  # noqa: E402
from loopnet.plant import Component  # noqa: E402

PAGES = sorted(DOCS.rglob("*.md"))
"""What stands there now."""


@pytest.fixture(scope="module")
def made() -> dict[str, str]:
    return pages.made_pages()


def test_pages_are_up_to_date():
    assert [str(path.relative_to(ROOT)) for path in make.stale()] == [], "run: python docs/make.py"


def test_the_command_writes_what_is_stale_and_only_that(tmp_path, monkeypatch, capsys):
    right, wrong, gone = tmp_path / "right.md", tmp_path / "reference" / "wrong.md", tmp_path / "reference" / "gone.md"
    wrong.parent.mkdir()
    for path, text in ((right, "as it should be"), (wrong, "old"), (gone, "of a component that is no more")):
        path.write_text(text)
    monkeypatch.setattr(make, "DOCS", tmp_path)
    monkeypatch.setattr(make, "wanted", lambda: {right: "as it should be", wrong: "new"})
    assert make.main(["--check"]) == 1
    assert (wrong.read_text(), gone.exists()) == ("old", True)
    assert re.findall(r"out of date: .*/(\S+)", capsys.readouterr().out) == ["wrong.md", "gone.md"]
    assert make.main([]) == 0
    assert (wrong.read_text(), gone.exists()) == ("new", False)
    assert make.main(["--check"]) == 0


def test_the_same_code_gives_the_same_page(made):
    component_page.used_in.cache_clear()
    assert component_page.page(Exchanger, pages.maturities()["Exchanger"]) == made["reference/Exchanger.md"]


def test_every_component_of_the_readme_has_a_page(made):
    assert {f"reference/{name}.md" for name in pages.maturities()} <= set(made)
    assert len(pages.placed()) == len(pages.maturities()) > 25


def test_what_it_models_and_its_maturity_are_those_of_the_readme(made):
    for name, (what, how) in pages.maturities().items():
        page = made[f"reference/{name}.md"]
        assert f"**What it models:** {what}." in page, name
        assert f"**Maturity:** {how}." in page, name
        assert f"| {what} | {how} |" in made["reference/README.md"], name


def anchors(text: str) -> set[str]:
    return {re.sub(r"[^\w -]", "", head.lower()).strip().replace(" ", "-")
            for head in re.findall(r"^#+ (.*)$", text, re.MULTILINE)}


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(DOCS)))
def test_links_lead_somewhere(path):
    text = re.sub(r"```.*?```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        assert not target.startswith(("http:", "https:")), target
        file, _, anchor = target.partition("#")
        found = (path.parent / file).resolve() if file else path
        assert found.exists(), target
        if anchor:
            assert anchor in anchors(found.read_text(encoding="utf-8")), target


def test_every_page_is_linked_from_another():
    linked = {(path.parent / target.partition("#")[0]).resolve() for path in [*PAGES, ROOT / "README.md"]
              for target in re.findall(r"\]\(([^)\s]+)\)", path.read_text(encoding="utf-8"))}
    assert [path for path in PAGES if path.resolve() not in linked and path != DOCS / "README.md"] == []


def test_tables_are_whole(made):
    """Every row of a table has as many cells as its head."""
    for name, text in made.items():
        for block in re.findall(r"(?:^\|.*\|\n)+", text, re.MULTILINE):
            counts = {len(re.findall(r"(?<!\\)\|", line)) for line in block.splitlines()}
            assert len(counts) == 1, (name, block[:200])


def test_no_page_holds_raw_html(made):
    for name, text in made.items():
        prose = re.sub(r"```.*?```|`[^`]*`", "", text, flags=re.DOTALL)
        assert not re.search(r"<\w", prose), name


def test_names_of_equations_are_those_that_run():
    """What is read from the source is what the class says when it runs, with names in braces for what it fills in."""
    kinds = [kind for kind in pages.placed() if not _required(kind)]
    assert len(kinds) > 15
    for kind in kinds:
        for method, name in (("equations", "Equation"), ("unknowns", "Unknown")):
            told = [source.words(call.args[0], named=True) or source.plain(call.args[0])
                    for call in source.calls_in(kind, method, name)]
            patterns = [re.sub(r"\\\{.*?\\\}", ".+", re.escape(text)) for text in told]
            for found in getattr(kind(), method)():
                dynamic = any(not re.fullmatch(r"[\w.{}]+", text) for text in told)
                assert dynamic or any(re.fullmatch(p, found.name) for p in patterns), (kind.__name__, found.name, told)


def _required(kind: type[Component]) -> bool:
    try:
        kind()
    except TypeError:
        return True
    return False


def test_a_page_says_what_its_class_says(made):
    text = made["reference/Exchanger.md"]
    assert "| `approach` | hot outlet less cold inlet at the design point | 6 K | 0.5 K to 100 K |" in text
    assert "| `approach` | only when sizing | `hot.outlet.T - cold.inlet.T - approach = 0` |" in text
    assert "| `UA` | W/K | built: free when sizing, frozen when rated |" in text
    assert "exchanger.shell_tube" in text
    assert "Incropera et al., Fundamentals of Heat and Mass Transfer, example 11.1" in text
    field = made["reference/CollectorField.md"]
    assert "Concentrated sunlight blinds and burns" in field
    assert "[`sand_silo`](../../architectures/sand_silo.py)" in field


def test_every_component_is_checked_against_the_outside_or_says_not(made):
    without = [kind.__name__ for kind in pages.placed() if "## Checked against the outside" not in
               made[f"reference/{kind.__name__}.md"]]
    assert without == []


def test_checks_of_its_own_file_come_first():
    found = checks.checks_of(Exchanger)
    own = [check.file == "tests/components/test_exchanger.py" for check in found]
    assert own[0]
    assert not own[-1]
    assert own == sorted(own, reverse=True)
    assert all(check.source for check in found)


def test_every_medium_has_limits_price_and_cautions(made):
    text = made["media.md"]
    for name in ("diphenyl oil", "nitrate salt", "air", "water", "quartz sand", "crushed rock"):
        part = text[text.index(f"## {name}"):].split("\n## ")[0]
        assert f"Price `medium.{name.replace(' ', '_')}`" in part, name
        assert "\n* " in part, name


@pytest.mark.parametrize("module", [words, source], ids=lambda module: module.__name__)
def test_examples_of_the_maker_hold(module: ModuleType):
    import doctest

    failed, tried = doctest.testmod(module)
    assert tried
    assert not failed


def test_what_people_must_know_stands_there():
    told = (DOCS / "method" / "not.md").read_text(encoding="utf-8").lower()
    for word in ("no permit", "no safety case", "no bankable yield", "local codes and licensed practice decide"):
        assert word in told
