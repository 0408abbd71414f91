"""How fast a steam cycle is solved: from its drawing, again from its last solution, and as a map of 500 points.

    python tests/benchmarks/cycle.py --json -

The cycle: nitrate salt at 565 degC heats economiser, evaporator, superheater and reheater; steam of 540 degC at
125 bar, reheat to 540 degC; six heaters (closed, closed, deaerator, three closed, drains cascaded) and a dry
condenser; 20 MW net. Each figure is the least of several runs on this machine, with processor time beside it, for
machines that are shared. What is counted:

* `cold_ms`: from parameters to the solved and certified design point: components are made and checked, the plant drawn,
  its equations assembled, matched and solved, the certificate computed. Imports, property tables and curves that are
  made once are loaded before.
* `warm_ms`: the rated circuit solved again, from its last solution, with air 2 K warmer, salt 1 K colder and 2 % less
  load, every unknown to 1e-10; its certificate is checked apart from the clock.
* `map_500_s`: the map of the cycle over 5 loads, 5 salt temperatures and 20 temperatures of the air, with the rating of
  the circuit and the certificate, and the 40 points besides that measure its error.

`search_ms` is the warm case as blocks solve it, for comparison, and `map_error` what the map misses, over rated power.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from components.cycle_again import solve_again
from components.cycle_map import cycle_map
from components.reheat import ReheatSteamGenerator, ReheatSteamTurbine
from loopnet.params import param
from loopnet.plant import Component, Equation, Plant, Term, Unknown
from loopnet.solve import Circuit, Sized, rate, size
from loopnet.solve.solution import design_conditions

HEATERS = ("closed", "closed", "deaerator", "closed", "closed", "closed")


@dataclass(frozen=True, kw_only=True)
class HotStream(Component):
    """A hot medium of a given temperature and as much of it as is asked for."""

    family = "exchanger"
    holds_pressure = True

    outlet: Any = param(unit="K", source="benchmark", doc="temperature at the design point")
    pressure: Any = param("5 bar", unit="Pa", source="benchmark", doc="pressure behind it")

    def unknowns(self) -> Iterable[Unknown]:
        return (Unknown("heat", "W", 5e7),)

    def equations(self) -> Iterable[Equation]:
        return (Equation("heat", lambda v: v["heat"] - v.main.heat),
                Equation("outlet", lambda v: v.main.outlet.T - self.outlet, when="sizing"),
                Equation("temperature", lambda v: v.main.outlet.T - v.given("temperature"), when="rating"),
                Equation("pressure", lambda v: v.main.outlet.p - self.pressure))

    def terms(self, v: Any) -> Iterable[Term]:
        return (Term("heat", "sun", v["heat"]),)

    def givens(self, v: Any) -> dict[str, tuple[float, float]]:
        return {"temperature": (self.outlet - 10.0, self.outlet + 2.0)}

    def guess(self) -> dict[str, float]:
        return {"main.outlet": self.outlet}


def draw() -> Plant:
    """The plant that is timed."""
    plant = Plant("cycle")
    salt = plant.add("salt", HotStream(outlet="565 degC"))
    boiler = plant.add("boiler", ReheatSteamGenerator(steam_temperature="540 degC"))
    turbine = plant.add("turbine", ReheatSteamTurbine(pressure="125 bar", heaters=HEATERS))
    plant.loop("salt", "nitrate salt").through(salt, boiler.hot, salt)
    steam = plant.loop("steam", "water", pressure="125 bar")
    steam.through(boiler.water, turbine.main, boiler.water)
    steam.through(boiler.reheat, turbine.reheat, boiler.reheat)
    return plant


def least(work: Callable[[], Any], runs: int) -> tuple[float, float]:
    """Shortest wall and processor time of some runs [s]."""
    wall, busy = [], []
    for _ in range(runs):
        start, begin = time.perf_counter(), time.process_time()
        work()
        wall.append(time.perf_counter() - start)
        busy.append(time.process_time() - begin)
    return min(wall), min(busy)


def at(sized: Sized, circuit: Circuit, load: float, salt: float, air: float) -> dict[str, np.ndarray]:
    """Conditions of one point."""
    conditions = {**design_conditions(sized.plant), "turbine.load": np.array([load]),
                  "salt.temperature": np.array([salt]), "ambient": np.array([air])}
    return {name: conditions[name] for name in circuit.needs}


def measure(runs: int) -> dict[str, float]:
    """All figures."""
    sized = size(draw())
    (circuit,) = rate(sized)
    last = circuit.solve(at(sized, circuit, 1.0, 838.15, 298.15))
    changed = at(sized, circuit, 0.98, 837.15, 300.15)
    circuit.certify(solve_again(circuit, last, changed))
    start = {name: last.values[name] for name in circuit.unknowns}
    cold = least(lambda: size(draw()), runs)
    warm = least(lambda: solve_again(circuit, last, changed), 3 * runs)
    search = least(lambda: circuit.solve(changed, start=start), runs)
    nodes = {"load": 5, "source": 5, "ambient": 20}
    made = least(lambda: cycle_map(sized, nodes=nodes), 3)
    return {"cold_ms": 1e3 * cold[0], "warm_ms": 1e3 * warm[0], "map_500_s": made[0],
            "cold_cpu_ms": 1e3 * cold[1], "warm_cpu_ms": 1e3 * warm[1], "map_500_cpu_s": made[1],
            "search_ms": 1e3 * search[0], "map_error": cycle_map(sized, nodes=nodes).error["power"]}


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", metavar="FILE", help="write the figures as JSON; - for the screen")
    parser.add_argument("--runs", type=int, default=10, help="runs of each figure (default 10)")
    options = parser.parse_args()
    found = {name: float(f"{value:.4g}") for name, value in measure(options.runs).items()}
    if options.json == "-":
        print(json.dumps(found))
        return
    if options.json:
        Path(options.json).write_text(json.dumps(found) + "\n", encoding="utf-8")
    for name, value in found.items():
        print(f"{name:14} {value:g}")


if __name__ == "__main__":
    main()
