"""Assessments: one in full, several ranked, two side by side."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from loopnet.notebook.money import formula, terms
from loopnet.notebook.pieces import card, fold, line, number, share, table, warn
from loopnet.notebook.plants import cautions
from loopnet.study import Assessment, Difference, Ranking

__all__ = ["assessment", "difference", "ranking"]


def _cents(usd: float) -> str:
    return f"{100 * usd:.2f}"


def assessment(found: Assessment) -> str:
    """One plant at its site: what it delivers and costs, where the sun goes, warnings and cautions."""
    year, cost = found.year, found.cost
    sun = year.sun or 1.0
    electric = found.net_power is not None
    facts = [("electricity a year", f"{number(year.net / 1e6)} GWh") if electric else ("", ""),
             ("heat to the user a year", f"{number(year.heat / 1e6)} GWh") if year.heat else ("", ""),
             ("capacity factor", share(found.capacity_factor)),
             ("direct sun to electricity", share(year.net / sun)) if electric else ("", ""),
             ("capital", f"{number(cost.capital_usd / 1e6)} MUSD"),
             ("mirrors", f"{number(found.aperture)} m2"), ("store", f"{number(found.store_heat / 1e3)} MWh of heat"),
             ("load", year.dispatch), ("closes to", f"{year.steady_imbalance:.0e} at every point, {year.imbalance:.0e} "
                                                    "over the year")]
    gone = sorted(found.losses().items(), key=lambda item: -item[1])
    losses = [(label, number(kwh / 1e6), share(kwh / sun)) for label, kwh in gone]
    return card(f"{found.plant.title} ({found.name}) at {found.weather}: {_cents(cost.usd_per_kwh)} US cents a kWh of "
                f"{cost.product}", table(("", ""), [fact for fact in facts if fact[0]], left=2),
                line(cost.weakness()), formula(cost), terms(cost),
                fold("Where the sun is lost", table(("", "GWh", "of the sun"), losses,
                                                    bars=[kwh / sun for _, kwh in gone])),
                warn("Warnings", found.warnings), cautions(found.plant))


def ranking(found: Ranking) -> str:
    """Plants by what a kilowatt-hour costs, cheapest first."""
    most = max((a.cost.usd_per_kwh for a in found), default=1.0)
    mixed = len({a.cost.product for a in found}) > 1
    rows = [(str(place), a.name, a.plant.title, _cents(a.cost.usd_per_kwh) + (f" ({a.cost.product})" if mixed else ""),
             number((a.year.net if a.net_power is not None else a.year.heat) / 1e6), share(a.capacity_factor),
             number(a.cost.capital_usd / 1e6), number(a.aperture / 1e4), number(a.store_heat / 1e3), a.cost.weak_point)
            for place, a in enumerate(found, start=1)]
    heads = ("", "plant", "what it is", "US ct/kWh", "GWh a year", "capacity factor", "capital MUSD", "mirrors ha",
             "store MWh", "weak point")
    said = [line(a.cost.weakness()) for a in list(found)[:1]]
    warnings = [f"{a.name}: {text}" for a in found for text in a.warnings]
    return card(f"Ranked by what a kWh costs, cheapest first, at {found.weather}",
                table(heads, rows, left=3, bars=[a.cost.usd_per_kwh / most for a in found], bar_at=3), *said,
                line("The order rests on prices of which many are assumptions; study.uncertainty says how sure it is.",
                     quiet=True), warn("Warnings", warnings))


def difference(found: Difference) -> str:
    """Two plants side by side; each column adds up."""
    one, two = found.first, found.second
    gap = two.cost.usd_per_kwh - one.cost.usd_per_kwh
    same = one.cost.product == two.cost.product
    return card(f"{two.name} costs {_cents(abs(gap))} ct/kWh {'more' if gap >= 0 else 'less'} than {one.name}",
                line("" if same else f"{one.name} is costed per kWh of {one.cost.product}, {two.name} per kWh of "
                     f"{two.cost.product}: these are not the same good."),
                _beside("What a kWh costs, US cents", 100 * found.money, 3),
                fold("Where 100 kWh of direct sun go, kWh", _beside("", 100 * found.energy, 2)))


def _beside(title: str, frame: pd.DataFrame, digits: int) -> str:
    order = frame["difference"].abs().sort_values(ascending=False).index
    rows: list[Sequence[str]] = [(str(name), *(f"{x:.{digits}f}" for x in frame.loc[name])) for name in order]
    rows.append(("total", *(f"{x + 0.0:.{digits}f}" for x in frame.sum())))
    largest = float(frame["difference"].abs().max()) or 1.0
    return table((title, *map(str, frame.columns)), rows,
                 bars=[abs(float(frame.loc[name, "difference"])) / largest for name in order])
