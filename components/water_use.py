"""The fresh water that a wet or hybrid condenser takes over a year that was run, and what it costs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from components.steam_turbine import SteamTurbine
from loopnet.errors import SpecificationError
from loopnet.solve import Sized, rate
from loopnet.solve.solution import prepared

__all__ = ["WaterUse", "water_use"]


@dataclass(frozen=True)
class WaterUse:
    """Fresh water of a year: mean flow in each step [kg/s], and electricity made [kWh].

    >>> use = WaterUse("turbine", np.full(8760, 10.0), 3600.0, 1e8)
    >>> round(use.volume), round(use.per_mwh, 2)
    (315360, 3.15)
    """

    turbine: str
    flow: np.ndarray = field(repr=False)
    step: float
    gross: float

    @property
    def volume(self) -> float:
        """Water over the stretch [m3]."""
        return float(self.flow.sum()) * self.step / 1000.0

    @property
    def per_mwh(self) -> float:
        """Water over gross electricity [m3/MWh]."""
        return self.volume / self.gross * 1e3 if self.gross else 0.0

    def costs(self, book: Any) -> Iterable[Any]:
        """Cost line of the water, brought to a whole year; it takes the place of the bill's own estimate.

        Parameters
        ----------
        book : PriceBook
            Prices.

        Returns
        -------
        iterable of CostLine
        """
        years = len(self.flow) * self.step / (8760 * 3600.0)
        return (book.line("water.fresh", quantity=self.volume / years, component=self.turbine,
                          item="cooling water made up"),)

    def to_frame(self) -> Any:
        """Flow of each step [kg/s]."""
        import pandas as pd

        return pd.DataFrame({"fresh_water_kg_s": self.flow})

    def to_dict(self) -> dict[str, float]:
        """Volume [m3] and volume over electricity [m3/MWh]."""
        return {"water_m3": self.volume, "water_m3_per_mwh": self.per_mwh}

    def __repr__(self) -> str:
        return f"WaterUse({self.turbine!r}, {self.volume:,.0f} m3, {self.per_mwh:.2f} m3/MWh)"


def water_use(sized: Sized, year: Any, weather: Any) -> WaterUse:
    """Count the water of a year, from the loads it ran at and the air it ran in, hour by hour.

    Parameters
    ----------
    sized : Sized
        A plant whose steam turbine has a wet or hybrid condenser.
    year : Year
        A year of it that was run.
    weather : Weather
        The stretch of weather that it was run on.

    Returns
    -------
    WaterUse

    Raises
    ------
    SpecificationError
        If no turbine of the plant takes water, or weather and year differ in length.
    """
    plant = sized.plant
    found = [n for n, part in plant.components.items() if isinstance(part, SteamTurbine) and part.condenser != "dry"]
    if len(found) != 1:
        raise SpecificationError("one turbine with a cooling tower is needed", where=f"plant {plant.name!r}",
                                 got=", ".join(found) or "none", allowed="condenser='wet' or 'hybrid'",
                                 hint="SteamTurbine(condenser='wet')")
    if len(weather) != len(year.hourly):
        raise SpecificationError("weather and year differ in length", where=f"plant {plant.name!r}",
                                 got=f"{len(weather)} and {len(year.hourly)} hours",
                                 hint="give the stretch of weather that the year was run on")
    (turbine,), hourly = found, year.hourly
    stores = list(plant.of_family("store"))
    conditions = dict(weather.conditions())
    conditions |= prepared(plant, conditions)
    conditions[f"{turbine}.load"] = hourly["load"].to_numpy()
    conditions |= {f"{name}.hot": hourly["hot"].to_numpy() for name in stores}
    circuit = next(c for c in rate(sized, "" if stores else "focus") if f"{turbine}.load" in c.needs)
    least = plant.components[turbine].givens(sized.view(turbine))["load"][0]
    share = hourly["generating"].to_numpy()
    busy = np.flatnonzero((share > 0.0) & (conditions[f"{turbine}.load"] >= least - 1e-9))
    flow = np.zeros(len(share))
    if len(busy):
        frame = circuit.solve({n: conditions[n][busy] for n in circuit.needs},
                              describe=lambda i: f"{hourly.index[busy[i]]:%d %b %H:%M}")
        flow[busy] = frame.view(turbine)["fresh_water"] * share[busy]
    return WaterUse(turbine, flow, year.step, year.gross)
