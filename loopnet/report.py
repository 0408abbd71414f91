"""What the command line prints: tables and sentences, in the units people use."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from math import fsum, isnan
from typing import TYPE_CHECKING

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

if TYPE_CHECKING:
    from loopnet.plant import Plant
    from loopnet.site import Weather
    from loopnet.solve import Sized
    from loopnet.study import Assessment, Difference, Ranking

__all__ = ["hazards", "print_check", "print_difference", "print_plant", "print_ranking"]

WIDTH = 110
"""Columns of a page that no terminal limits."""
SMALL = 0.004
"""Terms of a difference below this share of the whole are gathered in one row."""


# -- pieces ------------------------------------------------------------------------------------------------------------


def _console() -> Console:
    """Plain text: names of plants are never read as markup."""
    console = Console(markup=False, highlight=False, emoji=False)
    return console if console.is_terminal else Console(markup=False, highlight=False, emoji=False, width=WIDTH)


def _heading(console: Console, text: str) -> None:
    console.print()
    console.print(text, style="bold")


def _table(console: Console, title: str, columns: Sequence[str], rows: Iterable[Sequence[str]], left: int = 1,
           wrap: Sequence[str] = ()) -> None:
    """A table whose first `left` columns are text; only the columns in `wrap` may break in lines."""
    _heading(console, title)
    table = Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False, header_style="bold")
    for place, name in enumerate(columns):
        table.add_column(Text(name), justify="left" if place < left or name in wrap else "right",
                         no_wrap=name not in wrap, vertical="bottom" if "\n" in name else "top")
    for row in rows:
        table.add_row(*map(Text, row))
    console.print(table)


def _grid(console: Console, title: str, rows: Iterable[tuple[str, str]]) -> None:
    """Subjects at the left, sentences at the right that break only within their column."""
    grid = Table.grid(padding=(0, 2))
    grid.add_column(no_wrap=True)
    grid.add_column()
    for subject, sentence in rows:
        grid.add_row(Text(f"  {subject}"), Text(sentence))
    if grid.row_count:
        _heading(console, title)
        console.print(grid)


def hazards(plants: Iterable[Plant]) -> dict[str, tuple[str, ...]]:
    """Cautions by what brings them, a medium or a kind of component; each sentence once.

    >>> from loopnet.plants import find_plant
    >>> list(hazards([find_plant("sand_silo")]))
    ['quartz sand', 'water', 'collector field', 'silos', 'steam generator']
    """
    told: set[str] = set()
    found: dict[str, tuple[str, ...]] = {}
    drawn = list(plants)
    sources = [(loop.medium.name, loop.medium.cautions) for plant in drawn for loop in plant.loops.values()]
    sources += [("gas boiler", type(boiler).cautions) for plant in drawn for component in plant.components.values()
                if (boiler := getattr(component, "back_up", None)) is not None]
    sources += [(re.sub(r"(?<!^)(?=[A-Z])", " ", type(component).__name__).lower(), type(component).cautions)
                for plant in drawn for component in plant.components.values()]
    for subject, sentences in sources:
        new = tuple(s for s in sentences if s not in told)
        told.update(new)
        if new:
            found[subject] = (*found.get(subject, ()), *new)
    return found


def _headline(sentence: str) -> str:
    """A caution up to the first pause that leaves a statement.

    >>> _headline("Fine dust scars the lungs: filter it, by local rules."), _headline("Silos: sand flows and buries.")
    ('Fine dust scars the lungs', 'Silos: sand flows and buries')
    """
    for pause in re.finditer(r"[:;] |\.$", sentence):
        if len(sentence[:pause.start()].split()) > 3:
            return sentence[:pause.start()]
    return sentence


def _formula(console: Console, a: Assessment) -> None:
    numbers, result = a.cost.formula().rsplit(" = ", 1)
    console.print()
    console.print(f"{numbers}\n     = {result}")


def _cents(usd: float, digits: int = 2) -> str:
    return f"{100 * usd:.{digits}f}"


def _share(value: float | None, digits: int = 1) -> str:
    return "-" if value is None else f"{value:.{digits}%}".replace("%", " %")


def _streams(console: Console, sized: Sized) -> None:
    rows = sized.to_frame().to_dict("records")
    _table(console, "Streams at the design point", ("loop", "medium", "from", "to", "kg/s", "degC", "bar"),
           [(*(str(r[key]) for key in ("loop", "medium", "from", "to")), f"{r['flow_kg_s']:,.1f}",
             f"{r['temperature_degC']:.1f}", f"{r['bar']:.2f}") for r in rows], left=4)


# -- rank --------------------------------------------------------------------------------------------------------------


def print_ranking(ranking: Ranking, weather: Weather, notes: Sequence[str] = ()) -> None:
    """The ranking as a table, the winner in a few sentences, how well the sums close, and what to be careful of;
    `notes` on how it was made stand at its head."""
    console, found = _console(), list(ranking)
    console.print(f"{weather.name}: {weather.summary()['dni_kwh_m2']:,.0f} kWh/m2 of direct sun in {len(weather):,} "
                  f"steps{' (invented data)' if weather.invented else ''}")
    for rule, names in _by_rule(found).items():
        console.print(f"load: {rule}" + (f" ({', '.join(names)})" if len(names) < len(found) else ""), style="dim")
    for note in notes:
        console.print(note, style="dim")
    goods: dict[str, list[Assessment]] = {}  # a kWh of heat is another good than one of electricity
    for a in found:
        goods.setdefault(a.cost.product, []).append(a)
    for product, group in goods.items():
        _table(console, f"Ranked by what a kWh of {product} costs, cheapest first",
               ("plant", "US\nct/kWh", "GWh\na year", "capacity\nfactor", "sun to\n" + (
                   "grid" if product == "electricity" else "user"), "capital\nMUSD", "mirrors\nha", "store\nMWh",
                "weak\npoint"), [_row(a) for a in group])
    console.print("capacity factor: delivery over that of full load in every hour; store: heat that a full store "
                  "gives; weak point: the component that costs most per kWh", style="dim")
    for group in goods.values():
        _winner(console, group)
    _table(console, "How well the sums close (limits: 1e-8 at every operating point, 1e-6 over the year)",
           ("plant", "points", "year", "smallest temperature difference"),
           [(a.name, f"{a.year.steady_imbalance:.0e}", f"{a.year.imbalance:.0e}", _pinch(a)) for a in found], left=1,
           wrap=("smallest temperature difference",))
    _prices(console, found, only="user")
    _grid(console, "Warnings", [(name, warning) for a in found for name, warning in _under(a.name, a.warnings)])
    _grid(console, "Cautions in short; local codes and licensed practice decide; `loopnet show PLANT` tells all",
          [(subject, _headline(sentences[0])) for subject, sentences in hazards(a.plant for a in found).items()])


def _by_rule(found: Sequence[Assessment]) -> dict[str, list[str]]:
    """Names of plants by the rule that set their load."""
    rules: dict[str, list[str]] = {}
    for a in found:
        rules.setdefault(a.year.dispatch, []).append(a.name)
    return rules


def _row(a: Assessment) -> tuple[str, ...]:
    delivered = a.year.net if a.net_power is not None else a.year.heat
    return (a.name, _cents(a.cost.usd_per_kwh), f"{delivered / 1e6:.1f}", _share(a.capacity_factor),
            _share(delivered / a.year.sun), f"{a.cost.capital_usd / 1e6:,.1f}", f"{a.aperture / 1e4:.1f}",
            f"{a.store_heat / 1e3:,.0f}", a.cost.weak_point)


def _winner(console: Console, found: Sequence[Assessment]) -> None:
    best = found[0]
    cost, year = best.cost, best.year
    text = (f"{best.plant.title} ({best.name}) is cheapest: a kWh of {cost.product} costs {_cents(cost.usd_per_kwh)} "
            "US cents") if len(found) > 1 else (f"A kWh of {cost.product} from {best.name} costs "
                                                f"{_cents(cost.usd_per_kwh)} US cents")
    rival = next((a for a in found[1:] if a.cost.product == cost.product), None)
    text += f"; next is {rival.name} with {_cents(rival.cost.usd_per_kwh)}. " if rival else ". "
    gains = [f"{100 * kwh / year.sun:.1f} kWh {words}" for kwh, words in (
        (year.net if best.net_power is not None else 0.0, "leave the gate as electricity"),
        (year.heat, "reach the user as heat")) if kwh]
    hectares = f"{best.aperture / 1e4:,.{0 if best.aperture > 1e5 else 2}f} ha"
    text += f"Of 100 kWh of direct sun on its {hectares} of mirrors, {' and '.join(gains)}. "
    console.print()
    console.print(text + cost.weakness())
    _formula(console, best)


def _pinch(a: Assessment) -> str:
    return f"{a.year.pinch:.1f} K at {a.year.pinch_at}" if a.year.pinch_at else "nothing exchanges heat"


def _under(subject: str, sentences: Sequence[str]) -> list[tuple[str, str]]:
    """The subject beside its first sentence only."""
    return [(subject if place == 0 else "", sentence) for place, sentence in enumerate(sentences)]


# -- show --------------------------------------------------------------------------------------------------------------


def print_plant(a: Assessment, notes: Sequence[str] = ()) -> None:
    """One plant: streams, energy, bill, formula, warnings, cautions; `notes` on how it was made stand at its head."""
    console = _console()
    console.print(f"{a.plant.title} ({a.name}) at {a.weather}", style="bold")
    for note in notes:
        console.print(note, style="dim")
    _streams(console, a.sized)
    console.print(str(a.sized.certificate))
    _states(console, a.sized)
    year = a.year
    flows = {"sun on the mirrors": year.sun, **{f"lost: {k}": v for k, v in year.losses().items()},
             "net electricity": year.net if a.net_power is not None else 0.0, "heat to user": year.heat,
             "left in store": year.stored}
    _table(console, "Where the year's sun goes", ("", "GWh", "of the sun"),
           [(label, f"{kwh / 1e6:,.2f}", _share(kwh / year.sun, 2)) for label, kwh in flows.items() if kwh])
    console.print(f"capacity factor {_share(a.capacity_factor)}; gross {year.gross / 1e6:,.1f} GWh, less own use "
                  f"{year.parasitic / 1e6:,.1f} GWh; the year closes to {year.imbalance:.0e} of the sun")
    earned = [] if year.revenue is None else [f"at these prices it earns {year.revenue / 1e6:,.2f} MUSD"]
    missed = [] if year.unmet is None or not year.demand else [
        f"{_share(year.unmet / year.demand)} of the demand of {year.demand / 1e6:,.1f} GWh is not met"]
    console.print("; ".join([f"load: {year.dispatch}", *earned, *missed]))
    for helped in a.back_up:
        console.print(f"{helped.user}: the plant gives {_share(helped.share)} of "
                      f"{helped.to_dict()['wanted_kwh'] / 1e6:,.1f} GWh, gas the rest in {helped.hours:,.0f} hours: "
                      f"{helped.fuel / 3.6e12:,.1f} GWh burnt, {helped.carbon / 1e3:,.0f} t of carbon dioxide let out; "
                      "a kWh of heat below is that of both")
    _bill(console, a)
    _prices(console, [a])
    frame = a.cost.to_frame()
    _table(console, f"What a kWh of {a.cost.product} costs, US cents", ("component", *map(str, frame.columns)),
           [(str(name), *(f"{value:.3f}" for value in row)) for name, row in zip(
               frame.index, frame.to_numpy(), strict=True)])
    gap = abs(a.cost.by_formula / a.cost.usd_per_kwh - 1.0)
    console.print(f"the terms add up to the formula below within {gap:.0e}; what is printed is rounded", style="dim")
    console.print()
    console.print(a.cost.weakness())
    _formula(console, a)
    for note in a.cost.notes:
        console.print(f"({note})", style="dim")
    _grid(console, "Warnings", [("-", warning) for warning in a.warnings])
    _grid(console, "Cautions: local codes and licensed practice decide",
          [row for subject, sentences in hazards([a.plant]).items() for row in _under(subject, sentences)])


def _states(console: Console, sized: Sized) -> None:
    """Table of states of each cycle, and the pinch of every exchanger."""
    from loopnet.study.cycles import cycles_of, exchanges_of

    for cycle in cycles_of(sized):
        states = []
        for number, state in enumerate(cycle.states, 1):
            states.append((str(number), state.name, f"{state.p / 1e5:.4g}", f"{state.T - 273.15:.1f}",
                           f"{state.h / 1e3:,.1f}", f"{state.s / 1e3:.4f}",
                           "" if isnan(state.x) else f"{state.x:.3f}", f"{state.flow:.3f}"))
        _table(console, f"States of the {cycle.kind} cycle, {cycle.component}, design point",
               ("", "state", "bar", "degC", "kJ/kg", "kJ/kg/K", "vapour", "flow share"), states, left=2)
    rows = []
    for exchange in exchanges_of(sized):
        pinch = exchange.pinch
        rows.append((exchange.component, exchange.name, f"{exchange.heat / 1e6:,.4g}", f"{pinch.difference:.1f}",
                     _share(pinch.share, 0), f"{pinch.hot - 273.15:.0f} / {pinch.cold - 273.15:.0f}"))
    if rows:
        _table(console, "Exchangers and their pinch, design point",
               ("", "exchanger", "MW", "pinch, K", "at share of heat", "hot / cold, degC"), rows, left=2)


def _bill(console: Console, a: Assessment) -> None:
    rows = []
    for line in a.bill:
        facts = line.to_dict()
        rows.append((line.component, line.item, f"{facts['quantity']:,.4g}" if facts["quantity"] < 1e4
                     else f"{facts['quantity']:,.0f}", facts["quantity_unit"],
                     f"{line.usd:,.0f}{' a year' if line.kind == 'yearly' else ''}", facts["status"]))
    _table(console, f"Bill, direct costs in USD of {next(iter(a.bill)).money_year}",
           ("component", "item", "quantity", "unit", "USD", "price is"), rows, left=2,
           wrap=("item", "unit", "price is"))
    capital = [line for line in a.bill if line.kind == "capital"]
    by: dict[str, float] = {}
    for line in capital:
        by[line.price.status] = by.get(line.price.status, 0.0) + line.usd
    whole = fsum(by.values()) or 1.0
    shares = ", ".join(f"{status} {_share(usd / whole, 0)}" for status, usd in sorted(by.items(), key=lambda s: -s[1]))
    console.print(f"How sure the prices are, by direct cost: {shares}")


def _prices(console: Console, plants: Sequence[Assessment], only: str = "") -> None:
    """Prices used, each once, with range, year, status and source; only those of one status if it is named."""
    used = {line.price.key: line.price for a in plants for line in (*a.bill, *a.cost.operation_lines)}
    rows = [(key, price.sentence()) for key, price in sorted(used.items()) if only in ("", price.status)]
    _grid(console, "Your own prices" if only else "Prices used, and where they come from", rows)


# -- diff and check ----------------------------------------------------------------------------------------------------


def print_difference(result: Difference) -> None:
    """Two plants side by side, energy and money."""
    console, one, two = _console(), result.first, result.second
    for frame, title, form in ((100 * result.energy, "Where 100 kWh of direct sun go, kWh", ".2f"),
                               (100 * result.money, "What a kWh costs, US cents", ".3f")):
        frame = frame.reindex(frame["difference"].abs().sort_values(ascending=False).index)
        total = frame.sum()
        small = frame.abs().max(axis=1) < SMALL * total.max()
        rows = {str(name): row.to_numpy() for name, row in frame[~small].iterrows()}
        if small.any():
            rows[f"{small.sum()} smaller"] = frame[small].sum().to_numpy()
        rows["total"] = total.to_numpy()
        _table(console, title, ("term", *map(str, frame.columns)),
               [(name, *(format(0.0 if abs(x) < 5e-9 else x, form) for x in row)) for name, row in rows.items()])
    if one.cost.product != two.cost.product:
        console.print(f"{one.name} is costed per kWh of {one.cost.product}, {two.name} per kWh of {two.cost.product}: "
                      "these are not the same good")
    gap = two.cost.usd_per_kwh - one.cost.usd_per_kwh
    steps = sorted(result.money["difference"].items(), key=lambda step: -abs(step[1]))
    largest = ", ".join(f"{name} {100 * usd:+.2f}" for name, usd in steps[:4])
    console.print()
    console.print(f"{two.name} costs {_cents(abs(gap))} ct/kWh {'more' if gap >= 0 else 'less'} than {one.name}; the "
                  f"largest terms: {largest}.")


def print_check(sized: Sized) -> None:
    """That a drawing is sound: how it was solved, and its certificate."""
    from loopnet.solve.solution import design_conditions
    from loopnet.solve.structure import blocks
    from loopnet.solve.system import assemble

    console, plant = _console(), sized.plant
    system = assemble(plant, "sizing", design_conditions(plant), {})
    order = blocks(system.reads, system.unknowns)
    largest = max(order, key=lambda block: len(block.unknowns))
    console.print(f"{plant.title} ({plant.name}) is drawn soundly: {len(plant.components)} components in "
                  f"{len(plant.loops)} loops, {len(system.unknowns)} unknowns in as many equations, solved in "
                  f"{len(order)} blocks, the largest with {len(largest.unknowns)} unknowns")
    _streams(console, sized)
    console.print(f"balance: {sized.certificate}")
    _grid(console, "Warnings", [("-", finding) for finding in sized.findings])
