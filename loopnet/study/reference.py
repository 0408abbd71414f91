"""What others cost: heat from gas, photovoltaics with batteries for the same hours, published ranges."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any

import numpy as np

from loopnet.money import Finance, capital_recovery
from loopnet.study.assess import Assessment

__all__ = ["Reference", "after_dark", "gas_heat", "references", "solar_with_battery", "through_battery"]

LIT = 50.0
"""Global horizontal sun below which photovoltaics are taken to rest [W/m2]; assumption."""


@dataclass(frozen=True, kw_only=True)
class Reference:
    """What something else costs.

    Parameters
    ----------
    name : str
        What it is.
    product : str
        ``"electricity"`` or ``"heat"``.
    low, high : float
        Range of its cost; equal where one number is known [USD/kWh of `year`].
    year : int
        Year of the money and of the offer [year].
    status, source : str
        How that is known, and from where.
    """

    name: str
    product: str
    low: float
    high: float
    year: int
    status: str
    source: str

    def span(self) -> str:
        """Its range in US ct/kWh, as text."""
        return f"{100 * self.low:.1f}" + (f" to {100 * self.high:.1f}" if self.high > self.low else "")

    def to_dict(self) -> dict[str, Any]:
        """Plain dict."""
        return asdict(self)

    def __repr__(self) -> str:
        return f"<Reference {self.name}: {self.span()} ct/kWh of {self.product}>"


def gas_heat(fuel: float, efficiency: float) -> float:
    """Cost of heat from a boiler, fuel alone.

    Parameters
    ----------
    fuel : float
        Price of the fuel [USD/kWh].
    efficiency : float
        Of the boiler [-].

    Returns
    -------
    float
        Cost of heat [USD/kWh].

    Examples
    --------
    4 USD for a million British thermal units, 85 %:

    >>> round(100 * gas_heat(4 / 293.071, 0.85), 3)
    1.606
    """
    return fuel / efficiency


def through_battery(price: float, rate: float, life: float, cycles: float, efficiency: float) -> float:
    """What it adds to a kWh to have gone through a battery, losses apart.

    Parameters
    ----------
    price : float
        Of the battery system [USD/kWh].
    rate : float
        Real discount rate [1/year].
    life : float
        Of the battery [year].
    cycles : float
        Full cycles in a year [1/year].
    efficiency : float
        Of charging and discharging together [-].

    Returns
    -------
    float
        Cost for each kWh that comes out [USD/kWh].

    Examples
    --------
    >>> round(100 * through_battery(165, 0.05, 15, 350, 0.88), 2)
    5.16
    """
    return price * capital_recovery(rate, life) / (cycles * efficiency)


def solar_with_battery(solar: float, share: float, through: float, efficiency: float) -> float:
    """Cost of electricity of which a share goes through a battery.

    Parameters
    ----------
    solar : float
        Cost of a kWh by day [USD/kWh].
    share : float
        Share that is delivered after dark [-].
    through : float
        What the battery adds to each such kWh [USD/kWh].
    efficiency : float
        Of the battery [-].

    Returns
    -------
    float
        Cost of a kWh on average [USD/kWh].

    Examples
    --------
    >>> round(solar_with_battery(0.043, 0.5, 0.0516, 0.88), 4)
    0.0717
    """
    return solar * (1.0 - share) + share * (solar / efficiency + through)


def after_dark(a: Assessment, ghi: Any) -> float:
    """Share of a plant's electricity that is delivered while photovoltaics rest.

    Parameters
    ----------
    a : Assessment
    ghi : array, shape (hours,)
        Global horizontal sun of its weather [W/m2].

    Returns
    -------
    float
        Share of the gross electricity [-]; 0 where none is made.
    """
    power = np.asarray(a.year.hourly["gross"], float) if "gross" in a.year.hourly else np.zeros(len(a.year.hourly))
    dark = np.asarray(ghi, float)[:len(power)] < LIT
    return float(power[dark].sum() / power.sum()) if power.sum() > 0 else 0.0


@lru_cache(maxsize=1)
def _shipped() -> dict[str, dict[str, Any]]:
    return tomllib.loads((files("loopnet") / "data" / "references.toml").read_text(encoding="utf-8"))


def references(product: str, *, share: float = 0.5, finance: Finance | None = None) -> tuple[Reference, ...]:
    """What others that deliver the same product cost.

    Parameters
    ----------
    product : str
        ``"electricity"`` or ``"heat"``.
    share : float
        Share of the electricity that is delivered after dark, for photovoltaics with batteries [-]; see `after_dark`.
    finance : Finance, optional
        Whose real rate the battery is reckoned at.

    Returns
    -------
    tuple of Reference
    """
    rate = (finance or Finance()).real
    found = []
    for entry in _shipped().values():
        if entry["product"] == product:
            low, high = _span(entry, share, rate)
            title = f"{entry['title']} ({100 * share:.0f} % after dark)" if "battery" in entry else entry["title"]
            found.append(Reference(name=title, product=product, low=low, high=high, year=entry["year"],
                                   status=entry["status"], source=entry["source"]))
    return tuple(found)


def _span(entry: Mapping[str, Any], share: float, rate: float) -> tuple[float, float]:
    if "fuel" in entry:
        fuel = entry["fuel"]
        return gas_heat(fuel["low"], fuel["efficiency"]), gas_heat(fuel["high"], fuel["efficiency"])
    if "battery" in entry:
        b = entry["battery"]
        through = through_battery(b["price"], rate, b["life"], b["cycles"], b["efficiency"])
        return (solar_with_battery(b["solar_low"], share, through, b["efficiency"]),
                solar_with_battery(b["solar_high"], share, through, b["efficiency"]))
    return entry["low"], entry["high"]
