"""The outlook of a plant: what its operating tables say about a stretch of weather before the march is walked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from loopnet.solve import Sized
from loopnet.year.march import Hours, Start, StoreMarch
from loopnet.year.outlook import Asks, Outlook
from loopnet.year.table import Table

__all__ = ["Tables", "gross_rating", "outlook_of", "rated_delivery", "warmed"]


def gross_rating(sized: Sized) -> float:
    """Gross electricity at the design point [W]; 0 for plants that make none.

    Parameters
    ----------
    sized : Sized

    Returns
    -------
    float
        Power [W].
    """
    terms = sized.terms()
    return float(terms.loc[terms["kind"] == "power", "watt"].sum())


def rated_delivery(sized: Sized) -> float:
    """What leaves the gate at the design point: net electricity, or heat to users [W].

    Parameters
    ----------
    sized : Sized

    Returns
    -------
    float
        Power [W].
    """
    if gross_rating(sized) > 0.0:
        return float(sized.plant.design.net_power)
    terms = sized.terms()
    return float(terms.loc[terms["kind"] == "user", "watt"].sum())


def warmed(heat: np.ndarray, ambient: np.ndarray, dt: float, warm: Callable[[float, float], float]) -> np.ndarray:
    """Heat that is left of what a field brings when it has warmed itself after each pause.

    Parameters
    ----------
    heat : array, shape (hours,)
        Heat of the field, 0 while it stands [W].
    ambient : array, shape (hours,)
        Dry-bulb temperature [K].
    dt : float
        Length of a step [s].
    warm : callable
        (pause [s], ambient [K]) -> heat [J].

    Returns
    -------
    array, shape (hours,)
        Heat [W].

    Examples
    --------
    >>> warmed(np.array([0.0, 5.0, 5.0, 5.0]), np.full(4, 300.0), 1.0, lambda pause, ambient: 7.0).tolist()
    [0.0, 0.0, 3.0, 5.0]
    """
    left, debt, pause = np.zeros(len(heat)), 0.0, 1e9
    for i, (watt, air) in enumerate(zip(heat.tolist(), ambient.tolist(), strict=True)):
        if watt <= 0.0:
            debt, pause = 0.0, pause + dt
            continue
        if pause > 0.0:
            debt, pause = warm(pause, air), 0.0
        paid = min(debt, watt * dt)
        debt, left[i] = debt - paid, watt - paid / dt
    return left


@dataclass(frozen=True)
class Tables:
    """Operating tables of both circuits of a plant with one store, and what they deliver."""

    store: str
    cycle: str
    charging: Table
    discharging: Table
    model: StoreMarch
    runs: np.ndarray

    @property
    def sunny(self) -> np.ndarray:
        """Numbers of the steps in which the field runs."""
        return np.flatnonzero(self.runs)

    @cached_property
    def _made(self) -> tuple[np.ndarray, np.ndarray]:
        """What leaves the gate by the discharging circuit, and what the charging circuit takes of it [W]."""
        terms = self.discharging.terms()
        kinds = {key[2] for key in terms}
        signs = {"power": 1.0, "electricity": -1.0} if "power" in kinds else {"user": 1.0}
        made = sum(signs.get(kind, 0.0) * values for (_, _, kind), values in terms.items())
        own = sum(values for (_, _, kind), values in self.charging.terms().items() if kind == "electricity")
        shape = self.charging.flows(self.store, "charge")[0]
        return np.asarray(made), (own if "power" in kinds else 0.0) * np.ones_like(shape)

    @property
    def electric(self) -> bool:
        """Whether the plant makes electricity."""
        return any(kind == "power" for _, _, kind in self.discharging.terms())

    def brought(self, cold: float) -> np.ndarray:
        """Heat [W] that the field brings when the store gives the enthalpy `cold` [J/kg]."""
        out = np.zeros(len(self.runs))
        heat = self.charging.flows(self.store, "charge")[1]
        given = {name: np.full(len(self.sunny), cold) for name in self.charging.axes}
        out[self.sunny] = self.charging.at(heat, self.sunny, given)
        return out

    def at_level(self, level: float, hot: float) -> tuple[np.ndarray, np.ndarray]:
        """Heat drawn and delivery [W] in every step at a load [-], when the store gives the enthalpy `hot` [J/kg]."""
        hours = np.arange(len(self.runs))
        values = {f"{self.store}.hot": hot, f"{self.cycle}.load": level}
        given = {name: np.full(len(hours), values[name]) for name in self.discharging.axes}
        heat = self.discharging.flows(self.store, "discharge")[1]
        return self.discharging.at(heat, hours, given), self.discharging.at(self._made[0], hours, given)

    def delivered(self, log: Hours, standby: float) -> np.ndarray:
        """What left the gate in every step of a march [W]; `standby` is power that is taken round the clock [W]."""
        given = {f"{self.store}.cold": log.cold, f"{self.store}.hot": log.hot, f"{self.cycle}.load": log.load}
        out = np.full(len(self.runs), -standby)
        busy, sunny = np.flatnonzero(log.load > 0.0), self.sunny
        for table, hours, values, share, sign in (
                (self.discharging, busy, self._made[0], log.generating, 1.0),
                (self.charging, sunny, self._made[1], log.charging + log.warming, -1.0)):
            at = {name: given[name][hours] for name in table.axes}
            out[hours] += sign * table.at(values, hours, at) * share[hours]
        return out - self._fans(log, busy, sunny, given) if self.electric else out

    def _fans(self, log: Hours, busy: np.ndarray, sunny: np.ndarray, given: dict[str, np.ndarray]) -> np.ndarray:
        flows = [np.zeros(len(self.runs)), np.zeros(len(self.runs))]
        for flow, table, hours, side, share in (
                (flows[0], self.charging, sunny, "charge", log.charging),
                (flows[1], self.discharging, busy, "discharge", log.generating + log.starting)):
            m, heat = table.flows(self.store, side)
            at = {name: given[name][hours] for name in table.axes}
            flow[hours] = table.at(heat, hours, at) / table.at(heat / m, hours, at) * share[hours]
        return np.asarray(self.model.electricity(*flows))


def outlook_of(sized: Sized, tables: Tables, levels: tuple[float, ...], hour: np.ndarray, ambient: np.ndarray,
               dt: float, start: Start, ready: float, standby: float, walk: Callable[[Asks], Hours]) -> Outlook:
    """What dispatch may know.

    Parameters
    ----------
    sized : Sized
    tables : Tables
    levels : tuple of float
        Loads that may be asked for, ascending [-].
    hour, ambient : array, shape (hours,)
        Hours from 1 January [h], dry-bulb temperature [K].
    dt : float
        Length of a step [s].
    start : Start
        Heat of starts.
    ready : float
        Share of every step for which field and turbine are in order [-].
    standby : float
        Power that is taken round the clock [W].
    walk : callable
        The exact march.

    Returns
    -------
    Outlook
    """
    store, model = sized.view(tables.store), tables.model
    hot, cold = float(np.squeeze(store.charge.inlet.h)), float(np.squeeze(store.charge.outlet.h))
    both = [tables.at_level(level, hot) for level in levels]
    state = model.start()
    lost = model.step(state, (0.0, hot), (0.0, cold), float(np.mean(ambient)), dt).lost
    capacity = float(np.squeeze(sized.values[f"{tables.store}.capacity"]))
    return Outlook(hour=hour, dt=dt, brought=warmed(tables.brought(cold), ambient, dt, start.warm), levels=levels,
                   drawn=np.stack([drawn for drawn, _ in both]), delivered=np.stack([made for _, made in both]),
                   full=float(np.squeeze(store.discharge.heat)), capacity=capacity,
                   leak=min(max(lost / capacity, 0.0), 0.5), start=start.turbine, rated=rated_delivery(sized),
                   ready=ready, trial=lambda asks: tables.delivered(walk(asks), standby))
