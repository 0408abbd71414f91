"""What a report tells, gathered before a word is written: plants by what they deliver, and why, and how sure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from loopnet.errors import ParameterError
from loopnet.money import Finance, PriceBook
from loopnet.site import Weather
from loopnet.study import (
    Assessment,
    Bridge,
    Case,
    Ranking,
    Reference,
    Tornado,
    Uncertainty,
    after_dark,
    bridge,
    fit_surfaces,
    references,
    tornado,
    uncertainty,
)
from loopnet.year import Operation

__all__ = ["Findings", "Group", "gather"]

DRAWS = 10_000
"""Draws of prices that are made where nobody asked for more [-]; they take no further run."""


@dataclass(frozen=True, kw_only=True)
class Group:
    """Plants that deliver the same, cheapest first, and what is known of their order.

    Parameters
    ----------
    product : str
        ``"electricity"`` or ``"heat"``.
    plants : tuple of Assessment
    bridge : Bridge or None
        From the first to the second; None where there is only one.
    tornado : Tornado or None
        What moves the cost of the first; None without weather.
    references : tuple of Reference
        What others cost; empty without weather.
    uncertainty : Uncertainty or None
        How often each is the cheapest; None if not drawn.
    """

    product: str
    plants: tuple[Assessment, ...]
    bridge: Bridge | None = None
    tornado: Tornado | None = None
    references: tuple[Reference, ...] = ()
    uncertainty: Uncertainty | None = None

    @property
    def first(self) -> Assessment:
        """The cheapest."""
        return self.plants[0]

    @property
    def second(self) -> Assessment | None:
        """The next, if there is one."""
        return self.plants[1] if len(self.plants) > 1 else None


@dataclass(frozen=True, kw_only=True)
class Findings:
    """All that a report tells: groups of plants, how they were run, and under which weather if it is known."""

    groups: tuple[Group, ...]
    weather: Weather | None
    operation: Operation

    @property
    def plants(self) -> tuple[Assessment, ...]:
        """All plants in the order of the page."""
        return tuple(a for group in self.groups for a in group.plants)


def gather(results: Ranking | Assessment | Iterable[Assessment], *, weather: Weather | None = None,
           book: PriceBook | None = None, uncertain: Sequence[Uncertainty] | None = None,
           operation: Operation | None = None) -> Findings:
    """Put together what a report tells.

    Parameters
    ----------
    results : Ranking, Assessment or iterable of Assessment
    weather, book, uncertain, operation : optional
        As for `write_report`.

    Returns
    -------
    Findings

    Raises
    ------
    ParameterError
        If there is no plant, two bear one name, or weather, prices or draws are not those of the results.
    """
    plants = _checked([results] if isinstance(results, Assessment) else list(results), weather)
    by: dict[str, list[Assessment]] = {}
    for a in sorted(plants, key=lambda a: (a.net_power is None, a.cost.usd_per_kwh)):
        by.setdefault(a.cost.product, []).append(a)
    drawn = {u.product: u for u in uncertain or ()}
    for product, u in drawn.items():
        if sorted(u.plants) != sorted(a.name for a in by.get(product, ())):
            raise ParameterError("these draws are of other plants", where="report.uncertain", got=", ".join(u.plants),
                                 allowed=", ".join(a.name for a in by.get(product, ())) or "no plant of this product",
                                 hint="uncertainty(cases) of the plants that the report is about")
    groups = []
    for product, own in by.items():
        cases = [] if weather is None else [_case(a, weather, book) for a in own]
        if uncertain is None and cases:
            drawn[product] = uncertainty(cases, fit_surfaces(cases, only=()), samples=DRAWS)
        groups.append(Group(
            product=product, plants=tuple(own), bridge=bridge(*own[:2]) if len(own) > 1 else None,
            tornado=tornado(cases[0]) if cases else None, uncertainty=drawn.get(product),
            references=() if weather is None else references(
                product, share=after_dark(own[0], weather.columns["ghi"]), finance=cases[0].finance)))
    return Findings(groups=tuple(groups), weather=weather, operation=operation or Operation())


def _checked(plants: list[Assessment], weather: Weather | None) -> list[Assessment]:
    if not plants:
        raise ParameterError("a report needs a plant", where="report", got="none", allowed="one or more",
                             hint="rank(plants, weather)")
    names = [a.name for a in plants]
    if twice := sorted({name for name in names if names.count(name) > 1}):
        raise ParameterError("two plants bear one name", where="report", got=", ".join(twice), allowed="names that "
                             "differ", hint="loopnet.plants.named_apart before they are assessed")
    skies = sorted({a.weather for a in plants} | ({weather.name} if weather is not None else set()))
    if len(skies) > 1:
        raise ParameterError("these results are of different weather", where="report.weather", got=", ".join(skies),
                             allowed="one weather for all", hint="the weather that the plants were assessed under")
    return plants


def _case(a: Assessment, weather: Weather, book: PriceBook | None) -> Case:
    """The case behind an assessment; its finance is told by the result, its prices are checked against it."""
    case = Case.of(a, weather, book=book, finance=Finance(**a.cost.finance))
    if abs(case.cost / a.cost.usd_per_kwh - 1.0) > 1e-9:
        raise ParameterError("these are not the prices that the plant was assessed with", where="report.book",
                             got=f"{100 * case.cost:.4g} ct/kWh of {a.name}",
                             allowed=f"prices that give {100 * a.cost.usd_per_kwh:.4g} ct/kWh",
                             hint="book=price_book(FILE), as in rank(..., book=...)")
    return case
