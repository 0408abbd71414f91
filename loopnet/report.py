"""What the command line prints: tables and sentences, in the units people use."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.table import Table

from loopnet.solve.structure import blocks

if TYPE_CHECKING:
    import pandas as pd

    from loopnet.site import Weather
    from loopnet.solve import Sized
    from loopnet.study import Assessment, Difference, Ranking

__all__ = ["print_check", "print_difference", "print_plant", "print_ranking"]


def _console() -> Console:
    console = Console()
    return console if console.is_terminal else Console(width=118)


def _table(frame: pd.DataFrame, title: str, form: dict[str, str] | None = None) -> Table:
    table = Table(title=title, title_justify="left", header_style="bold")
    for name, values in frame.items():
        table.add_column(str(name), justify="right" if values.dtype.kind in "if" else "left", overflow="fold")
    for row in frame.itertuples(index=False):
        table.add_row(*(_cell(value, (form or {}).get(str(name), ",.3g"))
                        for name, value in zip(frame.columns, row, strict=True)))
    return table


def _cell(value: Any, form: str) -> str:
    if value is None or value != value:
        return "-"
    return format(value, form) if isinstance(value, float) else str(value)


def _list(console: Console, title: str, lines: Any) -> None:
    if lines:
        console.print(f"\n[bold]{title}[/bold]")
        for line in lines:
            console.print(f"  - {line}", markup=False, highlight=False)


def print_ranking(ranking: Ranking, weather: Weather) -> None:
    """The ranking as a table, the winner in one sentence, and what to be careful of."""
    console = _console()
    sky = weather.summary()
    console.print(f"{weather.name}: direct normal {sky['dni_kwh_m2']:,.0f} kWh/m2 in {len(weather)} steps"
                  f"{' (invented data)' if weather.invented else ''}", highlight=False)
    frame = ranking.to_frame()
    console.print(_table(frame, "Ranked by levelised cost", {
        "ct/kWh": ".2f", "net GWh": ".1f", "capacity factor": ".1%", "sun to electricity": ".1%",
        "capital MUSD": ".1f", "aperture ha": ".1f", "store MWh": ",.0f"}))
    best = ranking.assessments[0]
    console.print(f"\n{best.plant.title} ({best.name}) is cheapest at {100 * best.cost.usd_per_kwh:.2f} ct/kWh of "
                  f"{best.cost.product}; its largest cost is {best.cost.weak_point}.", highlight=False)
    console.print(best.cost.formula(), markup=False, highlight=False)
    console.print("\nBalances: " + "; ".join(
        f"{a.name} design {a.year.steady_imbalance:.0e}, year {a.year.imbalance:.0e}, smallest difference "
        f"{a.year.pinch:.1f} K" for a in ranking), highlight=False)
    _list(console, "Warnings", [f"{a.name}: {w}" for a in ranking for w in a.warnings])
    _list(console, "Cautions", dict.fromkeys(c for a in ranking for c in a.cautions))


def print_plant(a: Assessment) -> None:
    """One plant: streams, energy, bill, formula, warnings, cautions."""
    console = _console()
    console.print(f"[bold]{a.plant.title}[/bold] ({a.name}) at {a.weather}", highlight=False)
    console.print(_table(a.sized.to_frame(), "Design point", {"flow_kg_s": ",.1f", "temperature_degC": ".1f",
                                                              "bar": ".2f"}))
    console.print(str(a.sized.certificate), highlight=False)
    year = a.year
    energy = {"sun on aperture": year.sun, **{f"lost: {k}": -v for k, v in year.losses().items()},
              "into store over the year": -year.stored, "heat to user": -year.heat, "net electricity": -year.net}
    table = Table(title="The year", title_justify="left", header_style="bold")
    for name in ("energy", "GWh", "of sun"):
        table.add_column(name, justify="left" if name == "energy" else "right")
    for label, value in energy.items():
        if value:
            table.add_row(label, f"{abs(value) / 1e6:,.3f}", f"{abs(value) / year.sun:.2%}")
    console.print(table)
    console.print(f"gross {year.gross / 1e6:,.1f} GWh less own use {year.parasitic / 1e6:,.1f} GWh; capacity factor "
                  f"{a.capacity_factor:.1%}; closes to {year.imbalance:.0e}", highlight=False)
    bill = a.bill.to_frame()
    console.print(_table(bill[["component", "item", "quantity", "unit", "usd", "status"]]
                         if "status" in bill else bill, "Bill, direct costs", {"usd": ",.0f", "quantity": ",.4g"}))
    console.print(_table(a.cost.to_frame().reset_index(), "Levelised cost, ct/kWh", {c: ".3f" for c in
                                                                                    a.cost.to_frame().columns}))
    console.print(a.cost.formula(), markup=False, highlight=False)
    _list(console, "Warnings", a.warnings)
    _list(console, "Cautions", a.cautions)


def print_difference(result: Difference) -> None:
    """Two plants side by side, energy and money."""
    console = _console()
    for frame, title, form in ((result.energy, "Where a kWh of sun goes", ".2%"),
                               (100 * result.money, "What a kWh costs, ct", ".3f")):
        frame = frame.reindex(frame["difference"].abs().sort_values(ascending=False).index)
        frame.loc["total"] = frame.sum()
        frame = frame.rename_axis("term").reset_index()
        console.print(_table(frame, title, dict.fromkeys(map(str, frame.columns[1:]), form)))
    gap = 100 * (result.second.cost.usd_per_kwh - result.first.cost.usd_per_kwh)
    console.print(f"{result.second.name} costs {abs(gap):.2f} ct/kWh {'more' if gap > 0 else 'less'} than "
                  f"{result.first.name}", highlight=False)


def print_check(sized: Sized) -> None:
    """That a drawing is sound: how it was solved, and its certificate."""
    console = _console()
    from loopnet.solve.solution import design_conditions
    from loopnet.solve.system import assemble

    plant = sized.plant
    system = assemble(plant, "sizing", design_conditions(plant), {})
    order = blocks(system.reads, system.unknowns)
    largest = max(order, key=lambda block: len(block.unknowns))
    console.print(f"{plant.title} ({plant.name}): {len(plant.components)} components in {len(plant.loops)} loops, "
                  f"{len(system.unknowns)} unknowns, as many equations, {len(order)} blocks, the largest with "
                  f"{len(largest.unknowns)}", highlight=False)
    console.print(_table(sized.to_frame(), "Design point", {"flow_kg_s": ",.1f", "temperature_degC": ".1f",
                                                            "bar": ".2f"}))
    console.print(f"certificate: {sized.certificate}", highlight=False)
    _list(console, "Warnings", sized.findings)
