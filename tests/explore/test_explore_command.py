"""`loopnet explore` as a user types it: one circuit of the shipped catalogue, a whole year on the operating map."""

import json
from pathlib import Path

import pytest

import loopnet.explore
from loopnet.explore import Progress, Space, grammar
from loopnet.explore.tell import news, progress_bar

from ..command import Terminal, run
from .fake_judge import FakeJudge, candidates

ONE = """
title = "one circuit"
[words]
collector = "light_heliostat"
receiver = "particle_curtain"
field_loop = "quartz sand"
heat = ["565 degC", "980 degC"]
store_loop = "as field"
store = "silos"
cycle_loop = "as store"
cycle = "steam_3"
[numbers]
solar_multiple = [2.5, 3.0]
"""


@pytest.fixture(scope="module")
def typed(tmp_path_factory):
    """A folder with a space, and what was said when it was explored with figures as JSON."""
    folder = tmp_path_factory.mktemp("typed")
    (folder / "one.toml").write_text(ONE, encoding="utf-8")
    said = run("explore", folder / "one.toml", "--refine", 0, "--jobs", 1, "--json", "-", "--write", folder / "best.py")
    return folder, said


def test_figures_go_to_standard_output_and_nothing_else(typed):
    folder, said = typed
    assert (said.status, said.err) == (0, "")
    told = json.loads(said.out)
    assert told["candidates"] == told["done"] + told["failed"] == told["computed"]
    assert told["results"] == str(folder / "one.sqlite")
    lead = told["best"]["electricity"][0]
    assert lead["usd_per_kwh"] == min(row["usd_per_kwh"] for row in told["best"]["electricity"])
    assert lead["solar_multiple"] in (2.5, 3.0)
    assert 0.0 < lead["map_error"] < 0.01
    assert lead["mode"] == "map"


def test_the_same_command_again_computes_nothing_and_tells_all(typed):
    folder, said = typed
    told = json.loads(said.out)
    again = run("explore", folder / "one.toml", "--refine", 0, "--jobs", 1, "--plots", folder / "pictures")
    assert again.status == 0
    for words in ("0 computed in this run", "Best circuits that deliver electricity", "The front: no plant is better",
                  "Pruned before any solving", "solar_multiple", "(invented data)", "one.sqlite",
                  f"{100 * told['best']['electricity'][0]['usd_per_kwh']:.2f}"):
        assert words in again.out
    assert (folder / "pictures" / "front.png").stat().st_size > 10_000


def test_the_winner_is_a_plant_file(typed):
    folder, said = typed
    checked = run("check", folder / "best.py")
    assert checked.status == 0
    lead = json.loads(said.out)["best"]["electricity"][0]
    text = (folder / "best.py").read_text(encoding="utf-8")
    assert f"'solar_multiple': {lead['solar_multiple']}" in text
    assert f"{100 * lead['usd_per_kwh']:.2f} US ct/kWh of electricity" in text


def test_the_example_is_a_space_and_is_not_overwritten(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    said = run("explore", "--example")
    assert said.status == 0
    assert "loopnet explore SPACE.toml" in said.out
    space = Space.read(tmp_path / "SPACE.toml")
    assert 5 <= len(space.feasible()) <= 60
    assert set(space.levels()) == {"solar_multiple", "store_hours"}
    text = Path("SPACE.toml").read_text(encoding="utf-8")
    assert all(word in text for words in grammar().choices().values() for word in words)
    assert all(number.doc in text for number in grammar().numbers().values())
    again = run("explore", "--example")
    assert (again.status, "there is such a file already" in again.err) == (2, True)


def test_every_line_of_the_example_may_be_used(tmp_path):
    run("explore", tmp_path / "s.toml", "--example")
    lines = (tmp_path / "s.toml").read_text(encoding="utf-8").splitlines()
    used = [line.removeprefix("# ") if line.startswith("# ") and " = " in line else line for line in lines]
    (tmp_path / "used.toml").write_text("\n".join(used), encoding="utf-8")
    assert Space.read(tmp_path / "used.toml").size > 0


def test_an_interrupt_says_how_to_go_on(tmp_path, monkeypatch):
    (tmp_path / "one.toml").write_text(ONE, encoding="utf-8")

    def stopped(*args, **options):
        raise KeyboardInterrupt

    monkeypatch.setattr(loopnet.explore, "explore", stopped)
    said = run("explore", tmp_path / "one.toml", "--points", 4, "--search", "hypercube", "--outage", "12-25",
               "--outage", "03-01 to 03-14", "--finance", "rate=5 %")
    assert said.status == 130
    typed = (f"loopnet explore {tmp_path / 'one.toml'} --search hypercube --points 4 --outage 12-25 "
             "--outage '03-01 to 03-14' --finance 'rate=5 %'")
    assert f"to go on: {typed}\n" in said.err
    assert "one.sqlite" in said.err
    assert "loopnet: stopped" in said.err


@pytest.mark.parametrize(("options", "words"), [
    (["--search", "guess"], "no such search"), (["--goal", "beauty"], "no such criterion"),
    (["--results", "none/r.sqlite"], "no folder none"), (["--write", "."], "a folder"), (["--jobs", 0], "no workers")])
def test_bad_options_are_refused_in_a_line(tmp_path, monkeypatch, options, words):
    monkeypatch.chdir(tmp_path)
    Path("one.toml").write_text(ONE, encoding="utf-8")
    said = run("explore", "one.toml", *options)
    assert said.status == 2
    assert words in said.err
    assert said.err.startswith("loopnet: ")
    assert len(said.err.splitlines()) == 1


def test_news_tell_rate_time_left_failures_and_the_best():
    said = news(Progress("factorial", 3000, 1500, 500, 3, 50.0), 9.87, "ct/kWh")
    assert said == "1,500 of 3,000, 500 known before, 20.0 plants/s, 1 min 15 s left, 3 failed, best 9.87 ct/kWh"
    assert news(Progress("factorial", 10, 0, 0, 0, 0.0)) == "0 of 10, 0 plants/s"


def test_progress_is_for_people_who_look(monkeypatch):
    from loopnet.explore import Row

    judge = FakeJudge()
    made = judge(candidates(3)[2])
    row = Row(made.key, made.candidate, "s", made.figures, made.money)
    with progress_bar() as tell:
        assert tell is None
    screen = Terminal()
    monkeypatch.setattr("sys.stderr", screen)
    with progress_bar() as tell:
        tell(Progress("factorial", 4, 1, 0, 0, 0.5, row))
    assert "1 of 4" in screen.getvalue()
    assert "best 400.00 ct/kWh" in screen.getvalue()
