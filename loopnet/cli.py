"""The command line: rank plants, show one, set two side by side, check a drawing. Errors end in one or two lines."""

from __future__ import annotations

import json
import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from loopnet.errors import ConvergenceError, LoopnetError

if TYPE_CHECKING:
    from loopnet.plant import Plant
    from loopnet.site import Weather
    from loopnet.study import Assessment

__all__ = ["app", "main"]

app = typer.Typer(add_completion=False, no_args_is_help=True, rich_markup_mode=None, pretty_exceptions_enable=False,
                  help="Compose, size, balance, run and cost circuits that turn concentrated sunlight into power and heat.")

PlantName = Annotated[str, typer.Argument(metavar="PLANT", help="A shipped plant by name, or the path of a Python file.")]
PlantNames = Annotated[list[str] | None, typer.Argument(metavar="[PLANT ...]",
                                                        help="Shipped plants by name, or paths of Python files.")]
WeatherFile = Annotated[str | None, typer.Option("--weather", metavar="FILE",
                                                 help="EPW, TMY3 or NSRDB-style weather; the invented year of Tamarisk "
                                                      "Basin if left out.")]
JsonFile = Annotated[str | None, typer.Option("--json", metavar="FILE", help="Write the figures as JSON; - for standard "
                                                                             "output, with nothing else there.")]
PlotFolder = Annotated[str | None, typer.Option("--plots", metavar="FOLDER", help="Write pictures into this folder.")]


@app.command()
def rank(plants: PlantNames = None, weather: WeatherFile = None, json_file: JsonFile = None,
         plots: PlotFolder = None) -> None:
    """Size plants for the same target, run them through a year, and rank them by cost per kWh."""
    from loopnet.plants import find_plant, shipped
    from loopnet.study import rank as rank_plants

    drawn = [find_plant(name) for name in plants or shipped()]
    sky = _weather(weather)
    with _progress(json_file) as tell:
        ranking = rank_plants(drawn, sky, progress=tell)
    if json_file != "-":
        from loopnet.report import print_ranking

        print_ranking(ranking, sky)
    _write_json(json_file, ranking.to_dict())
    if plots:
        _draw(plots, list(ranking), json_file)


@app.command()
def show(plant: PlantName, weather: WeatherFile = None, json_file: JsonFile = None, plots: PlotFolder = None) -> None:
    """Show one plant: its streams at the design point, its year, its bill, and the cost formula with its numbers."""
    assessment = _assess(plant, weather, json_file)
    if json_file != "-":
        from loopnet.report import print_plant

        print_plant(assessment)
    _write_json(json_file, assessment.to_dict())
    if plots:
        _draw(plots, [assessment], json_file)


@app.command()
def diff(first: PlantName, second: PlantName, weather: WeatherFile = None, json_file: JsonFile = None) -> None:
    """Set two plants side by side: where their sun goes and what makes one dearer, adding up exactly."""
    from loopnet.plants import find_plant
    from loopnet.study import assess
    from loopnet.study import diff as difference

    drawn = [find_plant(name) for name in (first, second)]
    sky = _weather(weather)
    with _progress(json_file) as tell:
        one, two = (assess(p, sky, progress=lambda what, share, n=p.name: tell(n, what, share)) for p in drawn)
    result = difference(one, two)
    if json_file != "-":
        from loopnet.report import print_difference

        print_difference(result)
    _write_json(json_file, result.to_dict())


@app.command()
def check(plant: PlantName) -> None:
    """Check a drawing: ports, media, specifications, temperatures; solve the design point and print its certificate."""
    from loopnet.plants import find_plant
    from loopnet.report import print_check
    from loopnet.solve import size

    print_check(size(find_plant(plant)))


def _assess(name: str, weather: str | None, json_file: str | None) -> Assessment:
    from loopnet.plants import find_plant
    from loopnet.study import assess

    drawn: Plant = find_plant(name)
    sky = _weather(weather)
    with _progress(json_file) as tell:
        return assess(drawn, sky, progress=lambda what, share: tell(drawn.name, what, share))


def _weather(path: str | None) -> Weather:
    from loopnet.site import read_weather, tamarisk_basin

    return read_weather(path) if path else tamarisk_basin()


@contextmanager
def _progress(json_file: str | None) -> Iterator[Callable[[str, str, float], None]]:
    """A progress bar on standard error, if a person looks at it."""
    if not sys.stderr.isatty():
        yield lambda plant, what, share: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bars:
        tasks: dict[str, Any] = {}

        def tell(plant: str, what: str, share: float) -> None:
            for other, task in tasks.items():
                if other != plant:
                    bars.update(task, completed=1.0)
            if plant not in tasks:
                tasks[plant] = bars.add_task(plant, total=1.0)
            bars.update(tasks[plant], completed=share, description=f"{plant}: {what}")

        yield tell


def _write_json(target: str | None, data: Any) -> None:
    if target is None:
        return
    text = json.dumps(data, indent=2, allow_nan=False)
    if target == "-":
        typer.echo(text)
    else:
        _into(Path(target), lambda path: path.write_text(text + "\n", encoding="utf-8"))


def _into(path: Path, write: Callable[[Path], Any]) -> None:
    from loopnet.errors import DataError

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write(path)
    except OSError as why:
        raise DataError(f"cannot write: {why.strerror or why}", where=str(path), hint="another path") from None


def _draw(folder: str, assessments: list[Assessment], json_file: str | None) -> None:
    from loopnet.draw import draw_circuit, draw_cost_bars, draw_flow, save
    from loopnet.draw.plant_flow import circuit_graph, year_flow

    target = Path(folder)
    made = []
    for a in assessments:
        made += [(f"{a.name}_energy.png", draw_flow(year_flow(a.year))),
                 (f"{a.name}_circuit.png", draw_circuit(circuit_graph(a.sized), title=a.plant.title))]
    if len(assessments) > 1:
        bars = {a.name: dict(a.cost.by_component) for a in assessments}
        made.append(("costs.png", draw_cost_bars(bars, title="What a kilowatt-hour costs, by component")))
    for name, axes in made:
        _into(target / name, lambda path, axes=axes: save(axes, path))
        if json_file != "-":
            typer.echo(f"wrote {target / name}")


def main() -> None:
    """Entry point: run a command; exit 0 when done, 1 if it could not be solved, 2 on bad input."""
    arguments = sys.argv[1:]
    debug = "--debug" in arguments
    sys.argv[1:] = [a for a in arguments if a != "--debug"]
    warnings.formatwarning = lambda message, *_: f"warning: {message}\n"  # type: ignore[assignment]
    try:
        app()
    except LoopnetError as why:
        if debug:
            raise
        print(f"loopnet: {why}", file=sys.stderr)
        sys.exit(1 if isinstance(why, ConvergenceError) else 2)
