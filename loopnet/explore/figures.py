"""What is kept of a plant's year: its figures, and a bill from which other prices give another cost without a new year.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isfinite
from typing import Any

import numpy as np

from loopnet.money import Bill, Finance, PriceBook, levelise
from loopnet.solve import Sized
from loopnet.study import Assessment
from loopnet.study.supply import demand_of, supply_point

__all__ = ["BillLine", "bill_lines", "figures_of", "land_under_mirrors", "money_figures", "reckon"]

BillLine = tuple[str, str, str, float, str, float | None]
"""Component, key of the price, item, quantity [SI], note, own life [year]."""
FIRM = 0.8
"""Share of full supply that the mean of a firm month reaches [-]."""


def figures_of(a: Assessment) -> dict[str, Any]:
    """Figures of a plant and its year that no price changes.

    Parameters
    ----------
    a : Assessment

    Returns
    -------
    dict
        Plain values; energies [kWh a year], `land_m2`, `aperture_m2` [m2], `net_power_w` [W], shares [-].
    """
    year, sized = a.year, a.sized
    years = len(year.hourly) * year.step / (8760 * 3600.0)
    electric = year.gross > 0
    delivery = (year.net if electric else year.heat) / years
    firm = supply_point(year, demand_of(sized), store=0.0, firm=FIRM)
    found = {
        "name": a.plant.name, "title": a.plant.title, "dispatch": year.dispatch, "product": a.cost.product,
        "delivery_kwh": delivery, "electricity_kwh": year.net / years if electric else None,
        "heat_kwh": year.heat / years if year.heat > 0 else None, "sun_kwh": year.sun / years,
        "collected_kwh": year.collected / years, "parasitic_kwh": year.parasitic / years,
        "efficiency": delivery / (year.sun / years) if year.sun > 0 else None, "capacity_factor": a.capacity_factor,
        "full_supply": firm.full, "firm_months": firm.months, "stopped": firm.stopped,
        "delivered_share": firm.delivered, "land_m2": land_under_mirrors(sized), "aperture_m2": a.aperture,
        "net_power_w": a.net_power, "rated_power_w": sized.plant.design.net_power if electric else None,
        "store_kwh": a.store_heat, "map_error": _number(getattr(year, "error", None)),
        "year_imbalance": year.imbalance, "steady_imbalance": year.steady_imbalance, "pinch_k": _number(year.pinch),
        "warnings": list(dict.fromkeys((*sized.findings, *year.warnings))),
    }
    return {name: float(value) if isinstance(value, np.floating) else value for name, value in found.items()}


def _number(value: Any) -> float | None:
    return float(value) if isinstance(value, (int, float, np.number)) and isfinite(value) else None


def land_under_mirrors(sized: Sized) -> float | None:
    """Land that the mirrors of a plant take [m2], by the cover or the spacing of their layout; None where a field has
    neither. Power block, roads and margins come on top.

    Parameters
    ----------
    sized : Sized

    Returns
    -------
    float or None
        Land [m2].
    """
    total = 0.0
    for name in sized.plant.of_family("field"):
        tracking = getattr(getattr(sized.plant.components[name], "collector", None), "tracking", None)
        cover = getattr(tracking, "cover", None) or getattr(tracking, "ground_cover", None)
        for wide, apart in (("aperture_width", "row_spacing"), ("mirror_width", "pitch")):
            if cover is None and getattr(tracking, apart, None):
                cover = getattr(tracking, wide) / getattr(tracking, apart)
        if not cover:
            return None
        total += float(sized.values[f"{name}.aperture"]) / float(cover)
    return total


def bill_lines(bill: Bill) -> list[BillLine]:
    """A bill as what was bought and how much of it, without prices."""
    return [(line.component, line.price.key, line.item, float(line.quantity), line.note, line.own_life)
            for line in bill.lines]


def money_figures(cost: Any) -> dict[str, Any]:
    """What a kilowatt-hour costs and why, from a levelised cost."""
    return {"usd_per_kwh": cost.usd_per_kwh, "capital_usd": cost.capital_usd, "weak_point": cost.weak_point,
            "by_component": dict(cost.by_component)}


def reckon(figures: Mapping[str, Any], lines: Sequence[BillLine], book: PriceBook, finance: Finance) -> dict[str, Any]:
    """The cost of a plant at other prices or other finance: what was bought stays, no year is run.

    Parameters
    ----------
    figures : mapping
        Of `figures_of`.
    lines : sequence of BillLine
        Of `bill_lines`.
    book : PriceBook
    finance : Finance

    Returns
    -------
    dict
        As `money_figures` gives it [USD, USD/kWh].

    Raises
    ------
    ParameterError
        If the book lacks a price that the bill needs.
    """
    bill = Bill(book.line(key, quantity=quantity, component=component, item=item, note=note, life=life)
                for component, key, item, quantity, note, life in lines)
    return money_figures(levelise(bill, finance, electricity=figures["electricity_kwh"], heat=figures["heat_kwh"],
                                  rated_power=figures["rated_power_w"], book=book))
