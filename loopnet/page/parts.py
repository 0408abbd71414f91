"""The tables of a report: ranking, bridge, chances, bills, prices, assumptions, balances."""

from __future__ import annotations

from collections.abc import Sequence

from loopnet.money import Finance
from loopnet.page.assumptions import amount, assumptions, of_parameters
from loopnet.page.findings import Findings, Group
from loopnet.page.sentences import meanings, named, percent
from loopnet.page.tables import Cell, Column, Table, cell, table
from loopnet.study import Assessment

__all__ = ["balances", "bill", "bridge", "chances", "costs", "deciders", "finance", "limits", "losses", "numbers",
           "operation", "others", "physics", "prices", "ranking", "streams", "tornado"]

MOST = 25
"""Rows of what moves a cost."""


def _plain(value: float) -> str:
    return f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def ranking(group: Group) -> Table:
    """Plants that deliver the same, cheapest first, in the units of the command line."""
    electric = group.product == "electricity"
    chance = group.uncertainty.probability_first if group.uncertainty is not None and len(group.plants) > 1 else None
    helped = any(a.back_up for a in group.plants)
    columns = [Column("plant", numeric=False), Column("place"), Column("cost", "US ct/kWh"),
               *([Column("cheapest in", "of the draws")] if chance else []), Column("delivers", "GWh a year"),
               Column("capacity factor"), *([Column("sun to grid")] if electric else []),
               *([Column("from the sun", "the rest from fuel")] if helped else []),
               Column("capital", "million USD"), Column("mirrors", "ha"), Column("store", "MWh of heat"),
               Column("weak point", numeric=False)]
    rows = []
    for place, a in enumerate(group.plants, start=1):
        rows.append([
            Cell(named(a)), cell(place, ".0f"), cell(a.cost.usd_per_kwh, ".2f", 100),
            *([Cell(percent(chance[a.name]), chance[a.name])] if chance else []),
            cell(a.year.net if electric else a.heat, ",.1f", 1e-6), cell(a.capacity_factor, ".1%"),
            *([cell(a.year.net / a.year.sun, ".1%")] if electric else []),
            *([cell(a.solar_share, ".1%")] if helped else []), cell(a.cost.capital_usd, ",.1f", 1e-6),
            cell(a.aperture, ",.1f", 1e-4), cell(a.store_heat, ",.0f", 1e-3), Cell(a.cost.weak_point)])
    return table(f"Plants that make {group.product}, cheapest first", columns, rows, sortable=len(rows) > 1)


def others(group: Group) -> Table:
    """What others cost, with sources."""
    return table(f"What others ask for a kWh of {group.product}", ("what", Column("cost", "US ct/kWh", False),
                 Column("money of"), "known as", "source"),
                 [(r.name, r.span(), cell(r.year, ".0f"), r.status, r.source) for r in group.references])


def bridge(group: Group) -> Table:
    """The bridge, term by term."""
    made = group.bridge
    if made is None:
        return table("", (), ())
    rows = [(t.name, f"{t.first:.4g}", f"{t.second:.4g}", "" if t.unit == "-" else t.unit,
             cell(t.usd_per_kwh, "+.3f", 100)) for t in made.terms]
    return table(f"From {made.first} to {made.second}, term by term; the terms add up exactly",
                 ("term", Column(made.first), Column(made.second), "unit", Column("adds", "US ct/kWh")),
                 [*rows, ("all terms", "", "", "", cell(made.difference, "+.3f", 100))], last=True)


def tornado(group: Group) -> Table:
    """What moves the cost of the first, most first."""
    made = group.tornado
    if made is None:
        return table("", (), ())
    keys = meanings(group)
    rows = [(s.what.name, _plain(s.what.low), _plain(s.what.likely), _plain(s.what.high), s.what.unit,
             cell(s.at_low, ".2f", 100), cell(s.at_high, ".2f", 100), s.what.status, keys.get(s.what.name, ""))
            for s in made.sways[:MOST]]
    more = len(made.sways) - len(rows)
    left = f"; {more} more move it less" if more else ""
    return table(f"Each number alone at both ends of its range, all others as likely{left}",
                 ("number", Column("low"), Column("likely"), Column("high"), "unit", Column("cost if low", "US ct/kWh"),
                  Column("cost if high", "US ct/kWh"), "known as", "what it is"), rows)


