"""Levelised cost: the yearly cost of owning and running a plant, divided by what it delivers in a year."""

from __future__ import annotations

from dataclasses import dataclass
from math import fsum, isfinite
from typing import Any

from loopnet.errors import ParameterError
from loopnet.money.bill import Bill, CostLine
from loopnet.money.book import PriceBook
from loopnet.money.cashflow import discounted_sum, replacement_worth
from loopnet.money.finance import Finance
from loopnet.money.pricefile import price_book
from loopnet.money.result import ON_COSTS, LevelisedCost

__all__ = ["levelise"]


def levelise(bill: Bill, finance: Finance | None = None, *, electricity: float | None = None, heat: float | None = None,
             rated_power: float | None = None, book: PriceBook | None = None) -> LevelisedCost:
    """Levelised cost of what a plant delivers.

    cost = (capital x fixed charge rate + fixed O&M + replacements - salvage) / energy + variable O&M

    Without tax the fixed charge rate is the capital recovery factor.

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
    * A line with a life shorter than the plant's is bought again at the end of its life (the share of it that its price
      renews), at the same real price without on-costs, and written off at once where tax is paid.
    * Where output decays, energy is the constant yearly amount of the same present worth.
    * The cost is linear in the prices: `LevelisedCost.slopes` holds its derivatives, `LevelisedCost.at_prices` uses
      them.

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
    delivered = power + finance.heat_worth * warmth if power > 0.0 else warmth
    energy = delivered
    if finance.decay:
        energy *= finance.recovery * discounted_sum(finance.real, int(finance.life), decay=finance.decay)
    running = _operation(bill, finance, power, rated_power, book)

    direct = bill.by_component()
    total = fsum(direct.values())
    contingency = finance.contingency * total
    engineering = (finance.indirect + finance.owner) * (total + contingency)
    interest = (finance.construction - 1.0) * (total + contingency + engineering)
    capital = {**direct, **dict(zip(ON_COSTS, (contingency, engineering, interest), strict=True))}
    charges = _Charges(finance, energy, fsum((contingency, engineering, interest)) / total)

    parts: dict[str, list[tuple[float, ...]]] = {}
    slopes: dict[str, list[float]] = {}
    for line in bill.lines:
        shares = charges.shares(line)
        parts.setdefault(line.component, []).append(tuple(share * line.usd for share in shares))
        also = running.share / energy if line.kind == "capital" else 0.0
        slopes.setdefault(line.price.key, []).append((fsum(shares) + also) * line.each)
    variable = running.variable * power / delivered  # per kWh of what the cost is per
    parts.setdefault("operation", []).append((0.0, 0.0, 0.0, running.fixed / energy + variable, 0.0, 0.0))
    for line in running.lines:  # variable cost falls with the output, fixed does not
        over = delivered if line.price.key == "om.variable" else energy
        slopes.setdefault(line.price.key, []).append(line.each / over)
    rows: tuple[tuple[Any, ...], ...] = tuple((component, *(fsum(column) for column in zip(*terms, strict=True)))
                                              for component, terms in parts.items())
    return LevelisedCost(
        product="electricity" if power > 0.0 else "heat", usd_per_kwh=fsum(term for row in rows for term in row[1:]),
        capital_usd=fsum(capital.values()),
        capital_by_component=capital, rows=rows, recovery=finance.recovery, fixed_charge=finance.fixed_charge,
        energy=energy, fixed_om=fsum((bill.yearly, running.fixed)), variable_om=variable,
        replacements=fsum(charges.again(line) * line.usd for line in bill.lines),
        salvage=finance.salvage * charges.rest * total, electricity=power or None, heat=warmth or None,
        heat_worth=finance.heat_worth, bill=bill, finance=finance.to_dict(),
        slopes={key: fsum(each) for key, each in slopes.items()},
        given=running.own_fixed / energy + running.own_variable * power / delivered, operation_lines=running.lines,
        line_terms=tuple(fsum(charges.shares(line)) * line.usd for line in bill.lines),
        notes=(*_notes(bill, finance, power, warmth), running.note, *_named(book)),
        warnings=(*bill.warnings, *(book.notes if book else ())))


@dataclass(frozen=True)
class _Charges:
    """What a dollar of a line makes a kWh cost [1/kWh], in the order of `COLUMNS`."""

    finance: Finance
    energy: float
    burden: float

    @property
    def rest(self) -> float:
        """A unit of money at the end of the plant's life, as a yearly amount [1/year]."""
        return self.finance.recovery / (1.0 + self.finance.real) ** self.finance.life

    def again(self, line: CostLine) -> float:
        """Buying a line again, as a yearly amount for each dollar of it [1/year]."""
        if line.kind != "capital" or line.life is None:
            return 0.0
        worth = replacement_worth(self.finance.real, line.life, self.finance.life)
        return line.price.renewed * worth * self.finance.recovery

    def shares(self, line: CostLine) -> tuple[float, ...]:
        if line.kind == "yearly":
            return 0.0, 0.0, 0.0, 1.0 / self.energy, 0.0, 0.0
        own = self.finance.recovery / self.energy
        return (own, own * self.burden, own * (1.0 + self.burden) * (self.finance.tax_factor - 1.0), 0.0,
                self.again(line) / self.energy, -self.finance.salvage * self.rest / self.energy)


