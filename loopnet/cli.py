"""The command line: rank plants, show one, explain its cost, set two side by side, find what it would take, check a
drawing. Errors end in one or two lines."""

from __future__ import annotations

import os
import re
import sys
import traceback
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from loopnet.errors import ConvergenceError, LoopnetError, ParameterError
from loopnet.output import beside_others, draw_plants, picture, progress, reach, save_all, stem, write_json

if TYPE_CHECKING:
    from loopnet.site import Weather
    from loopnet.study import Assessment, Case, Ranking, Uncertainty

__all__ = ["app", "main"]

DONE, UNSOLVED, BAD_INPUT, STOPPED = 0, 1, 2, 130
MOST_NOTES = 5
"""Notes on a weather file that are printed; all are in `Weather.notes`."""

app = typer.Typer(
    add_completion=False, no_args_is_help=True, rich_markup_mode=None, pretty_exceptions_enable=False,
    help="Compose, size, balance, run and cost circuits that turn concentrated sunlight into power and heat.",
    epilog="Exit status: 0 done, 1 could not be solved, 2 bad input.")

PlantName = Annotated[str, typer.Argument(
    metavar="PLANT", help="A shipped plant by name, or the path of a Python file.")]
PlantNames = Annotated[list[str] | None, typer.Argument(
    metavar="PLANT", help="Shipped plants by name, or paths of Python files; all shipped plants if left out.")]
WeatherFile = Annotated[str | None, typer.Option("--weather", metavar="FILE", help=(
    "A year of weather: EPW, TMY3 or NSRDB-style CSV; the invented year of Tamarisk Basin if left out."))]
JsonFile = Annotated[str | None, typer.Option("--json", metavar="FILE", help=(
    "Write the figures as JSON; - writes them to standard output, and nothing else there."))]
PriceFile = Annotated[str | None, typer.Option("--prices", metavar="FILE", help=(
    "Your own prices as TOML, laid over the price book; it holds only what differs."))]
DispatchRule = Annotated[str | None, typer.Option("--dispatch", metavar="RULE", help=(
    "When the turbine runs: round-the-clock (if left out), sun, evening=17-23, demand=FILE, prices=FILE, plan=FILE or "
    "plan-perfect=FILE; FILE is CSV with 24 or 8760 lines under 'hour, demand [%]' or 'hour, price [USD/MWh]'."))]
PlotFolder = Annotated[str | None, typer.Option("--plots", metavar="FOLDER", help="Write pictures into this folder.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show where in the code an error arose; may stand anywhere.")]


def _version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        typer.echo(f"loopnet {version('loopnet')}")
        raise typer.Exit


@app.callback()
def _options(version: Annotated[bool, typer.Option("--version", callback=_version, is_eager=True,
                                                   help="Show the version and exit.")] = False,
             debug: Debug = False) -> None:
    """Options that stand before a command; `main` looks for --debug itself."""


@app.command(short_help="Rank plants by what a kilowatt-hour costs.")
def rank(plants: PlantNames = None, weather: WeatherFile = None, prices: PriceFile = None,
         dispatch: DispatchRule = None, uncertain: Annotated[int | None, typer.Option(
             "--uncertain", metavar="SAMPLES", help="Draw prices, physics and finance so many times, and say how often "
             "each plant is the cheapest; takes some 13 full-model runs a plant.")] = None,
         prices_only: Annotated[bool, typer.Option("--prices-only", help=(
             "With --uncertain: draw prices alone, which takes no further run."))] = False,
         json_file: JsonFile = None, plots: PlotFolder = None, debug: Debug = False) -> None:
    """Size plants for the same target, run them through a year, and rank them by what a kilowatt-hour costs."""
    from loopnet.plants import shipped

    reach(json_file, plots)
    _enough(uncertain)
    sky, ranking, _ = _assess(plants or shipped(), weather, prices, dispatch)
    if json_file != "-":
        from loopnet.report import print_ranking

        print_ranking(ranking, sky)
    sure = _draws(list(ranking), sky, prices, dispatch, uncertain, prices_only) if uncertain is not None else []
    if json_file != "-":
        from loopnet.report_why import print_uncertainty

        for result in sure:
            print_uncertainty(result)
    chances = {name: p for result in sure for name, p in result.probability_first.items()}
    errors = {name: p for result in sure for name, p in result.standard_error.items()}
    write_json(json_file, [{**plant, "probability_first": chances[plant["name"]],
                             "probability_first_standard_error": errors[plant["name"]]} if sure else plant
                            for plant in ranking.to_dict()])
    if plots:
        draw_plants(plots, list(ranking), json_file)
        save_all(beside_others(list(ranking), sky), plots, json_file)
        save_all([(f"{stem('chances', result.product, len(sure))}.png", partial(picture, "draw_chances", result))
               for result in sure], plots, json_file)


