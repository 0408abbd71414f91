"""What a plant costs: the bill, line by line with how sure each price is, and the levelised cost with its formula."""

from __future__ import annotations

from html import escape
from math import fsum

from loopnet.money import Bill, LevelisedCost
from loopnet.notebook.pieces import card, fold, line, number, share, table, warn

__all__ = ["bill", "cost", "terms"]


def bill(found: Bill) -> str:
    """A bill: its lines, dearest first, with the status of each price; sources fold away."""
    total = found.total or 1.0
    capital = sorted((x for x in found if x.kind == "capital"), key=lambda x: -x.usd)
    yearly = [x for x in found if x.kind == "yearly"]
    by: dict[str, float] = {}
    for item in capital:
        by[item.price.status] = by.get(item.price.status, 0.0) + item.usd
    sure = ", ".join(f"{status} {share(usd / total)}" for status, usd in sorted(by.items(), key=lambda x: -x[1]))
    rows = []
    for item in (*capital, *yearly):
        facts = item.to_dict()
        rows.append((item.component, item.item, number(facts["quantity"]), facts["quantity_unit"],
                     f"{item.usd:,.0f}" + (" a year" if item.kind == "yearly" else ""), item.price.status))
    sources = [(key, price.sentence()) for key, price in sorted({x.price.key: x.price for x in found}.items())]
    money_year = f" of {found.lines[0].money_year}" if found.lines else ""
    return card(f"Bill: {number(found.total / 1e6)} MUSD{money_year}, direct",
                line(sure and f"How sure the prices are, by cost: {sure}."),
                table(("component", "item", "quantity", "unit", "USD", "price is"), rows, left=2,
                      bars=[x.usd / total for x in capital], bar_at=4),
                fold("Where the prices come from", table(("price", "source"), sources, left=2)),
                warn("Warnings", found.warnings))


def cost(found: LevelisedCost) -> str:
    """A levelised cost: the formula with its numbers, the terms by component, the weak point."""
    return card(f"A kWh of {found.product} costs {100 * found.usd_per_kwh:.2f} US cents", formula(found), terms(found),
                line(found.weakness()), *(line(note, quiet=True) for note in found.notes),
                warn("Warnings", found.warnings))


def formula(found: LevelisedCost) -> str:
    """The formula with its numbers, as HTML."""
    return f"<pre>{escape(found.formula())}</pre>"


def terms(found: LevelisedCost) -> str:
    """Terms by component in US cents, dearest first, as HTML."""
    frame = found.to_frame()
    whole = fsum(x for x in frame["total"].iloc[:-1] if x > 0) or 1.0
    rows = [(str(name), *(f"{x:.3f}" for x in row)) for name, row in zip(frame.index, frame.to_numpy(), strict=True)]
    return table(("component, ct/kWh", *map(str, frame.columns)), rows,
                 bars=[x / whole for x in frame["total"].iloc[:-1]])
