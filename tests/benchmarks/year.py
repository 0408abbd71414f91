"""How fast a plant's year is, and how right: against the same hours solved one by one, in order, with
`scipy.optimize.root` and a CoolProp call for every property. Both are timed in this run.

    python tests/benchmarks/year.py --json - [--plant oil_salt] [--start 2160] [--hours 72] [--stretch-only]

Then whole years (`whole_year.py`): the exact year against reading the properties of its streams once an hour, the
operating map against the exact year, on every shipped plant, and peak memory.

The hour-by-hour way has no tables of properties, no tables over store temperature or load, no blocks and no batch: all
unknowns of a circuit go to `root(method="hybr")` at once, scaled, from the solution of the hour before. The drawing of
the plant, its equations, the store's own model, the march and its dispatch are shared.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import root
from whole_year import whole_year

import loopnet.year.run as run
from loopnet.errors import PropertyRangeError
from loopnet.media import medium
from loopnet.media.fluids import DiphenylOil
from loopnet.plant import Plant
from loopnet.plants import find_plant
from loopnet.site import Weather, tamarisk_basin
from loopnet.solve import Circuit, Sized, size
from loopnet.solve.certificate import component_terms
from loopnet.solve.solution import prepared
from loopnet.year.march import Start, march

SOLVED = 1e-7  # largest scaled residual of a solution: what CoolProp's own inversions leave
FAR = 1e3  # scaled residual where water has no state
JUMP = 0.3  # where load or enthalpy changes by more, root starts from the design point, not from the hour before
RESTS = 1e-9  # a circuit is not solved again within an hour if what the store delivers moved less than this
IMPORTS = "import loopnet.plants, loopnet.site, loopnet.solve, loopnet.year, architectures.{}"


def exact(plant: Plant) -> Plant:
    """The plant with media that ask CoolProp, or the published equation, for every single property."""
    for name, loop in plant.loops.items():
        fluid = medium(loop.medium.name, loop.medium.pressure, exact=True)
        if isinstance(fluid, DiphenylOil):
            fluid._exact_T = partial(_oil_temperature, fluid)  # type: ignore[method-assign]
            fluid.cp = partial(_oil_capacity, fluid)  # type: ignore[method-assign]
        plant = plant.with_medium(name, fluid)
    return plant


def _oil_temperature(oil: DiphenylOil, h: np.ndarray) -> np.ndarray:
    """Newton; the oil's own search begins with a chord of 400 calls, right to fill tables, unfair to single hours."""
    T = np.full(h.shape, 600.0)
    for _ in range(20):
        step = (oil._exact("h", T) - h) / oil._exact("cp", T)
        T = np.clip(T - step, *oil.span)
        if np.abs(step).max() < 1e-9:
            break
    return T


def _oil_capacity(oil: DiphenylOil, T: Any, p: Any = None) -> Any:
    """Slope of CoolProp's enthalpy, as tables have it; CoolProp's own heat capacity is up to 4e-4 off that slope."""
    return (oil.h(T + 0.02) - oil.h(T - 0.02)) / 0.04


