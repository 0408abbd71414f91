"""Rank plants by what a kilowatt-hour costs, under the same sun and the same prices."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import pandas as pd

from loopnet.plant import Plant
from loopnet.shown import shown
from loopnet.site import Weather
from loopnet.study.assess import Assessment
from loopnet.study.parallel import assess_all

__all__ = ["Ranking", "rank"]


@dataclass(frozen=True)
class Ranking:
    """Assessments, best first."""

    weather: str
    assessments: tuple[Assessment, ...]

    def __iter__(self) -> Iterator[Assessment]:
        return iter(self.assessments)

    def __len__(self) -> int:
        return len(self.assessments)

    def __getitem__(self, name: str) -> Assessment:
        for assessment in self.assessments:
            if assessment.name == name:
                return assessment
        raise KeyError(f"{name!r} is not among {', '.join(a.name for a in self.assessments)}")

    def to_dict(self) -> list[dict[str, Any]]:
        """One dict a plant, best first, as `loopnet rank --json` writes them."""
        return [assessment.to_dict() for assessment in self.assessments]

    def to_frame(self) -> pd.DataFrame:
        """One row a plant, best first, in the units people use."""
        rows = []
        for place, a in enumerate(self.assessments, start=1):
            d = a.to_dict()
            rows.append({
                "place": place, "plant": a.name, "ct/kWh": 100 * a.cost.usd_per_kwh, "of": a.cost.product,
                "net GWh": (d["net_electricity_kwh"] or d["heat_to_user_kwh"]) / 1e6,
                "capacity factor": a.capacity_factor,
                "sun to electricity": d["sun_to_electricity"], "capital MUSD": a.cost.capital_usd / 1e6,
                "aperture ha": a.aperture / 1e4, "store MWh": a.store_heat / 1e3, "weak point": a.cost.weak_point,
            })
        return pd.DataFrame(rows)

    def __repr__(self) -> str:
        return "Ranking(" + " < ".join(f"{a.name} {100 * a.cost.usd_per_kwh:.2f} ct" for a in self.assessments) + ")"

    def _repr_html_(self) -> str:
        return shown(self)


def rank(plants: Iterable[Plant], weather: Weather, *,
         progress: Callable[[str, str, float], None] | None = None, **options: Any) -> Ranking:
    """Assess plants and order them by their levelised cost; plants that make only heat come after those of electricity.

    Parameters
    ----------
    plants : iterable of Plant
    weather : Weather
    progress : callable, optional
        Called with plant, step and the share of the plant's work that is done [-].
    **options
        Passed on to `assess_all`: jobs, book, finance, dispatch.

    Returns
    -------
    Ranking
    """
    found = assess_all(list(plants), weather, progress=progress, **options)
    return Ranking(weather.name, tuple(sorted(found, key=lambda a: (a.net_power is None, a.cost.usd_per_kwh))))
