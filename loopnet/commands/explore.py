"""`loopnet explore`: every circuit that could be, and which is best."""

from __future__ import annotations

import shlex
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from loopnet.commands.options import (
    Debug,
    DispatchRule,
    FinanceTerms,
    JsonFile,
    OperationTerms,
    OutageDays,
    PlotFolder,
    PriceFile,
    ReadyShare,
    WeatherFile,
)
from loopnet.errors import DataError, ParameterError
from loopnet.output import picture, reach, save_all, stem, write_json

if TYPE_CHECKING:
    from loopnet.explore import Exploration, Space

__all__ = ["explore"]

SPACE = "SPACE.toml"

SpaceFile = Annotated[str | None, typer.Argument(metavar=SPACE, help=(
    "A file of what may vary; --example writes one. All that the catalogue can make if left out."))]
Search = Annotated[str, typer.Option("--search", metavar="WAY", help=(
    "factorial: all combinations; hypercube: few points spread over all; optimise: every circuit once, then the best "
    "numbers of the best."))]
Points = Annotated[int | None, typer.Option("--points", help=(
    "Of factorial, values taken from each range (3); of hypercube, plants in all (200); of optimise, plants tried for "
    "each circuit (30)."))]


def explore(space: SpaceFile = None,
            results: Annotated[str | None, typer.Option("--results", metavar="FILE", help=(
                "SQLite file that keeps every result; beside the space, with its name, if left out."))] = None,
            search: Search = "factorial", points: Points = None,
            goal: Annotated[str, typer.Option("--goal", help=(
                "What is to be best: cost, output, firmness, months, land or capital."))] = "cost",
            best: Annotated[int, typer.Option("--best", help="Circuits whose numbers optimise searches.")] = 20,
            refine: Annotated[int, typer.Option("--refine", help=(
                "How many of the best, and of the front, are run hour by hour at the end; 0 for none."))] = 5,
            exact: Annotated[bool, typer.Option("--exact", help="Run every year hour by hour; slow.")] = False,
            jobs: Annotated[int | None, typer.Option("--jobs", help=(
                "Processes; as many as there are processors if left out."))] = None,
            retry: Annotated[bool, typer.Option("--retry", help="Try anew what failed before.")] = False,
            weather: WeatherFile = None, prices: PriceFile = None, dispatch: DispatchRule = None,
            outage: OutageDays = None, ready: ReadyShare = None, operation: OperationTerms = None,
            finance: FinanceTerms = None, write: Annotated[str | None, typer.Option("--write", metavar="FILE", help=(
                "Write the winner as a plant file, to show, edit and rank."))] = None,
            example: Annotated[bool, typer.Option("--example", help=(
                "Write a space to start from into SPACE.toml, and stop."))] = False,
            json_file: JsonFile = None, plots: PlotFolder = None, debug: Debug = False) -> None:
    """Try all circuits of a space, keep every result, and tell the best, the front that none beats, and what failed.

    A run that is stopped, or killed, goes on where it was when the same command is given again.
    """
    if example:
        _write_example(Path(space or SPACE))
        return
    from loopnet.commands.work import manner_of, options_of, weather_of
    from loopnet.explore import Space, grammar
    from loopnet.explore import explore as run
    from loopnet.explore.tell import progress_bar

    reach(json_file, plots)
    for option, path in (("--write", write), ("--results", results)):
        _reachable(option, path)
    may_vary = Space(grammar(), title="the whole catalogue") if space is None else Space.read(space)
    file = Path(results or (Path(space).with_suffix(".sqlite") if space else "explore.sqlite"))
    quiet = json_file == "-"
    if not quiet:
        from loopnet.report_explore import print_space

        print_space(may_vary, may_vary.pruning())
    sky = None if weather is None else weather_of(weather)
    options = options_of(prices, dispatch, **manner_of(operation, outage, ready, finance))
    command = _typed(space, exact, {
        "--results": results, "--search": None if search == "factorial" else search, "--points": points,
        "--goal": None if goal == "cost" else goal, "--best": None if best == 20 else best,
        "--refine": None if refine == 5 else refine, "--weather": weather, "--prices": prices, "--dispatch": dispatch,
        "--outage": outage, "--ready": ready, "--operation": operation, "--finance": finance})
    try:
        with progress_bar(goal) as tell:
            found = run(may_vary, search=search, points=points, goal=goal, best=best, refine=refine, results=file,
                        weather=sky, exact=exact, jobs=jobs, retry=retry, progress=tell, **options)
    except KeyboardInterrupt:
        typer.echo(f"what was finished is in {file}; to go on: {command}", err=True)
        raise
    if not quiet:
        from loopnet.report_explore import print_exploration

        print_exploration(found, command)
    write_json(json_file, found.to_dict())
    if write:
        _write_winner(Path(write), found, may_vary, quiet)
    if plots:
        save_all(_pictures(found), plots, json_file)


def _pictures(found: Exploration) -> list[tuple[str, Any]]:
    from loopnet.draw import cloud

    return [(f"{stem('front', product, len(found.products))}.png",
             partial(picture, "draw_pareto", cloud(found, product=product))) for product in found.products]


def _reachable(option: str, path: str | None) -> None:
    """Refuse a path that cannot be written before the work, not after it."""
    folder = Path(path or ".").parent
    if path is not None and (not folder.is_dir() or Path(path).is_dir()):
        raise DataError("cannot write there", where=f"{option} {path}", allowed="a file in a folder that exists",
                        got="a folder" if Path(path).is_dir() else f"no folder {folder}", hint="another path")


def _typed(space: str | None, exact: bool, given: Mapping[str, Any]) -> str:
    """The command that goes on."""
    words = ["loopnet", "explore", *([space] if space else [])]
    for option, value in given.items():
        for one in value if isinstance(value, list) else [] if value is None else [value]:
            words += [option, str(one)]
    return shlex.join([*words, *(["--exact"] if exact else [])])


def _new_file(path: Path, text: str, option: str) -> None:
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        raise ParameterError("there is such a file already", where=f"{option} {path}", got="a file",
                             allowed="a name that is free", hint="another name, or remove it") from None
    except OSError as why:
        raise DataError("cannot write there", where=f"{option} {path}", got=why.strerror or str(why),
                        allowed="a place where you may write", hint="another path") from why
    typer.echo(f"wrote {path}")


def _write_example(path: Path) -> None:
    from loopnet.explore.example import example_space

    _new_file(path, example_space(), "--example")
    typer.echo(f"now: loopnet explore {shlex.quote(str(path))}")


def _write_winner(path: Path, found: Exploration, space: Space, quiet: bool) -> None:
    from loopnet.explore.example import plant_file

    lead = found.best(1)
    if not lead:
        raise ParameterError("there is no winner to write", where=f"--write {path}", got="no plant that could be "
                             "solved", hint="look at why they failed")
    path.write_text(plant_file(lead[0], found.title), encoding="utf-8")
    if not quiet:
        typer.echo(f"wrote {path}; now: loopnet show {shlex.quote(str(path))}")
