"""Levelised cost: the yearly cost of owning and running a plant, divided by what it delivers in a year."""

from __future__ import annotations

from dataclasses import dataclass
from math import fsum, isfinite

from loopnet.errors import ParameterError
from loopnet.money.bill import Bill, CostLine
from loopnet.money.book import PriceBook
from loopnet.money.cashflow import capital_recovery, construction_factor, discounted_sum, replacement_worth
from loopnet.money.pricefile import price_book
from loopnet.money.result import ON_COSTS, LevelisedCost
from loopnet.params import Parameters, param

__all__ = ["Finance", "levelise"]

_PRACTICE = "common practice, no source"
_MEMORY = "Turchi et al., NREL/TP-5500-72856 (2019), from memory"


@dataclass(frozen=True, kw_only=True)
class Finance(Parameters):
    """What money costs and what comes on top of the direct costs. All rates are real, that is, free of inflation."""

    rate: float = param(0.07, unit="1/year", low=0.0, high=0.5, source=_PRACTICE,
                        doc="discount rate, real; real_rate(nominal, inflation) makes one")
    life: float = param(25.0, unit="year", low=1.0, high=100.0, source=_PRACTICE, doc="life of the plant, whole years")
    contingency: float = param(0.07, unit="-", low=0.0, high=1.0, source=_MEMORY, doc="of the direct cost")
    indirect: float = param(0.11, unit="-", low=0.0, high=1.0, source=f"{_MEMORY}: trough 0.11, tower 0.13",
                            doc="engineering, procurement and owner's cost, of direct cost with contingency")
    construction_years: float = param(2.0, unit="year", low=0.0, high=15.0, source=_PRACTICE,
                                      doc="whole years of building, equal spending in each, in mid-year")
    construction_rate: float | None = param(None, unit="1/year", low=0.0, high=0.5, optional=True, source="assumption",
                                            doc="interest while building, real; the discount rate if None")
    om_fixed: float | None = param(None, unit="USD/W/year", low=0.0, high=10.0, optional=True, source="user",
                                   doc="fixed O&M per rated electric power; the price book's if None")
    om_variable: float | None = param(None, unit="USD/kWh", low=0.0, high=1.0, optional=True, source="user",
                                      doc="variable O&M of electricity; the price book's if None")
    om_fraction: float = param(0.015, unit="1/year", low=0.0, high=0.5, source=f"{_PRACTICE}: 1 to 2 % a year",
                               doc="fixed O&M as share of the direct cost, where no rated electric power is known or "
                                   "heat alone is sold")
    decay: float = param(0.0, unit="1/year", low=0.0, high=0.2, source="assumption", doc="output lost each year")
    heat_worth: float = param(0.3, unit="-", low=0.0, high=1.0,
                              source="assumption: ideal (Carnot) work of heat at 150 degC over 25 degC",
                              doc="electricity that one unit of heat is worth, where a plant sells both")

    def __post_init__(self) -> None:
        super().__post_init__()
        for name in ("life", "construction_years"):
            years = getattr(self, name)
            if years != int(years):
                raise ParameterError("years must be whole", where=f"Finance.{name}", got=f"{years:g}",
                                     allowed="whole years", hint=f"{name}={round(years)}")

    @property
    def recovery(self) -> float:
        """Capital recovery factor [1/year]."""
        return capital_recovery(self.rate, self.life)

    @property
    def construction(self) -> float:
        """Factor of interest during construction [-]."""
        years = int(self.construction_years)
        rate = self.rate if self.construction_rate is None else self.construction_rate
        return construction_factor(rate, [1.0 / years] * years) if years else 1.0