class OneByOne:
    """A circuit of a plant, solved for one hour at a time, all its unknowns at once."""

    def __init__(self, circuit: Circuit, conditions: dict[str, np.ndarray]) -> None:
        self.circuit, self.system, self.conditions = circuit, circuit.system, conditions
        start = np.array([circuit.design[u] for u in circuit.unknowns])
        self.scale = np.where(start == 0.0, 1.0, np.abs(start))
        self.design = self.known = start / self.scale
        self.weight: Any = None
        self.last: tuple[int, dict[str, float]] = (-1, {})
        self.frames: dict[int, Any] = {}
        self.calls, self.evaluations, self.worst = 0, 0, 0.0

    def frame(self, x: np.ndarray, hour: int, given: dict[str, float]) -> Any:
        values = {u: np.array([v]) for u, v in zip(self.circuit.unknowns, x * self.scale, strict=True)}
        conditions = {n: self.conditions[n][hour:hour + 1] for n in self.circuit.needs if n not in given}
        return self.system.frame(values, conditions | {n: np.array([v]) for n, v in given.items()}, self.circuit.design)

    def residuals(self, x: np.ndarray, hour: int, given: dict[str, float]) -> np.ndarray:
        self.evaluations += 1
        frame = self.frame(x, hour, given)
        try:
            return np.array([np.squeeze(self.system.equations[e](frame)) for e in self.circuit.equations])
        except PropertyRangeError:  # root looks where water has no state: nothing it finds there may please it
            return np.full(len(self.circuit.equations), FAR) * (1.0 if self.weight is None else self.weight)

    def weights(self, hour: int, given: dict[str, float]) -> np.ndarray:
        """What each equation weighs: its steepest change with a scaled unknown."""
        base = self.residuals(self.known, hour, given)
        slopes = [np.abs(self.residuals(self.known + 1e-6 * e, hour, given) - base) for e in np.eye(len(base))]
        return np.asarray(np.max(slopes, axis=0) / 1e-6)

    def flow(self, store: str, side: str, hour: int, given: dict[str, float]) -> tuple[float, float]:
        """Flow [kg/s] and heat [W] at a side of the store; `given` is what the march decides."""
        then = self.last[1]
        if self.last[0] != hour or any(abs(given[n] - then[n]) > RESTS * abs(then[n]) for n in given):
            self.weight = self.weights(hour, given) if self.weight is None else self.weight
            near = all(abs(given[n] - then[n]) <= JUMP * abs(then[n]) for n in then)
            for first in (self.known, self.design) if near else (self.design, self.known):
                answer = root(lambda x: self.residuals(x, hour, given) / self.weight, first, options={"xtol": 1e-10})
                frame, left = self.frame(answer.x, hour, given), float(np.abs(answer.fun).max())
                gaps = [float(np.min(d)) for name in self.circuit.components
                        for d in self.circuit.plant.components[name].differences(frame.view(name)).values()]
                if left < SOLVED and min(gaps, default=1.0) > 0.0:  # root knows no bounds: temperatures may cross
                    break
            else:
                raise RuntimeError(f"root found nothing in hour {hour}: {given}, {answer.message}")
            self.worst, self.calls = max(self.worst, left), self.calls + 1
            self.known, self.last, self.frames[hour] = answer.x, (hour, given), frame
        through = getattr(self.frames[hour].view(store), side)
        return float(through.m[0]), abs(float(through.heat[0]))

    def series(self, store: str, side: str, hours: int) -> np.ndarray:
        """Flow, heat, electricity made and taken in each hour, shape (4, hours); 0 where it was not solved."""
        out = np.zeros((4, hours))
        whole = [n for n in self.circuit.components if self.circuit.whole(n)]
        for hour, frame in self.frames.items():
            terms = [t for some in component_terms(self.circuit.plant, frame, whole).values() for t in some]
            through = getattr(frame.view(store), side)
            out[:2, hour] = float(through.m[0]), abs(float(through.heat[0]))
            out[2:, hour] = [sum(float(np.squeeze(t.value)) for t in terms if t.kind == kind)
                             for kind in ("power", "electricity")]
        return out


