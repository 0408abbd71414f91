"""What a whole year takes: against reading the properties of its streams once an hour, read from an operating map, and
in memory. Used by year.py."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np

from loopnet.plants import find_plant, shipped
from loopnet.site import Weather
from loopnet.solve import Sized, size
from loopnet.year import Year, run_year

MEMORY = """
import resource
from loopnet.plants import find_plant
from loopnet.site import tamarisk_basin
from loopnet.solve import size
from loopnet.year import run_year
run_year(size(find_plant({!r})), tamarisk_basin())
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def seconds(work: Callable[[], Any], times: int = 2) -> tuple[float, Any]:
    """Shortest processor time of some runs [s], and what the last gave; tables are filled by a run before."""
    work()
    best, out = np.inf, None
    for _ in range(times):
        start = time.process_time()
        out = work()
        best = min(best, time.process_time() - start)
    return best, out


def property_floor(sized: Sized, hours: int) -> Callable[[], int]:
    """Temperature, density, heat capacity, viscosity and conductivity of every stream of a plant, once for every hour.

    Enthalpies move by a thousandth around the design point. The call returns how many properties it read.
    """
    states = []
    for stream in sized.plant.streams:
        link = sized.frame.links[stream.source.component].sides[stream.source.side][1]
        moving = 1.0 + 1e-3 * np.linspace(-1.0, 1.0, hours)
        states.append((link.medium, sized.values[link.h] * moving, np.full(hours, sized.values[link.p])))

    def read() -> int:
        count = 0
        for fluid, h, p in states:
            at = () if fluid.pressure_free else (p,)
            T = fluid.T(h, *at)
            for name in ("rho", "cp", "mu", "k"):
                if hasattr(fluid, name) and not (fluid.phase == "particles" and name in ("mu", "k")):
                    getattr(fluid, name)(T, *at)
                    count += 1
        return count + len(states)

    return read


def whole_year(plant: str, weather: Weather) -> dict[str, Any]:
    """Ratios of a whole year of a plant, timed in processor time in this process."""
    sized = size(find_plant(plant))
    exact_s, exact = seconds(lambda: run_year(sized, weather))
    map_s, mapped = seconds(lambda: run_year(sized, weather, exact=False), 5)
    floor_s, read = seconds(property_floor(sized, len(weather)), 5)
    found = {plant: _compared(exact, mapped)}
    for other in shipped():
        if other != plant:
            built = size(find_plant(other))
            found[other] = _compared(run_year(built, weather), run_year(built, weather, exact=False))
    return {"times_property_floor": exact_s / floor_s, "map_times_property_floor": map_s / floor_s,
            "map_times_faster": exact_s / map_s, "map_error": max(one["error"] for one in found.values()),
            "map_errors": found, "exact_year_s": exact_s, "map_year_s": map_s, "property_floor_s": floor_s,
            "properties_an_hour": read, "peak_mb": _peak(plant)}


def _compared(exact: Year, mapped: Year) -> dict[str, float]:
    one, other = (year.net if year.gross > 0 else year.heat for year in (exact, mapped))
    return {"error": abs(other / one - 1.0), "estimated": mapped.error, "points": mapped.points,
            "points_of_exact": exact.points}


def _peak(plant: str) -> float:
    """Peak memory of a process that runs one year, imports and all [MB]."""
    done = subprocess.run([sys.executable, "-c", MEMORY.format(plant)], check=True, capture_output=True, text=True)
    return int(done.stdout) / 1024.0
