"""What the command line prints about why a plant wins, what it would take, and how sure that is."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan
from typing import TYPE_CHECKING

from loopnet.report import _console, _grid, _heading, _share, _table

if TYPE_CHECKING:
    from loopnet.study import Assessment, BreakEven, Bridge, Reference, Tornado, Uncertainty
    from loopnet.study.hot_temperature import TemperatureCurve

__all__ = ["print_break_even", "print_bridge", "print_cost", "print_temperatures", "print_uncertainty"]

MOST = 12
"""Rows of a table of what moves a cost."""
BEYOND = ("What no range holds is not in it: whether a machine that nobody has built works at all, and what nobody "
          "thought of.")


def _plain(value: float) -> str:
    return f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def print_cost(a: Assessment, moved: Tornado, others: Sequence[Reference]) -> None:
    """What a plant's kWh costs, what it is made of, what moves it, and what others cost."""
    console = _console()
    console.print(f"{a.plant.title} ({a.name}) at {a.weather}", style="bold")
    frame = a.cost.to_frame()
    _table(console, f"What a kWh of {a.cost.product} costs, US cents", ("component", *map(str, frame.columns)),
           [(str(name), *(f"{value:.3f}" for value in row)) for name, row in zip(
               frame.index, frame.to_numpy(), strict=True)])
    console.print()
    console.print(a.cost.weakness())
    numbers, result = a.cost.formula().rsplit(" = ", 1)
    console.print()
    console.print(f"{numbers}\n     = {result}")
    _table(console, "What moves it most: each number alone, all others as likely",
           ("number", "low", "likely", "high", "unit", "ct/kWh\nat low", "ct/kWh\nat high", "known as"),
           [(s.what.name, *(_plain(x) for x in (s.what.low, s.what.likely, s.what.high)), s.what.unit,
             f"{100 * s.at_low:.2f}", f"{100 * s.at_high:.2f}", s.what.status) for s in moved.sways[:MOST]],
           wrap=("number",))
    if len(moved.sways) > MOST:
        console.print(f"{len(moved.sways) - MOST} more move it less", style="dim")
    console.print()
    console.print(moved.sentence())
    _table(console, "What others cost, for comparison; each in the money of its year",
           ("what", "ct/kWh", "year", "source"),
           [(r.name, r.span(), str(r.year), f"{r.status}: {r.source}") for r in others], wrap=("what", "source"))
    _grid(console, "Warnings", [("-", note) for note in (*moved.notes, *a.cost.warnings)])


def print_temperatures(curve: TemperatureCurve) -> None:
    """How hot a circuit should run: the curve, its optimum, how flat that is, and what followed."""
    console = _console()
    console.print(curve.sentence(), style="bold")
    names = [name for name, _ in curve.best.parts]
    energy, money = [], []
    for point in curve.standing:
        parts, mark = dict(point.parts), "*" if point is curve.best else ""
        shares = (None if isnan(x) else x for x in (point.field, point.receiver, point.cycle, point.whole))
        energy.append((f"{mark}{point.outlet - 273.15:.1f}", f"{point.hot - 273.15:.0f}", f"{100 * point.cost:.3f}",
                       *map(_share, shares)))
        money.append((f"{mark}{point.outlet - 273.15:.1f}", *(f"{100 * parts.get(name, 0.0):.3f}" for name in names)))
    _table(console, "Over the outlet temperature of the field (* cheapest); shares over the year",
           ("degC", "at the cycle, degC", "ct/kWh", "heat of sun", "receiver loss", "cycle", "product of sun"), energy,
           left=0)
    _table(console, "What that is made of, US cents per kWh", ("degC", *names), money, left=0)
    _grid(console, "What could not be built", [(f"{point.outlet - 273.15:.1f} degC", point.why)
                                               for point in curve.points if not point.stands])
    _grid(console, "What follows the field", [("-", curve.rule)])
    _grid(console, "Ends of the search", [(f"{T - 273.15:.1f} degC", why) for T, why in zip(
        curve.range, curve.bound, strict=True)])


def print_break_even(found: BreakEven) -> None:
    """What it would take, or that nothing would do, and why."""
    console, vary = _console(), found.vary
    console.print(found.sentence())
    _table(console, "Values that were tried with the full model", (vary.path, "cost less goal, ct/kWh"),
           [(vary.show(value), f"{100 * gap:+.4f}") for value, gap in found.tried])


def print_bridge(made: Bridge) -> None:
    """From one plant's cost to another's, term by term."""
    console = _console()
    _table(console, f"Bridge from {made.first} to {made.second}: what each difference does to the cost",
           ("term", made.first, made.second, "unit", "ct/kWh"),
           [(made.first, "", "", "", f"{100 * made.start:.3f}"),
            *((t.name, f"{t.first:.4g}", f"{t.second:.4g}", "" if t.unit == "-" else t.unit,
               f"{100 * t.usd_per_kwh:+.3f}") for t in made.terms),
            (made.second, "", "", "", f"{100 * made.end:.3f}")])
    console.print("an energy step is charged with all that must be larger before it; the terms are shares by the log "
                  "mean and add up exactly, in whichever order they are taken", style="dim")
    console.print()
    console.print(made.sentence())


def print_uncertainty(result: Uncertainty) -> None:
    """How often each plant is first, what its cost may be, and what decides."""
    console, table = _console(), result.to_frame()
    _table(console, f"How sure that is: {result.samples:,} draws, the same for all plants; US cents per kWh of "
           f"{result.product}", ("plant", "first", "standard\nerror", "all as\nlikely", "mean", "10 %", "50 %", "90 %"),
           [(str(name), _share(row["first"]), _share(row["standard error"], 2),
             *(f"{row[key]:.2f}" for key in ("likely", "mean", "10 %", "50 %", "90 %")))
            for name, row in table.iterrows()])
    if len(result.plants) > 1:
        one, two = result.contenders
        _table(console, f"What decides between {one} and {two}",
               ("number", "share of\nvariance", f"{one} cheaper\nif it is low", f"{one} cheaper\nif it is high"),
               [(str(name), _share(row["share"]), _share(row["first if low"]), _share(row["first if high"]))
                for name, row in result.deciders().head(6).iterrows()])
    for sentence in (*result.sentences(), BEYOND):
        console.print()
        console.print(sentence)
    _heading(console, "How far to trust these numbers")
    console.print(f"{result.checks()}. Between low and high, draws follow a "
                  f"{'PERT (beta)' if result.shape == 'pert' else result.shape} distribution.")
    physics = {u.name: u for surface in result.surfaces for u in surface.inputs}
    _grid(console, "Uncertain beside the prices (their ranges are in the price book)",
          [(name, f"{u.status}: {u.source}") for name, u in physics.items()])
    _grid(console, "Warnings", [("-", note) for note in dict.fromkeys(
        note for surface in result.surfaces for note in surface.notes)])
