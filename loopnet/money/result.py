"""The levelised cost as a frozen result: its terms by component, its formula with the numbers in it, its weak point."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from math import fsum
from typing import TYPE_CHECKING, Any

from loopnet.money.bill import Bill, CostLine

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["COLUMNS", "ON_COSTS", "LevelisedCost"]

ON_COSTS = ("contingency", "engineering and owner", "interest during construction")
COLUMNS = ("capital", "on-costs", "O&M", "replacements")
"""Columns of the terms. On-costs are those of `ON_COSTS`, laid on the components in proportion to their direct cost,
which is how they arise."""


@dataclass(frozen=True, kw_only=True)
class LevelisedCost:
    """Cost per kWh of a plant's product, and all that it is made of.

    Parameters
    ----------
    product : str
        ``"electricity"`` or ``"heat"``.
    usd_per_kwh : float
        Levelised cost of the product [USD/kWh].
    capital_usd : float
        Capital cost with all on-costs [USD].
    capital_by_component : dict
        The same by component, on-costs as entries of their own [USD].
    rows : tuple
        Component and its terms in the order of `COLUMNS` [USD/kWh].
    recovery : float
        Capital recovery factor [1/year].
    energy : float
        Levelised yearly amount of the product [kWh/year].
    fixed_om, replacements : float
        Yearly costs [USD/year].
    variable_om : float
        Cost per kWh of the product [USD/kWh].
    electricity, heat : float or None
        Delivered in the first year [kWh/year].
    heat_worth : float
        Electricity that one unit of heat counts as, where both are delivered [-].
    bill : Bill
        The bill behind it.
    finance : dict
        The financial parameters.
    operation_lines : tuple of CostLine
        Prices of operation taken from the price book.
    notes, warnings : tuple of str
        Rules applied; prices extrapolated.
    """

    product: str
    usd_per_kwh: float
    capital_usd: float
    capital_by_component: dict[str, float]
    rows: tuple[tuple[str, float, float, float, float], ...]
    recovery: float
    energy: float
    fixed_om: float
    variable_om: float
    replacements: float
    electricity: float | None
    heat: float | None
    heat_worth: float
    bill: Bill
    finance: dict[str, Any]
    operation_lines: tuple[CostLine, ...] = ()
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def usd_per_kwh_electricity(self) -> float | None:
        """Levelised cost of electricity; None if none is delivered [USD/kWh]."""
        return self.usd_per_kwh if self.electricity else None

    @property
    def usd_per_kwh_heat(self) -> float | None:
        """Levelised cost of heat; None if none is delivered. Beside electricity it is `heat_worth` times that of
        electricity [USD/kWh]."""
        if not self.heat:
            return None
        return self.usd_per_kwh * (self.heat_worth if self.electricity else 1.0)

    @property
    def terms(self) -> pd.DataFrame:
        """Terms by component (rows) and kind (`COLUMNS`); all of them together are `usd_per_kwh` [USD/kWh]."""
        import pandas as pd

        return pd.DataFrame([row[1:] for row in self.rows], columns=list(COLUMNS),
                            index=pd.Index([row[0] for row in self.rows], name="component"))

    @property
    def by_component(self) -> dict[str, float]:
        """All terms of each component [USD/kWh]."""
        return {row[0]: fsum(row[1:]) for row in self.rows}

    @property
    def weak_point(self) -> str:
        """The component whose terms are largest: where to look first."""
        costs = self.by_component
        return max(costs, key=lambda component: costs[component])

    def formula(self) -> str:
        """The cost as one line of symbols and one of numbers."""
        cents = 100 * self.usd_per_kwh
        return (
            "cost = (capital x recovery + fixed O&M + replacements) / energy + variable O&M\n"
            f"     = ({_million(self.capital_usd)} x {self.recovery:.5g} + {_million(self.fixed_om)} + "
            f"{_million(self.replacements)}) / {self.energy / 1e6:.5g} GWh + {100 * self.variable_om:.4g} ct/kWh = "
            f"{cents:.4g} ct/kWh")

    def to_frame(self) -> pd.DataFrame:
        """The terms with totals, in US cents per kWh, largest component first."""
        table = 100 * self.terms
        table["total"] = table.sum(axis=1)
        table = table.sort_values("total", ascending=False)
        table.loc["total"] = table.sum()
        return table

    def to_dict(self) -> dict[str, Any]:
        """Plain dict of numbers and text."""
        return {
            "product": self.product, "usd_per_kwh": self.usd_per_kwh,
            "usd_per_kwh_electricity": self.usd_per_kwh_electricity, "usd_per_kwh_heat": self.usd_per_kwh_heat,
            "capital_usd": self.capital_usd, "capital_by_component": dict(self.capital_by_component),
            "terms_usd_per_kwh": {row[0]: dict(zip(COLUMNS, row[1:], strict=True)) for row in self.rows},
            "recovery": self.recovery, "energy_kwh": self.energy, "fixed_om_usd": self.fixed_om,
            "variable_om_usd_per_kwh": self.variable_om, "replacements_usd": self.replacements,
            "electricity_kwh": self.electricity, "heat_kwh": self.heat, "weak_point": self.weak_point,
            "formula": self.formula(), "finance": dict(self.finance), "bill": self.bill.to_dict(),
            "notes": list(self.notes), "warnings": list(self.warnings)}

    def prices_used(self) -> pd.DataFrame:
        """Every price used, those of operation included, with status and source."""
        return Bill((*self.bill.lines, *self.operation_lines)).prices_used()

    def __repr__(self) -> str:
        return (f"<LevelisedCost {100 * self.usd_per_kwh:.4g} ct/kWh of {self.product}, capital "
                f"{_million(self.capital_usd)}, weak point {self.weak_point}>")

    def _repr_html_(self) -> str:
        notes = "; ".join((*self.notes, *self.warnings))
        return (f"<p>{escape(repr(self)[1:-1])}</p><pre>{escape(self.formula())}</pre>"
                f"{self.to_frame().round(3).to_html()}<p>{escape(notes)}</p>")


def _million(usd: float) -> str:
    return f"{usd / 1e6:.5g} MUSD"
