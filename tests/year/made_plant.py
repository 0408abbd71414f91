"""A made plant for dispatch: a store of two vessels, a field and a turbine of round numbers, under the exact march."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from components.inventory import InventoryMarch
from loopnet.year.march import Hours, Start, march
from loopnet.year.outlook import Outlook

HOUR, AMBIENT, HOT, COLD = 3600.0, 298.15, 4e5, 2.5e5
FULL = 6e6
"""Heat at full load [W]."""
LEVELS = (0.25, 0.5, 0.75, 1.0)


def power(load):
    """Delivery [W] at a load [-]: 38 % of the heat at full load, 32 % at a quarter."""
    return FULL * load * (0.30 + 0.08 * load)


def weeks(count, seed=7):
    """Heat of the field [W], shape (168 * count,): clear and cloudy days, drawn by a generator of fixed seed."""
    draw = np.random.default_rng(seed)
    clock = (np.arange(168 * count) % 24) + 0.5
    day = np.repeat(draw.choice([0.0, 0.3, 0.7, 1.0, 1.0], size=7 * count), 24)
    cloud = 1.0 - 0.6 * day * (1 - day) * draw.random(168 * count)
    heat = 3.0 * FULL * np.clip(np.sin(np.pi * (clock - 6.5) / 11.0), 0.0, None) * day * cloud
    return np.where(heat > 0.05 * FULL, heat, 0.0)


@dataclass(frozen=True, eq=False)
class MadePlant:
    """Two vessels that hold `hours` of full load, a field that brings `heat` [W], a turbine that starts with `start`
    [J] of heat, and loads of `levels`."""

    heat: np.ndarray
    hours: float = 10.0
    start: float = 0.4 * HOUR * FULL
    levels: tuple[float, ...] = LEVELS
    ready: float = 1.0
    first: float = 0.0

    @cached_property
    def store(self):
        useful = FULL * self.hours * HOUR / (HOT - COLD)
        heel = 0.05 * useful
        return InventoryMarch(mass=useful + 2 * heel, heel=heel, hot0=HOT, cold0=COLD, ua_hot=200.0, ua_cold=200.0,
                              hot_least=0.0, temperature=lambda h: AMBIENT + h / 1500.0)

    def walk(self, asks) -> Hours:
        """The exact march under a rule made ready."""
        heat, n = self.heat.tolist(), len(self.heat)
        flow = FULL / (HOT - COLD)
        return march(self.store, lambda hour, cold: (heat[hour] / (HOT - cold), heat[hour]), self.heat > 0.0,
                     lambda hour, hot, load: (load * flow, load * FULL * (hot - COLD) / (HOT - COLD)),
                     np.full(n, AMBIENT), HOUR, Start(lambda pause, ambient: 0.0, self.start), asks, FULL, np.zeros(n),
                     ready=self.ready)

    def delivered(self, log: Hours) -> np.ndarray:
        """What leaves the gate in each step [W]; a cooler store gives less power."""
        return power(log.load) * log.generating * (log.hot - COLD) / (HOT - COLD)

    @cached_property
    def outlook(self) -> Outlook:
        n = len(self.heat)
        levels = np.array(self.levels)[:, None] * np.ones(n)
        return Outlook(hour=self.first + np.arange(n, dtype=float), dt=HOUR, brought=self.heat, levels=self.levels,
                       drawn=FULL * levels, delivered=power(levels), full=FULL, capacity=FULL * self.hours * HOUR,
                       leak=1e-3, start=self.start, rated=power(1.0), ready=self.ready,
                       trial=lambda asks: self.delivered(self.walk(asks)))