def levelise(bill: Bill, finance: Finance | None = None, *, electricity: float | None = None, heat: float | None = None,
             rated_power: float | None = None, book: PriceBook | None = None) -> LevelisedCost:
    """Levelised cost of what a plant delivers.

    cost = (capital x recovery + fixed O&M + replacements) / energy + variable O&M

    Parameters
    ----------
    bill : Bill
        Capital lines and yearly lines.
    finance : Finance or None
        Rates, lives and on-costs; the defaults if None.
    electricity, heat : float or None
        Delivered in the first year [kWh/year]; None or 0 for what the plant does not deliver.
    rated_power : float or None
        Rated net electric power, for the fixed O&M [W].
    book : PriceBook or None
        Where the O&M prices ``om.fixed`` and ``om.variable`` come from; the shipped book if None. Give the book the
        bill was made with.

    Returns
    -------
    LevelisedCost
        The cost per kWh with all its terms.

    Raises
    ------
    ParameterError
        If nothing is delivered, an amount is negative or not finite, the bill is empty, or book and bill are in
        different money.

    Notes
    -----
    * A plant with one product has the cost of that product. With both, one kWh of heat counts as `Finance.heat_worth`
      kWh of electricity, and the cost is per kWh of electricity so reckoned.
    * A line with a life shorter than the plant's is bought again at the end of its life, at the same real price without
      on-costs; there is no rest value.
    * Where output decays, energy is the constant yearly amount of the same present worth.
    * No tax.

    References
    ----------
    Short, Packey, Holt, A Manual for the Economic Evaluation of Energy Efficiency and Renewable Energy Technologies,
    NREL/TP-462-5173 (1995); the formula from memory.

    Examples
    --------
    1000 USD per kW, 20 USD a year and 500 kWh a year, 8 %, 25 years:

    >>> from loopnet.money import Price, PriceBook
    >>> p = Price(key="kit", value=1000, unit="USD/kW", year=2023, source="example", status="assumption")
    >>> book = PriceBook(prices={"kit": p}, money_year=2023)
    >>> money = Finance(rate=0.08, contingency=0, indirect=0, construction_years=0, om_fixed="20 USD/kW/year",
    ...                 om_variable=0)
    >>> cost = levelise(Bill([book.line("kit", quantity="1 kW", component="kit")]), money, electricity=500,
    ...                 rated_power=1000.0)
    >>> round(cost.usd_per_kwh, 7)
    0.2273576
    """
    finance = finance or Finance()
    power, warmth = _amount(electricity, "electricity"), _amount(heat, "heat")
    if power + warmth <= 0.0:
        raise ParameterError("a cost per kWh needs a plant that delivers something", where="levelise",
                             got=f"electricity={electricity}, heat={heat}",
                             allowed="more than 0 kWh/year of one of them",
                             hint="look at why the year delivers nothing: store, minimum load, design point")
    if bill.total <= 0.0:
        raise ParameterError("the bill has no capital cost", where="levelise.bill", got=repr(bill),
                             allowed="at least one line above 0 USD", hint="Bill([book.line(...), ...])")
    product = "electricity" if power > 0.0 else "heat"
    notes = [f"real discount rate, money of {bill.lines[0].money_year}, no tax, no rest value"]
    delivered = power + finance.heat_worth * warmth if power > 0.0 else warmth
    if power > 0.0 and warmth > 0.0:
        notes.append(f"one kWh of heat counts as {finance.heat_worth:g} kWh of electricity (assumption)")
    operation, om_notes = _operation(bill, finance, power, rated_power, book)
    recovery, life = finance.recovery, int(finance.life)
    energy = delivered
    if finance.decay:
        energy *= recovery * discounted_sum(finance.rate, life, decay=finance.decay)
        notes.append(f"output falls by {100 * finance.decay:g} % a year; energy is levelised")

    direct = bill.by_component()
    total = fsum(direct.values())
    contingency = finance.contingency * total
    engineering = finance.indirect * (total + contingency)
    interest = (finance.construction - 1.0) * (total + contingency + engineering)
    capital = {**direct, **dict(zip(ON_COSTS, (contingency, engineering, interest), strict=True))}
    burden = fsum((contingency, engineering, interest)) / total

    fixed: dict[str, list[float]] = {}
    for line in bill.lines:
        if line.kind == "yearly":
            fixed.setdefault(line.component, []).append(line.usd)
    fixed.setdefault("operation", []).append(operation["fixed"])
    again: dict[str, list[float]] = {}
    for line in bill.lines:
        if line.kind == "capital" and line.life is not None:
            worth = replacement_worth(finance.rate, line.life, finance.life)
            again.setdefault(line.component, []).append(line.renewed * worth * recovery)

    variable = operation["variable"] * power / delivered  # per kWh of what the cost is per
    rows = []
    for component in dict.fromkeys((*direct, *fixed, *again)):
        cost = direct.get(component, 0.0)
        running = fsum(fixed.get(component, [])) / energy + (variable if component == "operation" else 0.0)
        rows.append((component, cost * recovery / energy, cost * burden * recovery / energy, running,
                     fsum(again.get(component, [])) / energy))
    return LevelisedCost(
        product=product, usd_per_kwh=fsum(term for row in rows for term in row[1:]), capital_usd=fsum(capital.values()),
        capital_by_component=capital, rows=tuple(rows), recovery=recovery, energy=energy,
        fixed_om=fsum(x for costs in fixed.values() for x in costs), variable_om=variable,
        replacements=fsum(x for costs in again.values() for x in costs), electricity=power or None, heat=warmth or None,
        heat_worth=finance.heat_worth, bill=bill, finance=finance.to_dict(), operation_lines=operation["lines"],
        notes=(*notes, *om_notes), warnings=bill.warnings)


def _amount(value: float | None, name: str) -> float:
    if value is None:
        return 0.0
    if not isfinite(value) or value < 0:
        raise ParameterError("delivered energy must be a number of zero or more", where=f"levelise.{name}",
                             got=f"{value}", allowed="0 kWh/year or more", hint="look at the year's balance")
    return float(value)


def _operation(bill: Bill, finance: Finance, power: float, rated: float | None,
               book: PriceBook | None) -> tuple[dict, list[str]]:
    """Fixed O&M of the whole plant [USD/year], variable O&M [USD/kWh of electricity], and the price lines they use."""
    if rated is not None and (not isfinite(rated) or rated <= 0):
        raise ParameterError("rated power must be above zero", where="levelise.rated_power", got=f"{rated} W",
                             allowed="more than 0 W, or None", hint="net electric power in W")
    lines: list[CostLine] = []

    def from_book(key: str, quantity: float) -> float:
        prices = book or price_book(money_year=bill.lines[0].money_year)
        line = prices.line(key, quantity=quantity, component="operation", item=key)
        if line.money_year != bill.lines[0].money_year:
            raise ParameterError("price book and bill are in different money", where="levelise.book",
                                 got=f"{line.money_year} and {bill.lines[0].money_year}", allowed="one money year",
                                 hint="give the book the bill was made with")
        lines.append(line)
        return line.usd

    if power <= 0.0 or rated is None:
        fixed = finance.om_fraction * bill.total
        note = f"fixed O&M is {100 * finance.om_fraction:g} % of the direct cost a year"
    elif finance.om_fixed is not None:
        fixed, note = finance.om_fixed * rated, "fixed O&M as given, per rated power"
    else:
        fixed, note = from_book("om.fixed", rated), "fixed O&M from the price book, by rated power"
    if power <= 0.0:
        variable = 0.0
    elif finance.om_variable is not None:
        variable = finance.om_variable
    else:
        variable = from_book("om.variable", power * 3.6e6) / power
    return {"fixed": fixed, "variable": variable, "lines": tuple(lines)}, [note]
