"""The price book: all prices by key, brought to one year's US dollars, and the cost lines made from them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields, replace
from difflib import get_close_matches
from math import isfinite
from typing import TYPE_CHECKING, Any

from loopnet.errors import ParameterError
from loopnet.money.bill import CostLine
from loopnet.money.prices import Price
from loopnet.params import check_range
from loopnet.units import Quantity, to_si

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["PriceBook"]


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
        Name for reports.
    version : int
        Version of the shipped prices it is made of [-].
    notes : tuple of str
        What a reader of its costs should know, such as a file written for another version.
    """

    prices: Mapping[str, Price]
    money_year: int
    indices: Mapping[str, Mapping[int, float]] = field(default_factory=dict)
    exchange: Mapping[str, Mapping[int, float]] = field(default_factory=dict)
    title: str = ""
    version: int = 0
    notes: tuple[str, ...] = ()

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
        price = self[key]
        where = f"{component}.{item or key}".strip(".")
        try:
            amount = to_si(quantity, price.si_unit)
        except ParameterError as why:
            raise ParameterError(why.what, where=where, got=why.got, allowed=why.allowed,
                                 hint=f"a quantity in {price.si_unit}") from None
        if not isfinite(amount) or amount < 0:
            raise ParameterError("a cost line needs a quantity of zero or more", where=where,
                                 got=f"{amount:g} {price.si_unit}", allowed=f"0 {price.si_unit} or more",
                                 hint="check the size of this component")
        if life is not None:
            check_range(life, where=f"{where}.life", unit="year", low=0.05, high=200.0)
        each = self.to_money_year(price.amount(amount), price)
        return CostLine(component=component, item=item or key, price=price, quantity=amount, usd=price.value * each,
                        money_year=self.money_year, each=each, note=note, own_life=life)

    def with_price(self, key: str, *, usd: float | None = None, **changes: Any) -> PriceBook:
        """A new book in which one price has other values; what is changed is marked as the user's.

        Parameters
        ----------
        key : str
            Key of the price.
        usd : float or None
            Unit price in the money of the book's year [USD/quantity unit].
        **changes : float or str
            Fields of `Price` in the price's own unit and money. A new value outside the old range widens the range.

        Returns
        -------
        PriceBook
            The new book.

        Raises
        ------
        ParameterError
            If the key or a field is unknown or a value is out of range.

        Examples
        --------
        >>> from loopnet.money import price_book
        >>> round(price_book().with_price("turbine.condensing", usd=900).usd("turbine.condensing"), 6)
        900.0
        """
        old = self[key]
        if usd is not None:
            changes["value"] = usd / self.to_money_year(1.0, old)
        unknown = sorted(set(changes) - {item.name for item in fields(Price)})
        if unknown:
            raise ParameterError("a price has no such field", where=key, got=", ".join(unknown),
                                 allowed=", ".join(item.name for item in fields(Price)),
                                 hint="value=..., low=..., high=...")
        if "value" in changes and isinstance(changes["value"], (int, float)):
            changes.setdefault("low", min(old.low, changes["value"]))
            changes.setdefault("high", max(old.high, changes["value"]))
        new = replace(old, **{"status": "user", "source": f"user; before: {old.source}", **changes})
        return replace(self, prices={**self.prices, key: new})

    def with_values(self, values: Mapping[str, float]) -> PriceBook:
        """A new book in which several prices have other values, each in its own unit and money; a range that does not
        hold a value is widened, status and source stay: for what is drawn or varied, not for what is known better.

        Parameters
        ----------
        values : mapping of str to float
            New value by key [the price's unit].

        Returns
        -------
        PriceBook
            The new book.

        Examples
        --------
        >>> from loopnet.money import price_book
        >>> price_book().with_values({"collector.drive": 7.0})["collector.drive"].value
        7.0
        """
        new = {}
        for key, value in values.items():
            old = self[key]
            new[key] = replace(old, value=value, low=min(old.low, value), high=max(old.high, value))
        return replace(self, prices={**self.prices, **new})

    def scaled(self, factor: float) -> PriceBook:
        """A new book with every price multiplied by `factor` [-]."""
        return replace(self, prices={k: replace(p, value=p.value * factor, low=p.low * factor,
                                                high=p.high * factor) for k, p in self.prices.items()})

    def to_frame(self) -> pd.DataFrame:
        """One row per price, as the book writes it, with the unit price in USD of the book's year beside it."""
        import pandas as pd

        columns = ("value", "low", "high", "unit", "year", "exponent", "reference", "index", "life", "renewed",
                   "status", "source", "doc")
        rows = {k: {**{c: getattr(p, c) for c in columns}, "usd": self.usd(k)} for k, p in self.prices.items()}
        return pd.DataFrame.from_dict(rows, orient="index").rename_axis("key")


def _of_year(table: Mapping[int, float], year: int, what: str) -> float:
    try:
        return table[year]
    except KeyError:
        raise ParameterError(f"the table of the {what} has no such year", where="price book", got=str(year),
                             allowed=", ".join(map(str, sorted(table))),
                             hint=f"the nearest year, {min(table, key=lambda y: abs(y - year))}") from None
