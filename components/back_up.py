"""What a year's heat left unmet, and a gas boiler that meets it: fuel, carbon dioxide, and what both cost."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from loopnet.errors import SpecificationError
from loopnet.params import Parameters, param

__all__ = ["BackUp", "GasBoiler", "cover", "wanted_and_served"]


@dataclass(frozen=True, kw_only=True)
class GasBoiler(Parameters):
    """A gas boiler beside the plant that gives what the plant does not.

    >>> round(GasBoiler(efficiency=0.9).carbon_of(0.9 * 3.6e6) * 1e3)
    202
    """

    cautions: ClassVar[tuple[str, ...]] = (
        "Gas explodes and its fumes kill unseen: burners, gas lines and stacks are built, inspected and run by "
        "licensed people under local codes.",
    )

    efficiency: Any = param(0.90, unit="-", low=0.4, high=1.1, source="common practice without condensing, no source",
                            doc="heat over the lower heating value of the gas")
    carbon: Any = param(56.1e-9, unit="kg/J", low=0.0, high=2e-7, source="natural gas, 56.1 kg/GJ of lower heating "
                        "value: IPCC Guidelines 2006, vol. 2, table 1.4, from memory",
                        doc="carbon dioxide over heat of combustion")
    reserve: Any = param(0.1, unit="-", low=0.0, high=1.0, source="assumption",
                         doc="heat that the boiler can give above the highest hour")

    def carbon_of(self, heat: float) -> float:
        """Carbon dioxide let out.

        Parameters
        ----------
        heat : float
            Heat that the boiler gives [J].

        Returns
        -------
        float
            Mass [kg].
        """
        return float(heat / self.efficiency * self.carbon)


@dataclass(frozen=True)
class BackUp:
    """A user's year: what was wanted, served and unmet in each hour [W], and the boiler that meets the rest.

    >>> BackUp("kiln", GasBoiler(), np.array([2e6, 2e6]), np.array([2e6, 1.5e6]), 3600.0).unmet
    1800000000.0
    """

    user: str
    boiler: GasBoiler
    wanted: np.ndarray
    served: np.ndarray
    step: float

    @property
    def missing(self) -> np.ndarray:
        """Heat that is wanted and not served in each hour [W]."""
        return np.maximum(self.wanted - self.served, 0.0)

    @property
    def unmet(self) -> float:
        """Heat that the plant left unmet [J]."""
        return float(self.missing.sum() * self.step)

    @property
    def share(self) -> float:
        """Share of what was wanted that the plant served [-]."""
        return 1.0 - self.unmet / float(self.wanted.sum() * self.step)

    @property
    def hours(self) -> float:
        """Time in which something is missing [h]."""
        return float(np.sum(self.missing > 1e-6 * self.wanted.max()) * self.step / 3600.0)

    @property
    def fuel(self) -> float:
        """Gas that the boiler burns, as lower heating value [J]."""
        return self.unmet / float(self.boiler.efficiency)

    @property
    def carbon(self) -> float:
        """Carbon dioxide let out [kg]."""
        return self.boiler.carbon_of(self.unmet)

    def costs(self, book: Any) -> Iterable[Any]:
        """Cost lines of boiler, gas and carbon dioxide; amounts of a part of a year are brought to a whole one.

        Parameters
        ----------
        book : PriceBook
            Prices.

        Returns
        -------
        iterable of CostLine
        """
        years = len(self.wanted) * self.step / (8760 * 3600.0)
        name = f"{self.user}_boiler"
        size = float(self.missing.max()) * (1.0 + self.boiler.reserve)
        return (book.line("boiler.gas", quantity=size, component=name, item="gas boiler"),
                book.line("fuel.gas", quantity=self.fuel / years, component=name, item="gas"),
                book.line("emission.carbon", quantity=self.carbon / years, component=name, item="carbon dioxide"))

    def to_dict(self) -> dict[str, float]:
        """Figures of the year; energies in kWh, mass in t."""
        return {"wanted_kwh": float(self.wanted.sum() * self.step / 3.6e6), "unmet_kwh": self.unmet / 3.6e6,
                "served_share": self.share, "unmet_hours": self.hours, "gas_kwh": self.fuel / 3.6e6,
                "carbon_dioxide_t": self.carbon / 1e3}

    def __repr__(self) -> str:
        return (f"BackUp({self.user!r}, {self.share:.1%} served, {self.unmet / 3.6e9:,.0f} MWh from gas, "
                f"{self.carbon / 1e3:,.0f} t carbon dioxide)")


def cover(year: Any, weather: Any, boiler: GasBoiler | None = None, user: str = "") -> BackUp:
    """Hold what the user of a plant wanted in a year against what it was given, and let gas give the rest.

    Parameters
    ----------
    year : Year
        A year that was run.
    weather : Weather
        The stretch of weather that it was run on.
    boiler : GasBoiler, optional
        The shipped one if left out.
    user : str
        Name of the user; the only one if left out.

    Returns
    -------
    BackUp

    Raises
    ------
    SpecificationError
        If there is no such user of heat, or weather and year differ in length.
    """
    from components.heat_user import HeatUser

    plant = year.plant
    users = [name for name, part in plant.components.items() if isinstance(part, HeatUser)]
    name = user or (users[0] if len(users) == 1 else "")
    if name not in users:
        raise SpecificationError("which user of heat is meant is not clear", where=f"plant {plant.name!r}",
                                 got=user or f"{len(users)} users", allowed=", ".join(users) or "none",
                                 hint="cover(year, weather, user=...)")
    if len(weather) != len(year.hourly):
        raise SpecificationError("weather and year differ in length", where=f"plant {plant.name!r}",
                                 got=f"{len(weather)} and {len(year.hourly)} hours",
                                 hint="give the stretch of weather that the year was run on")
    wanted, served = wanted_and_served(plant.components[name], year, weather)
    return BackUp(name, boiler or GasBoiler(), wanted, served, year.step)


def wanted_and_served(user: Any, year: Any, weather: Any) -> tuple[np.ndarray, np.ndarray]:
    """What a user of heat wanted in each hour of a year, and what it got.

    Where a rule for the load brings a demand of its own, that is what is wanted.

    Parameters
    ----------
    user : HeatUser
    year : Year
    weather : Weather
        That the year was run on.

    Returns
    -------
    wanted, served : ndarray, shape (hours,)
        Heat [W].
    """
    hourly = year.hourly
    wanted = user.demand * np.ones(len(hourly))
    if user.varies:
        wanted = wanted * user.wanted_share(weather.conditions())
    served = wanted * hourly["load"].to_numpy() * hourly["generating"].to_numpy()
    return (hourly["demand"].to_numpy(), served) if "demand" in hourly else (wanted, served)
