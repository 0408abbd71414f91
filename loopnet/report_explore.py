"""What the command line prints about an exploration: what was pruned, the best circuits, the front, the failures."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from loopnet.explore.pareto import CRITERIA
from loopnet.explore.tell import duration
from loopnet.report import _console, _grid, _heading, _table

if TYPE_CHECKING:
    from loopnet.explore import Exploration, Pruning, Row, Space

__all__ = ["print_exploration", "print_space"]

MOST_REASONS = 8
"""Reasons of pruning and of failure that are printed; the file of results and --json hold all."""
MOST_FRONT = 12
"""Plants of the front that are printed, spread along it."""
HEADS = {"cost": "ct/kWh", "output": "GWh/a", "firmness": "full %", "months": "firm %", "land": "ha", "capital": "MUSD"}
"""Columns of figures; `EXPLAINED` says what they are."""
EXPLAINED = ("ct/kWh: US cents; GWh/a: delivered in a year; full: share of hours at full supply; firm: share of months "
             "with 80 % of full supply or more; ha: land under the mirrors; MUSD: capital")


def print_space(space: Space, pruning: Pruning) -> None:
    """How many circuits a space holds, what was pruned before any solving, and which numbers vary."""
    console = _console()
    console.print(f"{space.title or 'space'}: {pruning.examined:,} circuits can be written, {pruning.feasible:,} are "
                  "left to be solved", style="bold")
    counts = sorted(pruning.counts.items(), key=lambda item: (-item[1], item[0]))
    if counts:
        rest = counts[MOST_REASONS:]
        rows = [(f"{count:,}", reason) for reason, count in counts[:MOST_REASONS]]
        rows += [(f"{sum(c for _, c in rest):,}", f"{len(rest)} other reasons")] if rest else []
        _table(console, "Pruned before any solving", ("circuits", "why"), rows, left=0, wrap=("why",))
    usual = space.grammar.numbers()
    varied = [(name, f"{_shown(low, usual[name].unit)} to {_shown(high, usual[name].unit)}")
              for name, (low, high) in space.bounds().items()]
    varied += [(name, ", ".join(_shown(v, usual[name].unit) for v in some)) for name, some in space.levels().items()]
    _grid(console, "Numbers that vary", varied)


def print_exploration(found: Exploration, command: str = "") -> None:
    """The best circuits of each product, the front, failures by reason, and where the results are.

    Parameters
    ----------
    found : Exploration
    command : str
        What was typed, to be told as the way to go on.
    """
    console = _console()
    for weather in {w.fingerprint: w for w in found.setting.weathers.values()}.values():
        console.print(f"{weather.name}: {weather.summary()['dni_kwh_m2']:,.0f} kWh/m2 of direct sun in "
                      f"{len(weather):,} steps{' (invented data)' if weather.invented else ''}")
    for product in found.products:
        _products(console, found, product)
    if not found.done:
        _heading(console, "No plant could be solved.")
    if found.exact:
        console.print()
        console.print(f"* run hour by hour: {len(found.exact):,} plants; the others on the operating map, from which "
                      f"the cost of these differs by up to {100 * found.moved:.2f} %")
    numbers = sum(found.refused.values())
    reasons = [(f"{count:,}", reason) for reason, count in found.failures().items()]
    if reasons:
        more = reasons[MOST_REASONS:]
        shown = [*reasons[:MOST_REASONS], *([(f"{sum(int(n.replace(',', '')) for n, _ in more):,}",
                                              f"{len(more)} other reasons")] if more else [])]
        _table(console, f"Failed: {len(found.rows) - len(found.done):,} of {len(found.rows):,} candidates",
               ("plants", "why"), shown, left=0, wrap=("why",))
    closing = [("tried", f"{len(found.rows):,} candidates, {found.computed:,} computed in this run in "
                         f"{duration(found.seconds)}" + (f"; {numbers:,} more were refused for their numbers"
                                                        if numbers else ""))]
    if found.path:
        others = f"; {found.others:,} more in it are of other candidates, settings or versions" if found.others else ""
        closing += [("results", f"{found.path}{others}")]
    if command:
        closing += [("go on", f"{command}  (what is in the file of results is not computed again)")]
    _grid(console, "This exploration", closing)


def _products(console: Any, found: Exploration, product: str) -> None:
    best, edge = found.best(10, product), found.front(product=product)
    spread = edge if len(edge) <= MOST_FRONT else [edge[round(i * (len(edge) - 1) / (MOST_FRONT - 1))]
                                                  for i in range(MOST_FRONT)]
    names = " and ".join(found.usual_criteria)
    told = f", {len(spread)} of {len(edge):,}" if len(spread) < len(edge) else ""
    sites = ("site",) if len(found.setting.weathers) > 1 else ()
    heads = ("circuit", *sites, *(_head(name, unit) for name, unit in found.varied.items()), *HEADS.values())
    high = max(head.count("\n") for head in heads)
    columns = ["\n" * (high - head.count("\n")) + head for head in heads]  # all equally high, so that rows are level
    for title, rows in ((f"Best circuits that deliver {product}, by {found.goal}; each with its best numbers", best),
                        (f"The front: no plant is better in both {names}{told}", spread)):
        _table(console, title, columns, [_cells(found, row, bool(sites)) for row in rows], wrap=columns[:1])
    console.print(EXPLAINED, style="dim")


def _cells(found: Exploration, row: Row, sited: bool) -> list[str]:
    numbers = [f"{float(row.candidate[name]) / _people(unit)[0]:.4g}" for name, unit in found.varied.items()]
    star = " *" if row.key in found.exact else ""
    return [f"{row['title']}{star}", *([str(row.candidate["site"])] if sited else []), *numbers, *_figures(row)]


def _head(name: str, unit: str) -> str:
    """Head of a column of a number that varies, one word a line."""
    shown = _people(unit)[1]
    return "\n".join(name.split("_")) + (f", {shown}" if shown and shown != "h" else "")


def _people(unit: str) -> tuple[float, str]:
    """Factor and unit in which people say a number."""
    return {"s": (3600.0, "h"), "W": (1e6, "MW"), "-": (1.0, ""), "": (1.0, "")}.get(unit, (1.0, unit))


def _figures(row: Row) -> Sequence[str]:
    digits = {"cost": 2, "output": 1, "firmness": 0, "months": 0, "land": 0, "capital": 1}
    return [("-" if row.get(c.figure) is None else f"{c.factor * row[c.figure]:,.{digits[name]}f}")
            for name, c in CRITERIA.items()]


def _shown(value: float, unit: str) -> str:
    """A number with its unit, as people say it."""
    factor, shown = _people(unit)
    return f"{value / factor:.4g} {shown}".rstrip()
