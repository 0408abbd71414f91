"""What the command line prints about supply through dark days, and how a year was run."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from loopnet.report import _console, _grid, _share, _table

if TYPE_CHECKING:
    from loopnet.study import Assessment, SupplyCurve

__all__ = ["print_manner", "print_supply", "supply_sentences"]

ROUND = (0.99, 0.98, 0.95, 0.9, 0.85, 0.8, 0.75, 0.7, 0.6, 0.5, 0.4, 0.3)
"""Shares of full load that people ask for [-]."""
LITTLE = 0.01
"""A larger store that turns less than this share of the hours into full load hardly helps [-]."""


def print_manner(weather: str, found: Sequence[Assessment], notes: Sequence[str]) -> None:
    """Under which sky, by which rule and in which manner plants were run."""
    console = _console()
    console.print(f"weather: {weather}", style="dim")
    rules = {a.name: a.year.dispatch for a in found}
    for rule in dict.fromkeys(rules.values()):
        names = [name for name, each in rules.items() if each == rule]
        console.print(f"load: {rule}" + (f" ({', '.join(names)})" if len(names) < len(found) else ""), style="dim")
    for note in notes:
        console.print(note, style="dim")


def _hours(seconds: float) -> str:
    return f"{seconds / 3600.0:.3g}"


def supply_sentences(curve: SupplyCurve) -> list[str]:
    """What the curve says, in plain words.

    Parameters
    ----------
    curve : SupplyCurve

    Returns
    -------
    list of str
    """
    said = []
    points, per = curve.points, curve.hours
    drawn = next((p for p in points if curve.own is not None and abs(p.store - curve.own) < 1.0), None)
    if drawn is not None:
        said.append(f"As it is drawn, with a store of {_hours(drawn.store)} h, the plant runs at full load in "
                    f"{_share(drawn.full, 0)} of the hours, misses it in {(1 - drawn.full) * per:,.0f} hours, and "
                    f"stands still in {drawn.stopped * per:,.0f} of these.")
    full = np.maximum.accumulate(curve.series("full"))
    goal = next((share for share in ROUND if full[0] < share <= full[-1]), None)
    if goal is not None:
        said.append(f"Full load in {_share(goal, 0)} of the hours takes a store of about "
                    f"{_hours(curve.store_for(goal))} h.")
    best = points[int(np.argmax(full >= full[-1] - LITTLE))]
    missed = (1 - full[-1]) * per
    if len(points) > 1 and best is not points[-1]:
        said.append(f"Beyond {_hours(best.store)} h a larger store hardly helps: what is then missing in "
                    f"{missed:,.0f} hours is sun, not room for its heat. More mirrors may help (solar_multiple in the "
                    "plant's file).")
    elif len(points) > 1 and missed >= 1.0:
        said.append(f"The largest store that was tried still helps: from {_hours(points[-2].store)} to "
                    f"{_hours(points[-1].store)} h it saves {(full[-1] - full[-2]) * per:,.0f} hours, and "
                    f"{missed:,.0f} hours are missed with it. Larger ones can be tried with --hours.")
    dark = max(p.darkest for p in points)
    kept = next((p for p in points if p.bridged_full >= dark - 1.0), None)
    most = max(points, key=lambda p: p.bridged_full)
    if dark > 0:
        said.append(f"The longest dark spell lasts {_hours(dark)} h: " + (
            f"a store of {_hours(kept.store)} h carries full load through it." if kept else
            f"no store that was tried carries full load through it; the longest spell so carried, by a store of "
            f"{_hours(most.store)} h, lasts {_hours(most.bridged_full)} h."))
    return said


def print_supply(curve: SupplyCurve, delivery: str, invented: bool, notes: Sequence[str] = ()) -> None:
    """Supply against the size of the store: a table, what it says, and what could not be built.

    Parameters
    ----------
    curve : SupplyCurve
    delivery : str
        What full supply is, such as "20 MW of electricity".
    invented : bool
        Whether the weather is invented.
    notes : sequence of str
        How the years were run.
    """
    console = _console()
    console.print(f"{curve.title} ({curve.plant}): how long does its store carry it?", style="bold")
    console.print(f"weather: {curve.weather}{' (invented data)' if invented else ''}, {curve.hours:,.0f} hours",
                  style="dim")
    for note in (f"load: {curve.dispatch}", *notes):
        console.print(note, style="dim")
    console.print()
    console.print(f"Full supply is {delivery} in every hour, day and night. A store of 12 h, once full, gives that for "
                  "12 hours without any sun. Everything but the store stays as it is drawn.")
    firm = f"{100 * curve.firm:.3g} %"
    rows = []
    for p in curve.points:
        mark = " as drawn" if curve.own is not None and abs(p.store - curve.own) < 1.0 else ""
        rows.append((f"{_hours(p.store)}{mark}", f"{(1 - p.full) * curve.hours:,.0f}",
                     f"{p.stopped * curve.hours:,.0f}", _share(p.full), _share(p.delivered), _hours(p.bridged_full),
                     _hours(p.bridged), _share(p.months, 0)))
    _table(console, "Supply against the size of the store",
           ("store, h", "hours below\nfull load", "of these\nstill", "hours at\nfull load", "energy\ngiven",
            "dark, h,\nfull load", "dark, h,\nany load", "months\nfirm"), rows)
    console.print("energy given: of that of full supply in every hour; dark: the longest spell without useful sun that "
                  f"was bridged at full load, and at any load; months firm: those whose mean is {firm} of full supply "
                  "or more", style="dim")
    for sentence in supply_sentences(curve):
        console.print()
        console.print(sentence)
    _grid(console, "Could not be built or run", [(f"{_hours(store)} h", why) for store, why in curve.failed])
    _grid(console, "Warnings", [("-", text) for text in curve.warnings])
