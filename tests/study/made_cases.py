"""Cases whose energy is given rather than computed, so that a question about money takes a millisecond."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from types import SimpleNamespace
from typing import Any

from loopnet.money import Bill, Finance, Price, PriceBook, levelise
from loopnet.plant import Plant
from loopnet.study import Case

PLAIN = Finance(contingency=0.0, indirect=0.0, construction_years=0, om_fixed=0.0, om_variable=0.0, om_fraction=0.0)
"""Capital and nothing on top."""


def book(**prices: tuple[float, float, float]) -> PriceBook:
    """A book of prices per piece, each as low, likely, high; a double underscore in a name is a dot."""
    made = {key.replace("__", "."): Price(key=key.replace("__", "."), value=likely, low=low, high=high,
                                          unit="USD/piece", year=2023, source="made for a test", status="assumption")
            for key, (low, likely, high) in prices.items()}
    return PriceBook(prices=made, money_year=2023, title="made")


@dataclass(frozen=True, kw_only=True, eq=False)
class MadeCase(Case):
    """So many pieces at each price, so much energy a year."""

    pieces: dict[str, float] = field(default_factory=dict)
    kwh: float = 1e6
    product: str = "electricity"

    @cached_property
    def operated(self) -> Any:
        return None, None

    def solved(self, progress: Any = None) -> MadeCase:
        return self

    @cached_property
    def assessment(self) -> Any:
        bill = Bill(self.book.line(key, quantity=count, component=key) for key, count in self.pieces.items())
        cost = levelise(bill, self.finance, book=self.book, **{self.product: self.kwh})
        return SimpleNamespace(cost=cost, bill=bill, aperture=1000.0, name=self.name)


def made(name: str, prices: PriceBook, pieces: dict[str, float], kwh: float = 1e6, finance: Finance = PLAIN,
         product: str = "electricity") -> MadeCase:
    """A made case by name."""
    return MadeCase(plant=Plant(name), weather=None, book=prices, finance=finance,  # type: ignore[arg-type]
                    pieces=pieces, kwh=kwh, product=product)