def chances(group: Group) -> Table:
    """How often each plant is the cheapest, and between what its cost lies."""
    u = group.uncertainty
    if u is None:
        return table("", (), ())
    rows = [(Cell(str(name)), cell(row["first"], ".1%"), cell(row["standard error"], ".2%"),
             *(cell(row[key], ".2f") for key in ("likely", "mean", "10 %", "50 %", "90 %")))
            for name, row in u.to_frame().iterrows()]
    return table(f"{u.samples:,} draws, the same for all plants; costs in US cents per kWh of {u.product}",
                 ("plant", Column("cheapest in"), Column("standard error"), Column("all as likely"), Column("mean"),
                  Column("1 of 10 below"), Column("half below"), Column("9 of 10 below")), rows, sortable=len(rows) > 1)


def deciders(group: Group) -> Table:
    """Which uncertainty decides between the two that are first most often."""
    u = group.uncertainty
    if u is None or len(u.plants) < 2:
        return table("", (), ())
    (one, two), keys = u.contenders, meanings(group)
    return table(f"What decides between {one} and {two}",
                 ("number", Column("share of the variance"), Column(f"{one} cheaper if it is low"),
                  Column(f"{one} cheaper if it is high"), "what it is"),
                 [(str(name), *(cell(row[key], ".1%") for key in ("share", "first if low", "first if high")),
                   keys.get(str(name), ""))
                  for name, row in u.deciders().head(6).iterrows()])


def physics(group: Group) -> Table:
    """What was drawn beside the prices, with its source."""
    drawn = {u.name: u for s in (group.uncertainty.surfaces if group.uncertainty else ()) for u in s.inputs}
    return table("Drawn beside the prices", ("number", Column("low"), Column("likely"), Column("high"), "unit",
                                             "known as", "source"),
                 [(name, _plain(u.low), _plain(u.likely), _plain(u.high), u.unit, u.status, u.source)
                  for name, u in drawn.items()])


# -- one plant ---------------------------------------------------------------------------------------------------------


def costs(a: Assessment) -> Table:
    """What a kWh is made of, by component and kind."""
    frame = a.cost.to_frame()
    return table(f"What a kWh of {a.cost.product} costs, US cents",
                 ("component", *(Column(str(name)) for name in frame.columns)),
                 [(str(name), *(cell(float(value), ".3f") for value in row))
                  for name, row in zip(frame.index, frame.to_numpy(), strict=True)], last=True)


def losses(a: Assessment) -> Table:
    """Where the year's sun goes."""
    year = a.year
    flows = {**{f"lost: {name}": kwh for name, kwh in a.losses().items()},
             "net electricity": year.net if a.net_power is not None else 0.0, "heat to user": year.heat,
             "left in store": year.stored}
    rows = [(name, cell(kwh, ",.2f", 1e-6), cell(kwh / year.sun, ".2%")) for name, kwh in flows.items() if kwh]
    return table("Where the year's sun goes", ("", Column("energy", "GWh"), Column("of the sun")),
                 [*rows, ("sun on the mirrors", cell(year.sun, ",.2f", 1e-6), cell(1.0, ".2%"))], last=True)


def streams(a: Assessment) -> Table:
    """Streams at the design point."""
    return table("Streams at the design point", ("loop", "medium", "from", "to", Column("flow", "kg/s"),
                                                 Column("temperature", "°C"), Column("pressure", "bar")),
                 [(*(str(r[key]) for key in ("loop", "medium", "from", "to")), cell(r["flow_kg_s"], ",.1f"),
                   cell(r["temperature_degC"], ".1f"), cell(r["bar"], ".2f"))
                  for r in a.sized.to_frame().to_dict("records")])


def bill(a: Assessment) -> Table:
    """Every line of the bill, with the status of its price."""
    rows = []
    for line in a.bill:
        facts = line.to_dict()
        rows.append((line.component, line.item, cell(facts["quantity"], ",.4g" if facts["quantity"] < 1e4 else ",.0f"),
                     facts["quantity_unit"], cell(line.usd, ",.0f"), "a year" if line.kind == "yearly" else "once",
                     line.price.key, line.price.status))
    return table(f"Bill: direct costs in USD of {next(iter(a.bill)).money_year}",
                 ("component", "item", Column("quantity"), "unit", Column("USD"), "paid", "price", "known as"), rows,
                 sortable=True)


