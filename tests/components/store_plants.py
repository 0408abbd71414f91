"""Small plants around one store, and schedules for its march: what the tests of stores share."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from components.catalogue import collector
from components.field import CollectorField
from components.heat_user import HeatUser
from components.mover import Mover
from components.receiver import TubeLoss
from components.row import Row
from loopnet.media import medium
from loopnet.plant import Design, Plant

C, HOUR = 273.15, 3600.0


def store_plant(store, fluid="diphenyl oil", hot="390 degC", back="300 degC", pressure="14 bar", *, hours="8 hour",
                multiple=2.0, demand="10 MW", row=None):
    """Troughs that heat a loop, one store, and a user of heat."""
    plant = Plant("store_loop", design=Design(solar_multiple=multiple, store_hours=hours))
    field = plant.add("field", CollectorField(
        collector=collector("light_trough"), receiver=TubeLoss(), outlet=hot, inlet_guess=back,
        receiver_price="receiver.evacuated_tube", row=row or Row(aperture=2600, length=480)))
    kept = plant.add("store", store)
    pump, user_pump = plant.add("pump", Mover()), plant.add("user_pump", Mover())
    user = plant.add("user", HeatUser(back=back, demand=demand))
    loop = plant.loop("loop", fluid, pressure=pressure)
    loop.through(kept.charge, pump, field, kept.charge)
    loop.through(kept.discharge, user, user_pump, kept.discharge)
    return plant


class Point:
    """What a store reads from the plant it stands in: a medium between two temperatures [degC], and what was sized."""

    name = "store"

    def __init__(self, fluid, hot, cold, capacity=1e12, *, flow=100.0, pressure=14e5, **sized):
        self.fluid = medium(fluid)
        hot, cold = (SimpleNamespace(T=np.array([t + C]), h=np.array([float(self.fluid.h(t + C, pressure))]))
                     for t in (hot, cold))
        self.charge = SimpleNamespace(medium=self.fluid, inlet=hot, outlet=cold, m=np.array([flow]))
        self.sized = {"capacity": np.array([capacity]), **{k: np.array([x]) for k, x in sized.items()}}

    def __getitem__(self, name):
        return self.sized[name]


def walk(march, hours, dt=HOUR, state=None):
    """Let a march go through (charging flow, its enthalpy, discharging flow, its enthalpy, ambient); flows run for the
    share that the store allows. Returns heat brought, given and lost [J], and the state."""
    state = march.start() if state is None else state
    brought = given = lost = 0.0
    for m_in, h_hot, m_out, h_cold, ambient in hours:
        taken, drawn = march.shares(state, m_in, m_out, dt)
        step = march.step(state, (taken * m_in, h_hot), (drawn * m_out, h_cold), ambient, dt)
        brought += taken * m_in * (h_hot - step.cold) * dt if m_in else 0.0
        given += drawn * m_out * (step.hot - h_cold) * dt if m_out else 0.0
        lost += step.lost
        state = step.state
    return brought, given, lost, state
