"""Small plants that end in an engine or a user of heat: between a source of heat that is given, or under the sun."""

from __future__ import annotations

import numpy as np

from loopnet.plant import Design, Plant
from loopnet.solve import rate
from loopnet.solve.solution import design_conditions

from .small_plants import Source


def engine_plant(engine, fluid="diphenyl oil", hot="350 degC", pressure="14 bar", **design) -> Plant:
    """A source of heat and an engine on one loop."""
    plant = Plant("engine", design=Design(**{"net_power": "2 MW"} | design))
    source = plant.add("source", Source(outlet=hot, pressure=pressure))
    made = plant.add("engine", engine)
    side = getattr(made, type(engine).sides[0])
    plant.loop("hot", fluid, pressure=pressure).through(source, side, source)
    return plant


def rated(sized, **given):
    """View of the engine (or whatever is named "engine") at some points, and the certificate of them all."""
    given = {name.replace("__", "."): np.atleast_1d(np.asarray(value, dtype=float)) for name, value in given.items()}
    points = len(next(iter(given.values())))
    conditions = {name: np.full(points, value[0]) for name, value in design_conditions(sized.plant).items()} | given
    (circuit,) = rate(sized)
    frame = circuit.solve({name: conditions[name] for name in circuit.needs})
    circuit.certify(frame)
    return frame.view("engine")
