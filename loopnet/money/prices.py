"""A price: its unit, range, scaling law, year's money, life and source; and what a quantity of it costs."""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import isfinite, nan
from typing import Any

from loopnet.errors import ParameterError

__all__ = ["STATUSES", "UNITS", "Price"]

STATUSES = ("seen", "second-hand", "from memory", "common practice", "assumption", "user")

UNITS: dict[str, tuple[str, float]] = {
    "m": ("m", 1.0), "m2": ("m^2", 1.0), "m3": ("m^3", 1.0), "L": ("m^3", 1e-3), "kg": ("kg", 1.0), "t": ("kg", 1e3),
    "h": ("s", 3600.0),
    "W": ("W", 1.0), "kW": ("W", 1e3), "MW": ("W", 1e6),
    "J": ("J", 1.0), "kWh": ("J", 3.6e6), "MWh": ("J", 3.6e9),
    "(m3/s)": ("m^3/s", 1.0), "(L/s)": ("m^3/s", 1e-3), "(kg/s)": ("kg/s", 1.0), "(t/h)": ("kg/s", 1 / 3.6),
    "piece": ("-", 1.0),
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
        Likely, low and high price [`unit`]; `low` and `high` are `value` if left out.
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
    renewed : float
        Share of the cost that is bought again at the end of each life [-]: the film of a mirror whose frame stays.
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
    low: float = nan
    high: float = nan
    currency: str = "USD"
    exponent: float = 1.0
    reference: float = 1.0
    smallest: float | None = None
    largest: float | None = None
    index: str | None = None
    life: float | None = None
    renewed: float = 1.0
    doc: str = ""

    def __post_init__(self) -> None:
        for name in ("low", "high"):
            if getattr(self, name) != getattr(self, name):  # not given
                object.__setattr__(self, name, self.value)
        for name, low, high in (("value", 0, 1e12), ("low", 0, 1e12), ("high", 0, 1e12), ("exponent", 0, 3),
                                ("reference", 1e-9, 1e12), ("smallest", 0, 1e12), ("largest", 1e-9, 1e15),
                                ("life", 0.05, 200), ("renewed", 0, 1), ("year", 1950, 2100)):
            number = getattr(self, name)
            if number is None and name in ("smallest", "largest", "life"):
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
        if not self.low <= self.value <= self.high:
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

    def amount(self, quantity: float) -> float:
        """What a quantity's cost is over the price: plain units, but fewer where size makes them cheaper.

        Parameters
        ----------
        quantity : float
            How much [SI: m2, m3, m, kg, W, J, m3/s, s].

        Returns
        -------
        float
            reference * (q / reference) ** exponent [quantity's unit], so that cost = value * amount: the cost is linear
            in the price.
        """
        size = quantity / UNITS[self.quantity_unit][1]
        if size <= 0.0:
            return 0.0
        units = 1.0
        if self.largest is not None and size > self.largest:
            units, size = size / self.largest, self.largest
        return units * self.reference * (size / self.reference) ** self.exponent

    def cost(self, quantity: float) -> float:
        """Cost of a quantity in the price's own money.

        Parameters
        ----------
        quantity : float
            How much [SI: m2, m3, m, kg, W, J, m3/s, s].

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
        return self.value * self.amount(quantity)

    def to_dict(self) -> dict[str, Any]:
        """Plain dict of the fields; ``Price(**d)`` makes an equal price."""
        return {item.name: getattr(self, item.name) for item in fields(self)}

    def sentence(self) -> str:
        """The price, its range, year and life, how well it is known and from where, for a report."""
        band = f" ({self.low:g} to {self.high:g})" if self.high > self.low else ""
        part = "" if self.renewed == 1.0 else f" {100 * self.renewed:.3g} % of it"
        again = f", bought again{part} every {self.life:g} years" if self.life else ""
        money = f"money of {self.year}" + (f" brought on by {self.index}" if self.index else "")
        # an assumption gives its reason after the word; it is not said twice
        known = self.source if self.source.startswith(self.status) else f"{self.status}: {self.source}"
        return f"{self.value:g} {self.unit}{band}, {money}{again}; {known}"

    def __repr__(self) -> str:
        band = f"({self.low:g} to {self.high:g})"
        return f"<Price {self.key}: {self.value:g} {self.unit} {band}, {self.year}, {self.status}>"