@app.command(short_help="Show one plant: streams, year, bill, cost, cautions.")
def show(plant: PlantName, weather: WeatherFile = None, prices: PriceFile = None, dispatch: DispatchRule = None,
         json_file: JsonFile = None, plots: PlotFolder = None, debug: Debug = False) -> None:
    """Show one plant: its streams at the design point, its year, its bill, what a kilowatt-hour costs, its cautions."""
    reach(json_file, plots)
    _, _, (assessment,) = _assess([plant], weather, prices, dispatch)
    if json_file != "-":
        from loopnet.report import print_plant

        print_plant(assessment)
    write_json(json_file, assessment.to_dict())
    if plots:
        draw_plants(plots, [assessment], json_file, years=True)


@app.command(short_help="Why a plant's kWh costs what it does, and what moves that.")
def cost(plant: PlantName, weather: WeatherFile = None, prices: PriceFile = None, dispatch: DispatchRule = None,
         physics: Annotated[bool, typer.Option("--physics", help=(
             "Move sun, optics, dust, receiver and cycle as well: some ten full-model runs."))] = False,
         json_file: JsonFile = None, plots: PlotFolder = None, debug: Debug = False) -> None:
    """Explain what a kilowatt-hour of a plant costs: its formula, its weak point, what moves it, what others cost."""
    from loopnet.study import after_dark, references, tornado

    reach(json_file, plots)
    sky, _, (a,) = _assess([plant], weather, prices, dispatch)
    case, = _cases([a], sky, prices, dispatch)
    with progress() as tell:
        moved = tornado(case, physics=physics, progress=partial(tell, a.name))
    others = references(a.cost.product, share=after_dark(a, sky.columns["ghi"]))
    if json_file != "-":
        from loopnet.report_why import print_cost

        print_cost(a, moved, others)
    write_json(json_file, {"name": a.name, **a.cost.to_dict(), "tornado": moved.to_dict(),
                            "references": [other.to_dict() for other in others]})
    if plots:
        bars = {a.name: dict(a.cost.by_component)}
        save_all([("cost.png", partial(picture, "draw_cost_bars", bars)),
                  ("tornado.png", partial(picture, "draw_tornado", moved)),
                  ("references.png", partial(picture, "draw_beside", {a.name: a.cost.usd_per_kwh}, others,
                                             a.cost.product))], plots, json_file)


@app.command(short_help="What one number would have to be to meet a cost, or to tie.")
def breakeven(plant: PlantName, vary: Annotated[str, typer.Option(metavar="NUMBER", help=(
            "A price key, finance.rate, finance.life, store_hours, mirrors, weather.sun, or COMPONENT.PARAMETER such "
            "as field.outlet or field.collector.intercept."))],
        target: Annotated[str | None, typer.Option(metavar="USD_PER_KWH", help=(
            "Cost to be met; 0.05 for electricity and 0.005 for heat if left out."))] = None,
        tie: Annotated[str | None, typer.Option(metavar="PLANT", help=(
            "A plant to tie with, in place of a target."))] = None,
        low: Annotated[str | None, typer.Option(help="Lower end of what to search, such as '500 degC'.")] = None,
        high: Annotated[str | None, typer.Option(help="Upper end.")] = None,
        weather: WeatherFile = None, prices: PriceFile = None, dispatch: DispatchRule = None,
        json_file: JsonFile = None, debug: Debug = False) -> None:
    """Find the value of one number at which a plant meets a target cost, or ties with another plant, by the full model.

    Says so, with the range searched and the costs at its ends, when there is no such value.
    """
    from loopnet.study import break_even

    if (low is None) != (high is None):
        raise ParameterError("a range has two ends", where="--low and --high", got="one of them",
                             allowed="both or none", hint="--low '500 degC' --high '700 degC'")
    reach(json_file, None)
    sky, _, found = _assess([plant] if tie is None else [plant, tie], weather, prices, dispatch)
    cases = _cases(found, sky, prices, dispatch)
    with progress() as tell:
        result = break_even(cases[0], vary, target=_number(target), tie=cases[1] if tie is not None else None,
                            within=None if low is None or high is None else (_number(low), _number(high)),
                            progress=partial(tell, found[0].name))
    if json_file != "-":
        from loopnet.report_why import print_break_even

        print_break_even(result)
    write_json(json_file, result.to_dict())


