"""A case: a plant with the sun, prices and money it is judged under, and a copy of it with one thing changed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from loopnet.money import Finance, PriceBook, price_book
from loopnet.plant import Plant
from loopnet.site import Weather
from loopnet.solve import Sized, size
from loopnet.study.assess import Assessment, settle
from loopnet.year import Operation, Rule, Year, run_year

__all__ = ["Case"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Case:
    """A plant and all that its cost depends on. Sizing and year are computed once, when first asked for, and shared
    with copies in which only money changes.

    Parameters
    ----------
    plant : Plant
    weather : Weather
        A full year; a shorter stretch for a quick look.
    book : PriceBook
        Prices.
    finance : Finance
        What money costs.
    dispatch, operation : optional
        Rule for the load and manner of operation; those of `run_year` if None.
    exact : bool
        Whether every hour is solved, or read from an operating map: see `run_year`.
    """

    plant: Plant
    weather: Weather = field(repr=False)
    book: PriceBook = field(default_factory=price_book, repr=False)
    finance: Finance = field(default_factory=Finance, repr=False)
    dispatch: Rule | None = field(default=None, repr=False)
    operation: Operation | None = field(default=None, repr=False)
    exact: bool = True

    @classmethod
    def of(cls, assessment: Assessment, weather: Weather, *, book: PriceBook | None = None,
           finance: Finance | None = None, dispatch: Rule | None = None,
           operation: Operation | None = None) -> Case:
        """The case behind an assessment, given what it was made with; nothing is computed again."""
        case = cls(plant=assessment.plant, weather=weather, book=book or price_book(), finance=finance or Finance(),
                   dispatch=dispatch, operation=operation)
        return case._knowing(assessment.sized, assessment.year)

    @property
    def name(self) -> str:
        """Name of the plant."""
        return self.plant.name

    @cached_property
    def operated(self) -> tuple[Sized, Year]:
        """The plant at its design point, and its year."""
        return self._computed(None)

    @cached_property
    def assessment(self) -> Assessment:
        """The full model's result."""
        return settle(*self.operated, self.weather, book=self.book, finance=self.finance)

    @property
    def cost(self) -> float:
        """Levelised cost [USD/kWh]."""
        return self.assessment.cost.usd_per_kwh

    def with_money(self, *, book: PriceBook | None = None, finance: Finance | None = None) -> Case:
        """A copy with other prices or other finance, and the same physics."""
        return replace(self, book=book or self.book, finance=finance or self.finance)._knowing(*self.operated)

    def with_prices(self, values: Mapping[str, float]) -> Case:
        """A copy with other values of some prices [each in its own unit]."""
        return self.with_money(book=self.book.with_values(values))

    def with_plant(self, plant: Plant) -> Case:
        """A copy with another plant."""
        return replace(self, plant=plant)

    def with_sun(self, factor: float) -> Case:
        """A copy whose direct sun is stronger by a factor [-]."""
        columns = {**self.weather.columns, "dni": self.weather.columns["dni"] * factor}
        return replace(self, weather=replace(self.weather, columns=columns, notes=(
            *self.weather.notes, f"direct sun multiplied by {factor:g}")))

    def solved(self, progress: Callable[[str, float], None] | None = None) -> Case:
        """The case itself, with its year computed."""
        if "operated" not in self.__dict__:
            self._knowing(*self._computed(progress))
        return self

    def _computed(self, progress: Callable[[str, float], None] | None) -> tuple[Sized, Year]:
        sized = size(self.plant)
        return sized, run_year(sized, self.weather, dispatch=self.dispatch, operation=self.operation, exact=self.exact,
                               progress=progress)

    def _knowing(self, sized: Sized, year: Year) -> Case:
        self.__dict__["operated"] = (sized, year)
        return self

    def to_dict(self) -> dict[str, Any]:
        """Names of what the case is made of."""
        return {"plant": self.name, "weather": self.weather.name, "prices": self.book.title,
                "finance": self.finance.to_dict()}