def hour_by_hour(sized: Sized, weather: Weather) -> tuple[dict[str, np.ndarray], dict[str, Any]]:
    """The same stretch of weather, every hour by `root`: series of shape (hours,) and how much work it was."""
    plant, parts = sized.plant, run._parts(sized)
    conditions = dict(weather.conditions())
    conditions |= prepared(plant, conditions)
    rated = parts.charging.system.frame({}, conditions, sized.values)
    runs = np.asarray(plant.components[parts.field].running(rated.view(parts.field)), dtype=bool)
    day, night = OneByOne(parts.charging, conditions), OneByOne(parts.discharging, conditions)
    store, load = parts.store, f"{parts.cycle}.load"
    model = plant.components[store].march(sized.view(store))  # type: ignore[attr-defined]
    rule = run.RoundTheClock(minimum=plant.components[parts.cycle].minimum_load)  # type: ignore[attr-defined]
    margin = plant.components[parts.field].freeze_margin  # type: ignore[attr-defined]
    frost = run.frost_heat(sized, rated, parts.charging.components, runs, weather.step, margin)
    starts = Start(run.warming(sized, parts.charging.components, margin), run.start_heat(sized, parts.cycle))
    log = march(model, lambda hour, cold: day.flow(store, "charge", hour, {f"{store}.cold": cold}), runs,
                lambda hour, hot, share: night.flow(store, "discharge", hour, {f"{store}.hot": hot, load: share}),
                conditions["ambient"], weather.step, starts, rule, float(sized.view(store).discharge.heat[0]),
                frost)
    flow_in, heat, _, day_own = day.series(store, "charge", len(weather))
    flow_out, _, made, night_own = night.series(store, "discharge", len(weather))
    fan = model.electricity(flow_in * log.charging, flow_out * (log.generating + log.starting))
    own = day_own * (log.charging + log.warming) + night_own * log.generating + fan
    return {"net": made * log.generating - own, "to_store": heat * log.charging, "hot": log.hot, "cold": log.cold}, {
        "root_calls": day.calls + night.calls, "residual_evaluations": day.evaluations + night.evaluations,
        "largest_residual": max(day.worst, night.worst), "sunny_hours": int(runs.sum()),
        "turbine_hours": int((log.load > 0).sum()), "hours_store_full": int((log.defocused > 1e-6).sum())}


def differences(ours: Any, series: dict[str, np.ndarray]) -> dict[str, float]:
    """Largest difference of each series over its largest value, and of sums; a resting store has nothing to compare."""
    matters = {"hot": ours["load"] > 0, "cold": ours["charging"] + ours["warming"] > 0}
    out = {}
    for name, right in series.items():
        size_of = max(float(np.abs(right).max()), 1.0)
        out[f"hourly {name}"] = float((np.abs(ours[name] - right) / size_of * matters.get(name, 1.0)).max())
        if name not in matters:
            out[f"total {name}"] = abs(float(ours[name].sum() - right.sum())) / max(abs(float(right.sum())), 1.0)
    return out


def main() -> None:
    ask = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    ask.add_argument("--json", default="-", help="file to write, - for standard output")
    ask.add_argument("--plant", default="oil_salt", help="shipped name")
    ask.add_argument("--start", type=int, default=2160, help="first hour, counted from 1 January")
    ask.add_argument("--hours", type=int, default=72, help="number of hours, all of them solved by both")
    ask.add_argument("--stretch-only", action="store_true", help="leave out whole years")
    args = ask.parse_args()
    first = min(args.start, 8760 - args.hours)

    marks = [(clock := time.perf_counter)()]
    subprocess.run([sys.executable, "-c", IMPORTS.format(args.plant)], check=True)
    marks.append(clock())
    weather, sized = tamarisk_basin().slice(first, args.hours), size(find_plant(args.plant))
    run.run_year(sized, weather.slice(0, 2))  # what is compiled is loaded
    marks.append(clock())
    year = run.run_year(sized, weather, operation=run.Operation(standby=0.0))  # which no circuit takes
    marks.append(clock())
    twin = size(exact(sized.plant))
    marks.append(clock())
    series, work = hour_by_hour(twin, weather)
    marks.append(clock())
    importing, sizing, fast, _, slow = np.diff(marks).tolist()
    found = differences(year.hourly, series)
    years = {} if args.stretch_only else whole_year(args.plant, tamarisk_basin())
    text = json.dumps({
        "plant": args.plant, **years, "times_faster_than_hourly_root": slow / fast,
        "largest_difference": max(found.values()),
        "differences": found, "difference_is": "over the largest value of the stretch; totals over the total",
        "hours": args.hours, "first_hour": first, "from": str(weather.times[0]), "to": str(weather.times[-1]),
        "year_s": fast, "hourly_root_s": slow, "points_of_year": year.points, **work,
        "import_s": importing, "weather_and_sizing_s": sizing, "cold_start_s": importing + sizing + fast}, indent=2)
    sys.stdout.write(text + "\n") if args.json == "-" else Path(args.json).write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
