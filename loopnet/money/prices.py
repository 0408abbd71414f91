"""A price with its unit, range, scaling law, year's money and source; and the book that holds them all."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from math import isfinite
from typing import TYPE_CHECKING, Any

from loopnet.errors import ParameterError
from loopnet.units import Quantity, to_si

if TYPE_CHECKING:
    import pandas as pd

    from loopnet.money.bill import CostLine

__all__ = ["KINDS", "STATUSES", "UNITS", "Price", "PriceBook"]

STATUSES = ("seen", "second-hand", "from memory", "common practice", "assumption", "user")
KINDS = ("capital", "yearly")

UNITS: dict[str, tuple[str, float]] = {
    "m": ("m", 1.0), "m2": ("m2", 1.0), "m3": ("m3", 1.0), "kg": ("kg", 1.0), "t": ("kg", 1e3),
    "W": ("W", 1.0), "kW": ("W", 1e3), "MW": ("W", 1e6),
    "J": ("J", 1.0), "kWh": ("J", 3.6e6), "MWh": ("J", 3.6e9),
    "m3/s": ("m3/s", 1.0), "L/s": ("m3/s", 1e-3), "kg/s": ("kg/s", 1.0), "t/h": ("kg/s", 1 / 3.6), "piece": ("-", 1.0),
}
"""What a price can be per: unit in the book -> (SI unit of the quantity, SI units in one of it)."""


@dataclass(frozen=True, kw_only=True)
class Price:
    """What one unit of something costs, and how that is known.

    The cost of a quantity q is ``value * reference * (q / reference) ** exponent``; above `largest`, units of that size
    stand side by side and the cost grows in proportion. `value`, `low` and `high` are in `unit` and in the money of
    `year`; `reference`, `smallest` and `largest` are in the quantity's unit, the part of `unit` after ``USD/``.

    Parameters
    ----------
    key : str
        Dotted name in the book.
    value, low, high : float
        Likely, low and high price [`unit`].
    unit : str
        Such as ``"USD/m2"``; a yearly cost ends in ``/y``.
    year : int
        Year of the money [year].
    currency : str
        Currency of `unit`.
    exponent : float
        Scaling exponent of the total cost with size [-].
    reference : float
        Size at which `value` holds [quantity's unit].
    smallest, largest : float or None
        Range of size the price is known for [quantity's unit].
    index : str or None
        Cost index that brings the price to other years; None keeps the number as it is.
    life : float or None
        Years until it is bought again; None for the life of the plant [year].
    source, status : str
        Where it comes from, and one of `STATUSES`.
    doc : str
        What the price is for and includes.

    Raises
    ------
    ParameterError
        If a number is negative or not finite, the range does not hold the value, or a word is not one of those allowed.
    """

    key: str
    value: float
    unit: str
    source: str
    status: str
    year: int
    low: float | None = None
    high: float | None = None
    currency: str = "USD"
    exponent: float = 1.0
    reference: float = 1.0
    smallest: float | None = None
    largest: float | None = None
    index: str | None = None
    life: float | None = None
    doc: str = ""

    def __post_init__(self) -> None:
        for name, low, high in (("value", 0, 1e12), ("low", 0, 1e12), ("high", 0, 1e12), ("exponent", 0, 3),
                                ("reference", 1e-9, 1e12), ("smallest", 0, 1e12), ("largest", 1e-9, 1e15),
                                ("life", 0.05, 200), ("year", 1950, 2100)):
            number = getattr(self, name)
            if number is None and name in ("low", "high", "smallest", "largest", "life"):
                continue
            if isinstance(number, bool) or not isinstance(number, (int, float)):
                self._refuse(name, "not a number", repr(number), "a number", f"{name} = 12.5")
            if not isfinite(number) or not low <= number <= high:
                self._refuse(name, "a price cannot be negative" if number < 0 and name in ("value", "low", "high")
                             else "out of range", f"{number:g}", f"{low:g} to {high:g}", f"{name} within that range")
        for name in ("source", "status", "unit", "currency", "doc"):
            if not isinstance(getattr(self, name), str):
                self._refuse(name, "not a text", repr(getattr(self, name)), "a text", f'{name} = "..."')
        if not self.source.strip():
            self._refuse("source", "every price says where it comes from", repr(self.source), "a text",
                         'source = "quotation of ..." or "assumption: ..."')
        if self.status not in STATUSES:
            self._refuse("status", "not a known status", repr(self.status), ", ".join(STATUSES), "one of these words")
        currency, _, rest = self.unit.partition("/")
        if currency != self.currency or rest.removesuffix("/y") not in UNITS:
            self._refuse("unit", "not a unit of a price", repr(self.unit),
                         f"{self.currency}/ and one of {', '.join(UNITS)}, with /y at the end for a yearly cost",
                         f'unit = "{self.currency}/m2"')
        for name in ("low", "high"):
            if getattr(self, name) is None:
                object.__setattr__(self, name, self.value)
        if not self.low <= self.value <= self.high:  # type: ignore[operator]
            self._refuse("value", "does not lie between low and high", f"{self.value:g}",
                         f"{self.low:g} to {self.high:g}", "a range that holds the value")

    def _refuse(self, name: str, what: str, got: str, allowed: str, hint: str) -> None:
        raise ParameterError(what, where=f"{self.key}.{name}", got=got, allowed=allowed, hint=hint)

    @property
    def kind(self) -> str:
        """``"capital"`` for what is bought, ``"yearly"`` for what is paid every year."""
        return "yearly" if self.unit.endswith("/y") else "capital"

    @property
    def quantity_unit(self) -> str:
        """What the price is per, as the book writes it: ``"kW"``."""
        return self.unit.partition("/")[2].removesuffix("/y")

    @property
    def si_unit(self) -> str:
        """SI unit in which a plain quantity is given: ``"W"``."""
        return UNITS[self.quantity_unit][0]

    def cost(self, quantity: float) -> float:
        """Cost of a quantity in the price's own money.

        Parameters
        ----------
        quantity : float
            How much [SI: m2, m3, m, kg, W, J, m3/s].

        Returns
        -------
        float
            Cost [`currency` of `year`, a year for yearly prices].

        Examples
        --------
        Six-tenths rule: twice the size costs 1.516 times as much.

        >>> p = Price(key="tank", value=50, unit="USD/m3", reference=1000, exponent=0.6, year=2010, source="example",
        ...           status="assumption")
        >>> round(p.cost(2000) / p.cost(1000), 3)
        1.516
        """
        size = quantity / UNITS[self.quantity_unit][1]
        if size <= 0.0:
            return 0.0
        if self.largest is not None and size > self.largest:
            units, size = size / self.largest, self.largest
        else:
            units = 1.0
        return units * self.value * self.reference * (size / self.reference) ** self.exponent

    def __repr__(self) -> str:
        band = f"({self.low:g} to {self.high:g})"
        return f"<Price {self.key}: {self.value:g} {self.unit} {band}, {self.year}, {self.status}>"


@dataclass(frozen=True, kw_only=True)
class PriceBook:
    """All prices by key, with the tables that bring them to one year's US dollars.

    Parameters
    ----------
    prices : mapping of str to Price
        The prices by key.
    money_year : int
        Year whose money all costs are given in [year].
    indices : mapping
        Cost index by name and year [-].
    exchange : mapping
        USD for one unit of a currency, by currency and year [USD].
    title : str
        Name and version for reports.
    """

    prices: Mapping[str, Price]
    money_year: int
    indices: Mapping[str, Mapping[int, float]] = field(default_factory=dict)
    exchange: Mapping[str, Mapping[int, float]] = field(default_factory=dict)
    title: str = ""

    def __post_init__(self) -> None:
        for price in self.prices.values():  # every price must be convertible; found out here, not in a long run
            self.to_money_year(1.0, price)

    def __getitem__(self, key: str) -> Price:
        try:
            return self.prices[key]
        except KeyError:
            near = get_close_matches(str(key), self.prices, n=3, cutoff=0.5)
            near = near or sorted(k for k in self.prices if k.split(".")[0] == str(key).split(".")[0])
            raise ParameterError("no such price in the book", where="price book", got=repr(key),
                                 allowed=f"one of {len(self.prices)} keys; list(book) shows them",
                                 hint=" or ".join(near) if near else "list(book)") from None

    def __iter__(self) -> Iterator[str]:
        return iter(self.prices)

    def __len__(self) -> int:
        return len(self.prices)

    def __contains__(self, key: object) -> bool:
        return key in self.prices

    def __repr__(self) -> str:
        return f"<PriceBook {self.title or 'own'}: {len(self)} prices in USD of {self.money_year}>"

    def index_value(self, index: str, year: int) -> float:
        """Cost index of a year [-]; refused, with the years there are, where the table has none."""
        table = self.indices.get(index)
        if table is None:
            raise ParameterError("no such cost index", where="price book", got=repr(index),
                                 allowed=", ".join(self.indices) or "none is loaded", hint="index left out, or CEPCI")
        return _of_year(table, year, f"cost index {index}")

    def escalate(self, cost: float, index: str, start: int, end: int) -> float:
        """Bring a cost from one year's money to another's, C2 = C1 I2 / I1.

        Parameters
        ----------
        cost : float
            Cost in the money of `start` [USD].
        index : str
            Name of the cost index.
        start, end : int
            Years [year].

        Returns
        -------
        float
            Cost in the money of `end` [USD].

        References
        ----------
        Turton et al., Analysis, Synthesis and Design of Chemical Processes, 3rd ed., section 7.2.2.

        Examples
        --------
        >>> from loopnet.money import price_book
        >>> round(price_book().escalate(25000, "CEPCI", 1992, 2006))
        34869
        """
        return cost * self.index_value(index, end) / self.index_value(index, start)

    def to_money_year(self, cost: float, price: Price) -> float:
        """Bring a cost in the money of `price` to USD of the book's year."""
        if price.currency != "USD":
            if price.currency not in self.exchange:
                raise ParameterError("no exchange rates for this currency", where=f"{price.key}.currency",
                                     got=repr(price.currency), allowed=", ".join(["USD", *self.exchange]),
                                     hint="the price in USD")
            cost *= _of_year(self.exchange[price.currency], price.year, f"exchange rate of {price.currency}")
        return cost if price.index is None else self.escalate(cost, price.index, price.year, self.money_year)

    def usd(self, key: str) -> float:
        """Unit price at its reference size in USD of the book's year, per unit of the book [USD/quantity unit]."""
        return self.to_money_year(self[key].value, self[key])

    def line(self, key: str, *, quantity: Quantity, component: str, item: str = "", note: str = "",
             life: float | None = None) -> CostLine:
        """Cost line for a quantity at the price `key`.

        Parameters
        ----------
        key : str
            Key of the price.
        quantity : float or str
            How much [SI: m2, m3, m, kg, W, J, ...], or text with a unit such as ``"20 MW"``.
        component : str
            The component that causes the cost.
        item : str
            What is bought, in a word; the key if left out.
        note : str
            Anything to be read beside it.
        life : float or None
            Years until it is bought again, if other than the book says [year].

        Returns
        -------
        CostLine
            With the cost in USD of the book's year.

        Raises
        ------
        ParameterError
            If the key is unknown or the quantity is negative, not finite, or of another unit.
        """
        from loopnet.money.bill import CostLine

        price = self[key]
        if life is not None:
            price = replace(price, life=life)
        where = f"{component}.{item or key}"
        try:
            amount = to_si(quantity, price.si_unit)
        except ParameterError as why:
            raise ParameterError(why.what, where=where, got=why.got, allowed=why.allowed,
                                 hint=f"a quantity in {price.si_unit}") from None
        if not isfinite(amount) or amount < 0:
            raise ParameterError("a cost line needs a quantity of zero or more", where=where,
                                 got=f"{amount:g} {price.si_unit}", allowed=f"0 {price.si_unit} or more",
                                 hint="check the size of this component")
        return CostLine(component=component, item=item or key, price=price, quantity=amount,
                        usd=self.to_money_year(price.cost(amount), price), money_year=self.money_year, note=note)

    def with_price(self, key: str, **changes: Any) -> PriceBook:
        """A new book in which one price has other values; what is changed is marked as the user's.

        A new `value` outside the old range widens the range to hold it.

        Examples
        --------
        >>> from loopnet.money import price_book
        >>> price_book().with_price("collector.trough", value=120).prices["collector.trough"].value
        120
        """
        old = self[key]
        unknown = sorted(set(changes) - set(old.__dataclass_fields__))
        if unknown:
            raise ParameterError("a price has no such field", where=key, got=", ".join(unknown),
                                 allowed=", ".join(old.__dataclass_fields__), hint="value=..., low=..., high=...")
        if "value" in changes and isinstance(changes["value"], (int, float)):
            changes.setdefault("low", min(old.low or 0.0, changes["value"]))
            changes.setdefault("high", max(old.high or 0.0, changes["value"]))
        new = replace(old, **{"status": "user", "source": f"user; before: {old.source}", **changes})
        return replace(self, prices={**self.prices, key: new})

    def scaled(self, factor: float) -> PriceBook:
        """A new book with every price multiplied by `factor` [-]."""
        return replace(self, prices={k: replace(p, value=p.value * factor, low=(p.low or 0.0) * factor,
                                                high=(p.high or 0.0) * factor) for k, p in self.prices.items()})

    def to_frame(self) -> pd.DataFrame:
        """One row per price, as the book writes it, with the unit price in USD of the book's year beside it."""
        import pandas as pd

        columns = ("value", "low", "high", "unit", "year", "exponent", "reference", "index", "life", "status", "source",
                   "doc")
        rows = {k: {**{c: getattr(p, c) for c in columns}, "usd": self.usd(k)} for k, p in self.prices.items()}
        return pd.DataFrame.from_dict(rows, orient="index").rename_axis("key")


def _of_year(table: Mapping[int, float], year: int, what: str) -> float:
    try:
        return table[year]
    except KeyError:
        raise ParameterError(f"the table of the {what} has no such year", where="price book", got=str(year),
                             allowed=", ".join(map(str, sorted(table))),
                             hint=f"the nearest year, {min(table, key=lambda y: abs(y - year))}") from None
