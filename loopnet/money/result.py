"""The levelised cost as a frozen result: its terms by component, its formula with the numbers in it, its weak point."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from math import fsum
from typing import TYPE_CHECKING, Any

from loopnet.errors import ParameterError
from loopnet.money.bill import Bill, CostLine
from loopnet.money.prices import Price
from loopnet.shown import shown

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["COLUMNS", "ON_COSTS", "LevelisedCost"]

ON_COSTS = ("contingency", "engineering and owner", "interest during construction")
COLUMNS = ("capital", "on-costs", "tax", "O&M", "replacements", "salvage")
"""Columns of the terms. On-costs are those of `ON_COSTS`, laid on the components in proportion to their direct cost,
which is how they arise; tax is what it adds to the charge on both; salvage is below zero where it is a credit."""


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
    recovery, fixed_charge : float
        Capital recovery factor, and the same with tax [1/year].
    energy : float
        Levelised yearly amount of the product [kWh/year].
    fixed_om, replacements, salvage : float
        Yearly costs, and the yearly credit for what is left at the end [USD/year].
    variable_om : float
        Cost per kWh of the product [USD/kWh].
    electricity, heat : float or None
        Delivered in the first year [kWh/year].
    heat_worth : float
        Electricity that one unit of heat counts as, where both are delivered [-].
    bill : Bill
        The bill behind it.
    finance : dict
        The financial parameters; ``Finance(**cost.finance)`` is the object.
    slopes : dict
        Change of the cost with each price of the book [USD/kWh for each unit of the price's value].
    given : float
        Part of the cost that is no price of the book [USD/kWh].
    line_terms : tuple of float
        All terms of each line of the bill [USD/kWh].
    operation_lines : tuple of CostLine
        Prices of operation taken from the price book.
    notes, warnings : tuple of str
        Rules applied; prices extrapolated.
    """

    product: str
    usd_per_kwh: float
    capital_usd: float
    capital_by_component: dict[str, float]
    rows: tuple[tuple[Any, ...], ...]
    recovery: float
    fixed_charge: float
    energy: float
    fixed_om: float
    variable_om: float
    replacements: float
    salvage: float
    electricity: float | None
    heat: float | None
    heat_worth: float
    bill: Bill
    finance: dict[str, Any]
    slopes: dict[str, float]
    given: float = 0.0
    line_terms: tuple[float, ...] = ()
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

    @property
    def weak_line(self) -> tuple[CostLine, float]:
        """The line of the bill that costs most per kWh within the weak point, and what it costs [USD/kWh]; the dearest
        of the whole bill where the weak point is the operation."""
        lines = list(zip((*self.bill.lines,), self.line_terms, strict=True))
        own = [pair for pair in lines if pair[0].component == self.weak_point]
        return max(own or lines, key=lambda pair: pair[1])

    def weakness(self) -> str:
        """The weak point in a sentence: the component, its largest term, its dearest line."""
        terms = {row[0]: dict(zip(COLUMNS, row[1:], strict=True)) for row in self.rows}[self.weak_point]
        kind = max(terms, key=lambda name: terms[name])
        line, usd = self.weak_line
        text = (f"Weak point: {self.weak_point}, {_cents(self.by_component[self.weak_point])} of "
                f"{_cents(self.usd_per_kwh)} ct/kWh ({self.by_component[self.weak_point] / self.usd_per_kwh:.0%}), "
                f"mostly {kind} ({_cents(terms[kind])})")
        inside = "its" if line.component == self.weak_point else "the bill's"
        return f"{text.replace('%', ' %')}; {inside} dearest line is {line.item} ({_cents(usd)})."

    @property
    def by_formula(self) -> float:
        """The cost by its formula, apart from the terms that `usd_per_kwh` is the sum of [USD/kWh]."""
        yearly = self.capital_usd * self.fixed_charge + self.fixed_om + self.replacements - self.salvage
        return yearly / self.energy + self.variable_om

    def formula(self) -> str:
        """The cost as one line of symbols and one of numbers; terms that are zero for want of tax or rest value are
        left out."""
        taxed, rest = self.fixed_charge != self.recovery, self.salvage != 0.0
        return (
            f"cost = (capital x {'fixed charge rate' if taxed else 'recovery'} + fixed O&M + replacements"
            f"{' - salvage' if rest else ''}) / energy + variable O&M\n"
            f"     = ({_million(self.capital_usd)} x {self.fixed_charge:.5g} + {_million(self.fixed_om)} + "
            f"{_million(self.replacements)}{f' - {_million(self.salvage)}' if rest else ''}) / "
            f"{self.energy / 1e6:.5g} GWh + {100 * self.variable_om:.4g} ct/kWh = {100 * self.usd_per_kwh:.4g} ct/kWh")

    def at_prices(self, values: Mapping[str, Any]) -> Any:
        """The cost at other prices and the same physics; exact, as the cost is linear in the prices.

        Parameters
        ----------
        values : mapping of str to float or array
            New value of each price that differs, by key, all of one shape [the price's own unit and money].

        Returns
        -------
        float or array
            Levelised cost, of that shape [USD/kWh].

        Raises
        ------
        ParameterError
            If a key is not among the prices used.

        Examples
        --------
        >>> from loopnet.money import Bill, levelise, price_book
        >>> bill = Bill([price_book().line("medium.quartz_sand", quantity=1e6, component="silo")])
        >>> cost = levelise(bill, heat=1e6)
        >>> round(cost.at_prices({"medium.quartz_sand": 80}) / cost.usd_per_kwh, 12)
        2.0
        """
        used = self._used()
        for key in values:
            if key not in used:
                near = get_close_matches(str(key), used, n=3, cutoff=0.5)
                raise ParameterError("this cost does not depend on such a price", where="LevelisedCost.at_prices",
                                     got=repr(key), allowed=", ".join(used),
                                     hint=" or ".join(near) or "a key of slopes")
        return self.usd_per_kwh + sum(self.slopes[key] * (value - used[key].value) for key, value in values.items())

    def _used(self) -> dict[str, Price]:
        return {line.price.key: line.price for line in (*self.bill.lines, *self.operation_lines)}

    def to_frame(self) -> pd.DataFrame:
        """The terms with totals, in US cents per kWh, largest component first; tax and salvage only where there are."""
        table = 100 * self.terms
        table = table.drop(columns=[c for c in ("tax", "salvage") if not table[c].any()])
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
            "recovery": self.recovery, "fixed_charge": self.fixed_charge, "energy_kwh": self.energy,
            "fixed_om_usd": self.fixed_om, "variable_om_usd_per_kwh": self.variable_om,
            "replacements_usd": self.replacements, "salvage_usd": self.salvage, "electricity_kwh": self.electricity,
            "heat_kwh": self.heat, "weak_point": self.weak_point, "weakness": self.weakness(),
            "slopes_usd_per_kwh": dict(self.slopes), "given_usd_per_kwh": self.given,
            "formula": self.formula(), "finance": dict(self.finance), "bill": self.bill.to_dict(),
            "notes": list(self.notes), "warnings": list(self.warnings)}

    def prices_used(self) -> pd.DataFrame:
        """Every price used, those of operation included, with status and source."""
        return Bill((*self.bill.lines, *self.operation_lines)).prices_used()

    def __repr__(self) -> str:
        return (f"<LevelisedCost {100 * self.usd_per_kwh:.4g} ct/kWh of {self.product}, capital "
                f"{_million(self.capital_usd)}, weak point {self.weak_point}>")

    def _repr_html_(self) -> str:
        return shown(self)


def _cents(usd: float) -> str:
    return f"{100 * usd:.2f}" if usd >= 0.01 else f"{100 * usd:.3g}"


def _million(usd: float) -> str:
    return f"{usd / 1e6:.5g} MUSD"
