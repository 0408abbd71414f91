"""Small plants for tests: a boiler and a turbine, or one exchanger, between sources of heat that are given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from components.exchanger import Exchanger
from components.reheat import ReheatSteamGenerator, ReheatSteamTurbine
from components.steam_generator import SteamGenerator
from components.steam_turbine import SteamTurbine
from loopnet.media import Limits, Medium
from loopnet.params import param
from loopnet.plant import Component, Design, Equation, Plant, Term, Unknown
from loopnet.solve import Sized, rate
from loopnet.solve.solution import design_conditions

C = 273.15


@dataclass(frozen=True, kw_only=True)
class Source(Component):
    """Brings its loop to a temperature and a pressure, with whatever heat (or cooling) that takes; may set the flow."""

    holds_pressure = True

    outlet: Any = param(unit="K", source="test")
    pressure: Any = param("5 bar", unit="Pa", source="test")
    flow: Any = param(None, unit="kg/s", source="test", optional=True)

    def unknowns(self):
        return (Unknown("heat", "W", 1e7),)

    def equations(self):
        flow = () if self.flow is None else (
            Equation("flow", lambda v: v.main.m - self.flow, when="sizing"),
            Equation("flow_given", lambda v: v.main.ratio - v.given("flow"), when="rating"))
        return (
            Equation("heat", lambda v: v["heat"] - v.main.heat),
            Equation("outlet", lambda v: v.main.outlet.T - self.outlet),
            Equation("pressure", lambda v: v.main.outlet.p - self.pressure),
            *flow,
        )

    def terms(self, v):
        return (Term("heat", "sun", v["heat"]),)

    def givens(self, v):
        return {} if self.flow is None else {"flow": (0.2, 1.2)}

    def guess(self):
        return {"main.outlet": self.outlet}


class Steady(Medium):
    """A liquid of one heat capacity [J/kg/K], as textbooks take it."""

    phase = "liquid"
    limits = Limits(freezing=None, low=200.0, bulk=2000.0, film=None)
    cautions = ()

    def __init__(self, name, capacity):
        super().__init__()
        self.name, self.capacity = name, capacity

    def h(self, T, p=None):
        return self.capacity * (np.asarray(T, dtype=float) - C)

    def T(self, h, p=None):
        return np.asarray(h, dtype=float) / self.capacity + C


def steam_plant(hot="385 degC", steam="371 degC", pressure="100 bar", *, reheat=False, fluid="nitrate salt",
                boiler=None, turbine=None, **design) -> Plant:
    """A hot medium that makes steam, with or without reheat, and the turbine that it drives."""
    generator, engine = (ReheatSteamGenerator, ReheatSteamTurbine) if reheat else (SteamGenerator, SteamTurbine)
    plant = Plant("small", design=Design(**design))
    source = plant.add("source", Source(outlet=hot))
    made = plant.add("boiler", generator(**{"steam_temperature": steam, "pinch": "6 K"} | (boiler or {})))
    cycle = plant.add("turbine", engine(**{"pressure": pressure, "heaters": 3} | (turbine or {})))
    plant.loop("hot", fluid).through(source, made.hot, source)
    water = plant.loop("steam", "water", pressure=pressure).through(made.water, cycle.main, made.water)
    if reheat:
        water.through(made.reheat, cycle.reheat, made.reheat)
    return plant


def exchanger_plant(hot: Medium, cold: Medium, hot_in, cold_in, hot_out, cold_out, flow) -> Plant:
    """One exchanger between two media; temperatures in degC, flow of the hot side in kg/s."""
    plant = Plant("exchanger")
    warm = plant.add("warm", Source(outlet=hot_in + C, flow=flow))
    cool = plant.add("cool", Source(outlet=cold_in + C))
    between = plant.add("exchanger", Exchanger(cold_outlet=cold_out + C, approach=hot_out - cold_in))
    plant.loop("hot", hot).through(warm, between.hot, warm)
    plant.loop("cold", cold).through(between.cold, cool, between.cold)
    return plant


def rated(sized: Sized, **given):
    """View of a plant with hardware frozen at some points, as `view(component)`; its balance is checked.

    Conditions (`ambient`) and what components are given (`turbine__load`) are arrays of one length; the rest is as at
    the design point.
    """
    given = {name.replace("__", "."): np.atleast_1d(np.asarray(value, dtype=float)) for name, value in given.items()}
    points = len(next(iter(given.values())))
    conditions = {name: np.full(points, value[0]) for name, value in design_conditions(sized.plant).items()} | given
    (circuit,) = rate(sized)
    frame = circuit.solve({name: conditions[name] for name in circuit.needs})
    circuit.certify(frame)
    return frame.view