@app.command(short_help="Set two plants side by side, term by term.")
def diff(first: PlantName, second: PlantName, weather: WeatherFile = None, prices: PriceFile = None,
         json_file: JsonFile = None, plots: PlotFolder = None, debug: Debug = False) -> None:
    """Set two plants side by side: where their sun goes and what makes one dearer; the terms add up exactly."""
    from loopnet.study import bridge
    from loopnet.study import diff as difference

    reach(json_file, plots)
    _, _, (one, two) = _assess([first, second], weather, prices)
    result = difference(one, two)
    if json_file != "-":
        from loopnet.report import print_difference

        print_difference(result)
    # plants of different goods have no common cost to go from one to the other
    made = bridge(one, two) if one.cost.product == two.cost.product else None
    if made is not None and json_file != "-":
        from loopnet.report_why import print_bridge

        print_bridge(made)
    terms = made.to_dict() if made is not None else {"terms_usd_per_kwh": result.money["difference"].to_dict()}
    write_json(json_file, {**result.to_dict(), **terms})
    if plots and made is not None:
        save_all([("bridge.png", partial(picture, "draw_waterfall", made))], plots, json_file)


@app.command(short_help="Check a drawing and solve its design point.")
def check(plant: PlantName, debug: Debug = False) -> None:
    """Check a drawing: ports, media, specifications, temperatures; solve the design point and print its balance."""
    from loopnet.plants import find_plant
    from loopnet.report import print_check
    from loopnet.solve import size

    print_check(size(find_plant(plant)))


@app.command(short_help="Fit a collector to measurements of your own.")
def fit(measurements: Annotated[str, typer.Argument(metavar="FILE.csv", help=(
            "Your measurements: a line of headings with units, such as 'time [min], dni [W/m2], ambient [degC], "
            "inlet [degC], outlet [degC], flow [L/min]' or '..., boiled [kg/h]', then one line a reading."))],
        aperture: Annotated[str | None, typer.Option(help="Opening of the mirrors, such as '12 m2'.")] = None,
        medium: Annotated[str | None, typer.Option(help="What flows; water if left out.")] = None,
        heat_capacity: Annotated[str | None, typer.Option(help=(
            "Of an oil: '2.1 kJ/kg/K', or '1.9 kJ/kg/K at 20 degC, 2.6 kJ/kg/K at 250 degC'."))] = None,
        density: Annotated[str | None, typer.Option(help="Of an oil: '860 kg/m3', or as above.")] = None,
        altitude: Annotated[str | None, typer.Option(help="Height above the sea, such as '1200 m'.")] = None,
        terms: Annotated[str | None, typer.Option(help="Terms to fit, none of which is dropped: eta0,a1,a2.")] = None,
        dynamic: Annotated[bool, typer.Option("--dynamic", help="Keep readings that are not steady.")] = False,
        json_file: JsonFile = None, plots: PlotFolder = None, debug: Debug = False) -> None:
    """Find optical efficiency and heat losses of a collector from its builder's own measurements, with their certainty.

    What the options give may also stand above the headings, in lines such as '# aperture: 12 m2'.
    """
    from importlib import import_module

    reach(json_file, plots)
    found = import_module("components.bench_fit").fit_collector(
        measurements, aperture=aperture, medium=medium, heat_capacity=heat_capacity, density=density, dynamic=dynamic,
        altitude=altitude, terms=terms and [term.strip() for term in terms.split(",")])
    if json_file != "-":
        typer.echo(found.report())
    write_json(json_file, found.to_dict())
    if plots:
        start = re.sub(r"[^\w.-]+", "_", Path(measurements).stem)
        save_all([(f"{start}_fit.png", found.picture)], plots, json_file)