@dataclass(frozen=True)
class _Running:
    """Operation of the whole plant: what is fixed [USD/year] and variable [USD/kWh of electricity], the price lines
    used, what is not from the book, and the share of the direct cost that the fixed cost is [1/year]."""

    fixed: float
    variable: float
    lines: tuple[CostLine, ...]
    own_fixed: float
    own_variable: float
    share: float
    note: str


def _named(book: PriceBook | None) -> tuple[str, ...]:
    """Which prices were used."""
    return (f"prices: {book.title}",) if book and book.title else ()


def _notes(bill: Bill, finance: Finance, power: float, warmth: float) -> list[str]:
    rate = f"nominal {100 * finance.rate:g} % less inflation" if finance.nominal else "real discount rate"
    notes = [f"{rate}, money of {bill.lines[0].money_year}, {'tax on profit' if finance.tax else 'no tax'}, "
             f"{'rest value at the end' if finance.salvage else 'no rest value'}"]
    if finance.tax:
        years = len(finance.shares_written_off)
        notes.append(f"tax of {100 * finance.tax:g} % with depreciation over {years} years at "
                     f"{100 * finance.inflation:g} % inflation multiplies the charge on capital by "
                     f"{finance.tax_factor:.5g}")
    if power > 0.0 and warmth > 0.0:
        notes.append(f"one kWh of heat counts as {finance.heat_worth:g} kWh of electricity (assumption)")
    if finance.decay:
        notes.append(f"output falls by {100 * finance.decay:g} % a year; energy is levelised")
    return notes


def _amount(value: float | None, name: str) -> float:
    if value is None:
        return 0.0
    if not isfinite(value) or value < 0:
        raise ParameterError("delivered energy must be a number of zero or more", where=f"levelise.{name}",
                             got=f"{value}", allowed="0 kWh/year or more", hint="look at the year's balance")
    return float(value)


def _operation(bill: Bill, finance: Finance, power: float, rated: float | None,
               book: PriceBook | None) -> _Running:
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

    share = own_fixed = own_variable = 0.0
    if power <= 0.0 or rated is None:
        share, fixed = finance.om_fraction, finance.om_fraction * bill.total
        note = f"fixed O&M is {100 * finance.om_fraction:g} % of the direct cost a year"
    elif finance.om_fixed is not None:
        fixed = own_fixed = finance.om_fixed * rated
        note = "fixed O&M as given, per rated power"
    else:
        fixed, note = from_book("om.fixed", rated), "fixed O&M from the price book, by rated power"
    if power <= 0.0:
        variable = 0.0
    elif finance.om_variable is not None:
        variable = own_variable = finance.om_variable
    else:
        variable = from_book("om.variable", power * 3.6e6) / power
    return _Running(fixed, variable, tuple(lines), own_fixed, own_variable, share, note)
