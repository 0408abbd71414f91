"""Cost lines and the bill they make: what is bought, for which component, at which price, from which source."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import fsum
from typing import TYPE_CHECKING, Any

from loopnet.errors import ParameterError
from loopnet.money.prices import UNITS, Price
from loopnet.shown import shown

if TYPE_CHECKING:
    import pandas as pd

    from loopnet.money.book import PriceBook

__all__ = ["Bill", "CostLine"]


@dataclass(frozen=True, kw_only=True)
class CostLine:
    """One thing bought, or paid for every year.

    Parameters
    ----------
    component : str
        The component that causes it.
    item : str
        What it is.
    price : Price
        Its price, with source and status.
    quantity : float
        How much [SI].
    usd : float
        What it costs [USD of `money_year`; USD/year for a yearly line].
    money_year : int
        Year of the money [year].
    each : float
        What it costs for each unit of the price's value, so that `usd` is value times `each` [USD / price unit].
    note : str
        Anything to be read beside it.
    own_life : float or None
        Years until it is bought again, if other than its price says [year].
    """

    component: str
    item: str
    price: Price
    quantity: float
    usd: float
    money_year: int
    each: float
    note: str = ""
    own_life: float | None = None

    @property
    def kind(self) -> str:
        """``"capital"`` or ``"yearly"``."""
        return self.price.kind

    @property
    def life(self) -> float | None:
        """Years until it is bought again; None for the life of the plant [year]."""
        return self.price.life if self.own_life is None else self.own_life

    @property
    def renewed(self) -> float:
        """What is paid each time it is bought again [USD]."""
        return self.usd * self.price.renewed

    @property
    def warning(self) -> str:
        """Said when the size is below the range the price is known for; empty otherwise."""
        size, smallest = self.quantity / UNITS[self.price.quantity_unit][1], self.price.smallest
        if smallest is None or size >= smallest or size == 0.0:
            return ""
        unit = self.price.quantity_unit
        return (f"{self.component}: price {self.price.key} is extrapolated to {size:.4g} {unit}; it is known from "
                f"{smallest:g} {unit} on (plain quantities are taken in {self.price.si_unit})")

    def to_dict(self) -> dict[str, Any]:
        """Plain dict, in the units of the price book."""
        price = self.price
        return {"component": self.component, "item": self.item, "key": price.key,
                "quantity": self.quantity / UNITS[price.quantity_unit][1], "quantity_unit": price.quantity_unit,
                "price": price.value, "price_unit": price.unit, "price_year": price.year, "usd": self.usd,
                "kind": self.kind, "life": self.life, "renewed_usd": self.renewed if self.life else None,
                "status": price.status, "source": price.source, "note": self.note}

    def __repr__(self) -> str:
        each = " a year" if self.kind == "yearly" else ""
        return f"<CostLine {self.component}: {self.item}, {self.usd:,.0f} USD{each} of {self.money_year}>"


@dataclass(frozen=True)
class Bill:
    """All cost lines of a plant; their money must be of one year.

    Parameters
    ----------
    lines : iterable of CostLine
        The lines.

    Examples
    --------
    >>> from loopnet.money import price_book
    >>> book = price_book()
    >>> bill = Bill([book.line("medium.quartz_sand", quantity=1e6, component="silo")])
    >>> round(bill.total), bill.by_component()
    (40000, {'silo': 40000.0})
    """

    lines: tuple[CostLine, ...]

    def __init__(self, lines: Iterable[CostLine] = ()) -> None:
        object.__setattr__(self, "lines", tuple(lines))
        for line in self.lines:
            if not isinstance(line, CostLine):
                raise ParameterError("a bill is made of cost lines", where="Bill", got=type(line).__name__,
                                     allowed="CostLine objects", hint="book.line(key, quantity=..., component=...)")
        years = sorted({line.money_year for line in self.lines})
        if len(years) > 1:
            raise ParameterError("lines of different years' money cannot be added", where="Bill",
                                 got=", ".join(map(str, years)), allowed="one money year",
                                 hint="make all lines with one price book")

    def __iter__(self) -> Iterator[CostLine]:
        return iter(self.lines)

    def __len__(self) -> int:
        return len(self.lines)

    def __add__(self, other: Bill) -> Bill:
        return Bill(self.lines + other.lines)

    def __repr__(self) -> str:
        return f"<Bill: {len(self.lines)} lines, {self.total / 1e6:.4g} MUSD, {self.yearly / 1e6:.4g} MUSD a year>"

    def _repr_html_(self) -> str:
        return shown(self)

    def _sum(self, kind: str) -> dict[str, float]:
        parts: dict[str, list[float]] = {}
        for line in self.lines:
            if line.kind == kind:
                parts.setdefault(line.component, []).append(line.usd)
        return {component: fsum(costs) for component, costs in parts.items()}

    def by_component(self) -> dict[str, float]:
        """Direct capital cost of each component [USD]."""
        return self._sum("capital")

    def yearly_by_component(self) -> dict[str, float]:
        """Running cost of each component [USD/year]."""
        return self._sum("yearly")

    @property
    def total(self) -> float:
        """Direct capital cost [USD]."""
        return fsum(self.by_component().values())

    @property
    def yearly(self) -> float:
        """Running cost [USD/year]."""
        return fsum(self.yearly_by_component().values())

    def priced(self, book: PriceBook) -> Bill:
        """The same quantities at the prices of another book."""
        return Bill(book.line(line.price.key, quantity=line.quantity, component=line.component, item=line.item,
                              note=line.note, life=line.own_life) for line in self.lines)

    @property
    def warnings(self) -> tuple[str, ...]:
        """Prices used outside the sizes they are known for."""
        return tuple(line.warning for line in self.lines if line.warning)

    def prices_used(self) -> pd.DataFrame:
        """Every price used once: value, range, unit, year, status and source, by key."""
        import pandas as pd

        columns = ("value", "low", "high", "unit", "year", "exponent", "reference", "index", "life", "renewed",
                   "status", "source", "doc")
        used = {line.price.key: {c: getattr(line.price, c) for c in columns} for line in self.lines}
        return pd.DataFrame.from_dict(used, orient="index", columns=list(columns)).rename_axis("key")

    def to_frame(self) -> pd.DataFrame:
        """One row per line."""
        import pandas as pd

        return pd.DataFrame([line.to_dict() for line in self.lines])

    def to_dict(self) -> dict[str, Any]:
        """Plain dict: the lines and the direct capital cost by component."""
        return {"lines": [line.to_dict() for line in self.lines], "by_component": self.by_component(),
                "total": self.total, "yearly": self.yearly}