def _assess(names: Sequence[str], weather: str | None, prices: str | None,
            dispatch: str | None = None) -> tuple[Weather, Ranking, list[Assessment]]:
    """The weather, the plants ranked, and the same in the order in which they were named."""
    from loopnet.plants import find_plant, named_apart
    from loopnet.study import rank as rank_plants

    drawn = named_apart(find_plant(name) for name in names)
    options = _options_of(prices, dispatch)
    sky = _weather(weather)
    with progress() as tell:
        ranking = rank_plants(drawn, sky, progress=tell, **options)
    return sky, ranking, [ranking[plant.name] for plant in drawn]


def _options_of(prices: str | None, dispatch: str | None) -> dict[str, Any]:
    """Price book and rule for the load, where they are given."""
    from loopnet.money import price_book

    options: dict[str, Any] = {} if prices is None else {"book": price_book(prices)}
    if dispatch is not None:
        from loopnet.year.choice import rule_of

        options["dispatch"] = rule_of(dispatch)
    return options


def _cases(assessments: Sequence[Assessment], sky: Weather, prices: str | None, dispatch: str | None) -> list[Case]:
    """Assessments with what they were made with, so that one thing can be changed."""
    from loopnet.study import Case

    options = _options_of(prices, dispatch)
    return [Case.of(a, sky, **options) for a in assessments]


def _enough(samples: int | None) -> None:
    """Too few draws are refused before the work, not after it."""
    from loopnet.study.uncertainty import LEAST

    if samples is not None and samples < LEAST:
        raise ParameterError("too few draws", where="--uncertain", got=str(samples), allowed=f"{LEAST} or more",
                             hint="--uncertain 10000")


def _draws(found: Sequence[Assessment], sky: Weather, prices: str | None, dispatch: str | None, samples: int,
           prices_only: bool) -> list[Uncertainty]:
    """How sure the order is, for each product on its own."""
    from loopnet.study import fit_surfaces, uncertainty

    results = []
    for product in dict.fromkeys(a.cost.product for a in found):
        cases = _cases([a for a in found if a.cost.product == product], sky, prices, dispatch)
        with progress() as tell:
            surfaces = fit_surfaces(cases, only=() if prices_only else None, progress=tell)
            results.append(uncertainty(cases, surfaces, samples=samples))
    return results


def _number(text: str | None) -> Any:
    """What was typed, as a number where it is one; with a unit it stays text."""
    try:
        return None if text is None else float(text)
    except ValueError:
        return text


def _weather(path: str | None) -> Weather:
    """The year, with what was repaired in it said on standard error."""
    from loopnet.site import read_weather, tamarisk_basin

    if path is None:
        return tamarisk_basin()
    weather = read_weather(path)
    for note in weather.notes[:MOST_NOTES]:
        print(f"note on {path}: {note}", file=sys.stderr)
    if len(weather.notes) > MOST_NOTES:
        print(f"{len(weather.notes) - MOST_NOTES} more notes: loopnet.site.read_weather({path!r}).notes lists all",
              file=sys.stderr)
    return weather


# -- entry point -------------------------------------------------------------------------------------------------------


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit status.

    Parameters
    ----------
    arguments : sequence of str, optional
        What stands behind ``loopnet`` on the command line; that of this process if left out.

    Returns
    -------
    int
        0 done, 1 could not be solved, 2 bad input, 130 stopped from the keyboard.

    Examples
    --------
    >>> main(["--version"])  # doctest: +ELLIPSIS
    loopnet ...
    0
    """
    # Plants run side by side in processes; threads of small matrices inside each would only stand in each other's way.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    given = list(sys.argv[1:] if arguments is None else arguments)
    try:
        app(given, prog_name="loopnet")
    except SystemExit as done:
        if done.code == STOPPED:
            print("loopnet: stopped", file=sys.stderr)
        return done.code if isinstance(done.code, int) else DONE if done.code is None else BAD_INPUT
    except KeyboardInterrupt:
        print("loopnet: stopped", file=sys.stderr)
        return STOPPED
    except Exception as why:
        if "--debug" in given:
            traceback.print_exc()
        expected = isinstance(why, LoopnetError)
        print(f"loopnet: {why}" if expected else f"loopnet: not foreseen: {type(why).__name__}: {why}. Try: the same "
              "command with --debug, and report what it shows.", file=sys.stderr)
        return BAD_INPUT if expected and not isinstance(why, ConvergenceError) else UNSOLVED
    return DONE


if __name__ == "__main__":
    sys.exit(main())