def numbers(a: Assessment) -> Table:
    """Design point, media and components: every number with its source."""
    return table("Every number of the plant, with its source; prices stand apart",
                 ("belongs to", "number", "value", "accepted", "known as", "source", "meaning"),
                 [(n.where, n.name, n.value, n.allowed, n.status, n.source, n.meaning) for n in assumptions(a.plant)],
                 sortable=True)


# -- all plants --------------------------------------------------------------------------------------------------------


def prices(plants: Sequence[Assessment]) -> Table:
    """Prices used, each once."""
    used = {line.price.key: line.price for a in plants for line in (*a.bill, *a.cost.operation_lines)}
    who = {key: [a.name for a in plants if key in a.cost.slopes] for key in used}
    rows = []
    for key, p in sorted(used.items()):
        again = "" if not p.life else f"every {p.life:g} years" + (
            "" if p.renewed == 1.0 else f", {100 * p.renewed:.3g} % of it")
        rows.append((key, cell(p.value, ",g"), f"{p.low:,g} to {p.high:,g}" if p.high > p.low else "", p.unit,
                     f"{p.year}{f', brought on by {p.index}' if p.index else ''}", again, p.status, p.source, p.doc,
                     "all" if len(who[key]) == len(plants) > 1 else ", ".join(who[key])))
    return table("Prices used, each once", ("price", Column("value"), "range", "unit", "money of", "bought again",
                                            "known as", "source", "for", "used by"), rows, sortable=True)


def finance(plants: Sequence[Assessment]) -> list[Table]:
    """What money costs: one table where all plants share it, else one for each kind."""
    kinds: dict[str, list[Assessment]] = {}
    for a in plants:
        kinds.setdefault(repr(sorted(a.cost.finance.items())), []).append(a)
    made = []
    for own in kinds.values():
        money = Finance(**own[0].cost.finance)
        who = "" if len(kinds) == 1 else f" of {', '.join(a.name for a in own)}"
        rows = [(n.name.replace("_", " "), n.value, n.allowed, n.status, n.source, n.meaning)
                for n in of_parameters(money, "finance")]
        rows += [("charge on capital", amount(money.fixed_charge, "1/year"), "", "computed",
                  "rate, life and tax above", "share of the capital to be earned each year")]
        made.append(table(f"What money costs{who}", ("number", "value", "accepted", "known as", "source", "meaning"),
                          rows))
    return made


def operation(findings: Findings) -> Table:
    """How the plants were run."""
    return table("How the plants are run", ("number", "value", "accepted", "known as", "source", "meaning"),
                 [(n.name.replace("_", " "), n.value, n.allowed, n.status, n.source, n.meaning)
                  for n in of_parameters(findings.operation, "operation")])


def balances(plants: Sequence[Assessment]) -> Table:
    """How well the sums close, and the smallest temperature difference."""
    return table("How well the sums close", (
        "plant", Column("at every point", "limit 1e-8"), Column("over the year", "limit 1e-6"),
        Column("smallest difference", "K"), "where"),
        [(a.name, cell(a.year.steady_imbalance, ".0e"), cell(a.year.imbalance, ".0e"),
          *((cell(a.year.pinch, ".1f"), a.year.pinch_at) if a.year.pinch_at else ("none", "nothing exchanges heat")))
         for a in plants])


def limits(findings: Findings) -> list[tuple[str, tuple[str, ...]]]:
    """Warnings by plant, and what could not be reckoned; only subjects that have some."""
    found = [(named(a), a.warnings) for a in findings.plants]
    found += [(named(a), (f"Its year was read from an operating map; its delivery is right to some "
                          f"{percent(a.year.error, 2)} (estimated).",)) for a in findings.plants if a.year.error]
    for group in findings.groups:
        if group.tornado is not None:
            found.append((f"What moves the cost of {group.first.name}", group.tornado.notes))
        if group.uncertainty is not None:
            notes = dict.fromkeys(note for s in group.uncertainty.surfaces for note in s.notes)
            found.append((f"Draws of {group.product}", tuple(notes)))
    if findings.weather is not None:
        found.append((f"Weather {findings.weather.name}", findings.weather.notes))
    return [(subject, texts) for subject, texts in found if texts]
