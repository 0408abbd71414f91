"""A year of a plant: hourly series, energy by component and name, and the proof that it closes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from loopnet.errors import ConvergenceError
from loopnet.plant import ENTERS, Plant
from loopnet.shown import shown
from loopnet.year.profiles import Profiles

__all__ = ["Year"]

JOULE_PER_KWH = 3.6e6
LIMIT = 1e-6
"""Largest relative imbalance that a year may have."""


@dataclass(frozen=True)
class Year:
    """What happened in a year.

    `ledger` has one row per component, label and kind, in J over the year; `hourly` has one row per step: energies as
    mean power [W], shares of the hour, enthalpies of the store [J/kg], its content [J].
    """

    plant: Plant
    weather: str
    ledger: pd.DataFrame = field(repr=False)
    hourly: pd.DataFrame = field(repr=False)
    step: float
    steady_imbalance: float
    pinch: float
    pinch_at: str
    warnings: tuple[str, ...]
    points: int
    """Operating points that were solved for this year."""
    dispatch: str = ""
    """The rule that set the load, in words, with what it knew of the coming sun."""
    delivered_before: tuple[float, ...] = ()
    """Where several years were run on end: what left the gate in those before this one, the first first [kWh]."""
    profiles: Profiles | None = field(default=None, repr=False)
    """Temperatures along the store, where it has a profile."""
    error: float = 0.0
    """Estimated relative error of the delivery where circuits were read from an operating map; 0 where every hour was
    solved."""

    def total(self, *kinds: str) -> float:
        """Energy of some kinds over the year [kWh]."""
        return float(self.ledger.loc[self.ledger["kind"].isin(kinds), "joule"].sum()) / JOULE_PER_KWH

    @property
    def sun(self) -> float:
        """Direct sun on the aperture [kWh]."""
        return self.total("sun")

    @property
    def collected(self) -> float:
        """Heat that the field gave to its loop [kWh]."""
        return float(self.hourly["collected"].sum() * self.step) / JOULE_PER_KWH

    @property
    def gross(self) -> float:
        """Gross electricity [kWh]."""
        return self.total("power")

    @property
    def parasitic(self) -> float:
        """Electricity that the plant itself takes [kWh]."""
        return self.total("electricity")

    @property
    def net(self) -> float:
        """Electricity that leaves the gate [kWh]."""
        return self.gross - self.parasitic

    @property
    def heat(self) -> float:
        """Heat delivered to users [kWh]."""
        return self.total("user")

    @property
    def stored(self) -> float:
        """Change of the energy in the store over the year [kWh]."""
        return self.total("store")

    @property
    def demand(self) -> float | None:
        """What the rule's demand asked for [kWh]; None where there is no demand."""
        return self._sum("demand")

    @property
    def unmet(self) -> float | None:
        """Demand that was not met in its hour [kWh]; None where there is no demand."""
        return self._sum("unmet")

    @property
    def revenue(self) -> float | None:
        """Net delivery of every step at its price [USD]; None where there are no prices."""
        if "price" not in self.hourly:
            return None
        return float((self.hourly["price"] * self.hourly["delivered"]).sum()) * self.step

    def _sum(self, column: str) -> float | None:
        return float(self.hourly[column].sum() * self.step) / JOULE_PER_KWH if column in self.hourly else None

    def losses(self) -> dict[str, float]:
        """Every loss by name [kWh]; with deliveries and change in store they add up to the sun."""
        rows = self.ledger[self.ledger["kind"] == "loss"]
        named = rows.groupby("label", sort=False)["joule"].sum() / JOULE_PER_KWH
        return {str(label): float(value) for label, value in named.items()}

    @property
    def imbalance(self) -> float:
        """Sun and electricity in, less all that left, less change in store, over the largest of them: the sun [-]."""
        signs = self.ledger["kind"].map(ENTERS)
        return abs(float((signs * self.ledger["joule"]).sum())) / max(float(self.ledger["joule"].abs().max()), 1.0)

    def closed(self) -> Year:
        """The year itself.

        Raises
        ------
        ConvergenceError
            If its energy does not close to 1e-6.
        """
        if not self.imbalance <= LIMIT:
            raise ConvergenceError("the year's energy does not close", where=f"plant {self.plant.name!r}",
                                   got=f"{self.imbalance:.2e}", allowed=f"{LIMIT:.0e}", hint="report this")
        return self

    def to_frame(self) -> pd.DataFrame:
        """The ledger in kWh."""
        out = self.ledger.copy()
        out["kWh"] = out.pop("joule") / JOULE_PER_KWH
        return out

    def to_dict(self) -> dict[str, Any]:
        """Totals [kWh], revenue [USD], rule and certificate."""
        wanted = {name: value for name in ("demand", "unmet", "revenue") if (value := getattr(self, name)) is not None}
        mapped: dict[str, Any] = {"estimated_error": self.error} if self.error else {}
        if self.delivered_before:
            mapped["delivered_before_kwh"] = list(self.delivered_before)
        return {"dispatch": self.dispatch, **wanted, **mapped, "sun": self.sun, "collected": self.collected,
                "gross": self.gross, "parasitic": self.parasitic, "net": self.net, "heat": self.heat,
                "stored": self.stored, "losses": self.losses(), "imbalance": self.imbalance,
                "steady_imbalance": self.steady_imbalance, "pinch": self.pinch}

    def __repr__(self) -> str:
        return (f"Year({self.plant.name!r}, {self.weather!r}, net {self.net / 1e6:.1f} GWh, "
                f"closes to {self.imbalance:.0e})")

    def _repr_html_(self) -> str:
        return shown(self)
