"""A year: its totals, where the sun went, a column for each month, and how well it closes."""

from __future__ import annotations

from loopnet.notebook.pieces import card, columns, fold, line, number, share, table, warn
from loopnet.year import Year

__all__ = ["months", "year"]

NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def months(found: Year) -> dict[str, float]:
    """What left the gate, month by month.

    Parameters
    ----------
    found : Year
        A year, or a stretch of one.

    Returns
    -------
    dict
        Month -> net electricity and heat [kWh]; months without hours are left out.
    """
    sums = (found.hourly["delivered"] * found.step / 3.6e6).groupby(found.hourly.index.month).sum()
    return {NAMES[int(month) - 1]: float(kwh) for month, kwh in sums.items()}


def year(found: Year) -> str:
    """A year of a plant."""
    sun = found.sun or 1.0
    gone = {**found.losses(), "net electricity": found.net if found.gross else -found.parasitic,
            "heat to user": found.heat, "change in store": found.stored}
    rows = sorted(((label, kwh) for label, kwh in gone.items() if kwh), key=lambda row: -row[1])
    delivered = [f"{number(kwh / 1e6)} GWh of {what}" for what, kwh in
                 (("electricity", found.net if found.gross else 0.0), ("heat", found.heat)) if kwh]
    by_month = months(found)
    text = (f"{' and '.join(delivered) or 'Nothing'} delivered from {number(sun / 1e6)} GWh of direct sun on the "
            f"mirrors; {number(found.parasitic / 1e6)} GWh of electricity used by the plant itself.")
    picture = columns([kwh / 1e6 for kwh in by_month.values()], list(by_month), "GWh",
                      f"delivered by month in GWh: {', '.join(f'{m} {number(k / 1e6)}' for m, k in by_month.items())}")
    missed = [] if not found.demand or found.unmet is None else [
        f"{share(found.unmet / found.demand)} of the demand of {number(found.demand / 1e6)} GWh is not met."]
    return card(f"{found.plant.title} ({found.plant.name}), {found.weather}", line(text),
                line("Delivered by month, GWh:", quiet=True), picture, *map(line, missed),
                fold("Where the sun went", table(
                    ("", "GWh", "of the sun"), [(label, number(kwh / 1e6), share(kwh / sun)) for label, kwh in rows],
                    bars=[kwh / sun for _, kwh in rows])),
                line(f"Load: {found.dispatch or 'not told'}. The year closes to {found.imbalance:.0e} of the sun "
                     "(limit 1e-06).", quiet=True), warn("Warnings", found.warnings))
