"""Run a sized plant through a year: tabulate its circuits, march the hours, add up the energy."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from operator import mul

import numpy as np
import pandas as pd

from loopnet.errors import SpecificationError
from loopnet.params import check_range
from loopnet.site import Weather
from loopnet.solve import Circuit, Sized, rate
from loopnet.solve.solution import prepared
from loopnet.solve.view import Frame
from loopnet.year.coded import Reading, walked
from loopnet.year.demand import wanted_columns, with_wishes
from loopnet.year.direct import run_direct
from loopnet.year.dispatch import RoundTheClock, Rule
from loopnet.year.expect import Tables, gross_rating, outlook_of, rated_delivery
from loopnet.year.frost import frost_heat
from loopnet.year.ledger import Ledger
from loopnet.year.march import MOST, SAME, End, Hours, Start, StoreMarch, march
from loopnet.year.operation import Operation
from loopnet.year.opmap import NODES, OperatingMap, map_circuit
from loopnet.year.outlook import Asks
from loopnet.year.profiles import Recorder
from loopnet.year.result import JOULE_PER_KWH, Year
from loopnet.year.starts import start_heat, warming
from loopnet.year.table import Table, chebyshev, enough_nodes, tabulate

__all__ = ["run_year"]

WHOLE_YEAR = 364 * 86400.0
"""Length of weather [s] from which on a store is run until it has settled."""

@dataclass(frozen=True)
class _Parts:
    """The two circuits of a plant with one store, and the names that they hang on."""

    store: str
    field: str
    cycle: str
    charging: Circuit
    discharging: Circuit


def _parts(sized: Sized) -> _Parts:
    plant = sized.plant
    found = {family: list(plant.of_family(family)) for family in ("store", "field")}
    found["cycle"] = [n for n in plant.components if "load" in plant.components[n].givens(sized.view(n))]
    for family, names in found.items():
        if len(names) != 1:
            raise SpecificationError(f"a year needs exactly one {family}", where=f"plant {plant.name!r}",
                                     got=", ".join(names) or "none", hint="one field, one store, one turbine or user")
    store = found["store"][0]
    circuits = rate(sized)
    charging = next(c for c in circuits if f"{store}.cold" in c.needs)
    discharging = next(c for c in circuits if f"{store}.hot" in c.needs)
    return _Parts(store, found["field"][0], found["cycle"][0], charging, discharging)


def run_year(sized: Sized, weather: Weather, *, dispatch: Rule | None = None, operation: Operation | None = None,
             exact: bool = True, years: int | None = None,
             progress: Callable[[str, float], None] | None = None) -> Year:
    """Run a sized plant through the hours of a weather year.

    Parameters
    ----------
    sized : Sized
        A plant with one field, one turbine or heat user, and one store or none.
    weather : Weather
        The year; any stretch works.
    dispatch : Rule, optional
        Rule for the load, round the clock if not given; its least load is the turbine's own where it names none.
        Without a store the load follows the sun.
    operation : Operation, optional
        Outages, what is out of order, standby power, inertia of the turbine.
    exact : bool
        Whether circuits are solved in every hour, or at a sample of conditions and interpolated: several times
        faster, with an estimate of its error in the result. Without a store the year is exact in either case.
    years : int, optional
        How often the weather is run on end, the store going on as it stood [-]; as often as the store needs to settle
        where a whole year is given, else once. The result is the last year; `delivered_before` tells of the others.
    progress : callable, optional
        Called with what is being done and the share that is done [-].

    Returns
    -------
    Year
        With the year's energy balance checked.

    Raises
    ------
    SpecificationError, ConvergenceError
    """
    tell = progress or (lambda what, share: None)
    plant, manner = sized.plant, operation or Operation()
    if not list(plant.of_family("store")):
        return run_direct(sized, weather, tell, dispatch, manner)
    parts = _parts(sized)
    conditions = dict(weather.conditions())
    conditions |= prepared(plant, conditions)
    hours, dt = len(weather), weather.step
    cycle = plant.components[parts.cycle]
    rule: Rule = (dispatch or RoundTheClock()).fitted(getattr(cycle, "minimum_load", 0.25))
    limits = {f"{name}.{key}": ends for name in (parts.store, parts.cycle)
              for key, ends in plant.components[name].givens(sized.view(name)).items()}
    hot, cold, load = f"{parts.store}.hot", f"{parts.store}.cold", f"{parts.cycle}.load"
    always = np.ones(hours, dtype=bool)

    def describe(hour: int) -> str:
        return (f"{weather.frame.index[hour]:%d %b %H:%M}, direct sun {conditions['dni'][hour]:.0f} W/m2, "
                f"air {conditions['ambient'][hour] - 273.15:.1f} degC")

    tell("charging circuit", 0.05)
    rated = parts.charging.system.frame({}, conditions, sized.values)
    resting = manner.resting(weather.hour)
    runs = np.asarray(plant.components[parts.field].running(rated.view(parts.field)), dtype=bool) & ~resting
    charging = _charging(parts, conditions, cold, limits[cold], runs, describe, exact)
    brought = np.minimum(*charging.flows(parts.store, "charge")).min(axis=1)
    runs &= ~np.isin(charging.row, np.flatnonzero(brought <= 0.0))  # pipes that lose all that little sun brings
    tell("discharging circuit", 0.45)
    levels = np.array(rule.levels)  # the loads that dispatch may ask for are nodes, so that nothing lies between
    discharging = _discharging(parts, conditions, hot, limits[hot], {load: levels}, always, describe, exact)
    tell("march", 0.6)
    model: StoreMarch = plant.components[parts.store].march(sized.view(parts.store))  # type: ignore[attr-defined]
    margin = getattr(plant.components[parts.field], "freeze_margin", 0.0)
    frost = frost_heat(sized, rated, parts.charging.components, runs, dt, margin)
    electric = getattr(plant.components[parts.field], "freeze_by", "") == "trace heating"
    start = Start(warming(sized, parts.charging.components, margin), start_heat(sized, parts.cycle))
    full = float(sized.view(parts.store).discharge.heat[0])
    standby = manner.standby * gross_rating(sized)
    tables = _reading_cold(charging, parts.store), _reading_hot(discharging, parts)
    readers = cache(lambda: (_reader_cold(tables[0]), runs, _reader_hot(tables[1], rule.levels)))  # where one marches

    count = _years(years, model, hours * dt)
    seen = Recorder(model, hours)

    def walk(asks: Asks, begin: End | None = None, year: int = 0) -> Hours:
        held, air = manner.hold(asks, rule.levels, dt, resting), conditions["ambient"]
        idle = np.zeros(hours) if electric else frost
        if seen.look is None and (log := walked(model, *tables, runs, air, dt, start, held, full, idle, manner.ready,
                                                begin)) is not None:
            return log
        return march(model, *readers(), air, dt, start, held, full, idle,
                     lambda hour: tell("march", 0.6 + 0.35 * (year + hour / hours) / count),
                     ready=manner.ready, begin=begin, look=seen.look)

    known = Tables(parts.store, parts.cycle, charging, discharging, model, runs)
    outlook = outlook_of(sized, known, rule.levels, weather.hour, conditions["ambient"], dt, start, manner.ready,
                         standby, walk)
    asks = rule.for_year(outlook)
    log, before = walk(asks), []
    for year in range(1, count):
        before.append(float(np.sum(known.delivered(log, standby))) * dt / JOULE_PER_KWH)
        asks = rule.for_year(outlook)
        log = walk(asks, log.end, year)
    tell("balance", 0.97)
    done = _account(sized, parts, charging, discharging, model, log, limits, rated, runs, dt, weather, frost, electric,
                    standby, resting)
    columns = wanted_columns(rule, weather.hour, rated_delivery(sized))
    return replace(done, hourly=with_wishes(done.hourly, columns), dispatch=str(rule), profiles=seen.profiles,
                   delivered_before=tuple(before), error=_error(parts, charging, discharging),
                   warnings=(*asks.said, *done.warnings)).closed()


def _years(asked: int | None, model: StoreMarch, seconds: float) -> int:
    """How many years are run on end."""
    if asked is not None:
        check_range(float(asked), where="run_year: years", unit="-", low=1, high=100)
        return int(asked)
    return int(getattr(model, "years", 1)) if seconds >= WHOLE_YEAR else 1


def _charging(parts: _Parts, conditions: dict[str, np.ndarray], cold: str, span: tuple[float, float],
              runs: np.ndarray, describe: Callable[[int], str], exact: bool) -> Table:
    """The charging circuit over the hours in which it runs and the enthalpy that the store gives it."""
    if exact or not runs.any():
        nodes = enough_nodes(parts.charging, parts.store, "charge", conditions, cold, span, {}, runs)
        return tabulate(parts.charging, conditions, {cold: nodes}, runs, describe)
    return map_circuit(parts.charging, conditions, {cold: chebyshev(*span, NODES)}, runs,
                       ((parts.store, "charge"), (parts.field, "main")), cold, describe)


def _discharging(parts: _Parts, conditions: dict[str, np.ndarray], hot: str, span: tuple[float, float],
                 loads: dict[str, np.ndarray], runs: np.ndarray, describe: Callable[[int], str],
                 exact: bool) -> Table:
    """The discharging circuit over the hours, the loads and the enthalpy that the store gives it."""
    if exact:
        nodes = enough_nodes(parts.discharging, parts.store, "discharge", conditions, hot, span, loads, runs)
        return tabulate(parts.discharging, conditions, {hot: nodes, **loads}, runs, describe)
    return map_circuit(parts.discharging, conditions, {hot: chebyshev(*span, NODES), **loads}, runs,
                       ((parts.store, "discharge"),), hot, describe)


def _error(parts: _Parts, charging: Table, discharging: Table) -> float:
    """Estimated relative error of what is delivered: that of the heat brought, and that of what is made of it [-]."""
    error = charging.heat_error(parts.store, "charge") if isinstance(charging, OperatingMap) else 0.0
    return error + (discharging.delivery_error() if isinstance(discharging, OperatingMap) else 0.0)


def _barycentric(nodes: np.ndarray) -> Callable[[float], list[float]]:
    """Lagrange weights for one float, fast."""
    points = nodes.tolist()
    span = range(len(points))
    scale = [1.0 / float(np.prod([points[j] - points[k] for k in span if k != j])) for j in span]

    def at(x: float) -> list[float]:
        differences = [x - p for p in points]
        out = []
        for j in span:
            product = scale[j]
            for k in span:
                if k != j:
                    product *= differences[k]
            out.append(product)
        return out

    return at


def _rise(flow: np.ndarray, heat: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Enthalpy that a path gives or takes [J/kg], and its heat [W]: the first is nearly straight where flow is not."""
    return heat / flow, heat


def _reading_cold(table: Table, store: str) -> Reading:
    rise, heat = _rise(*table.flows(store, "charge"))
    return Reading(table.row, table.axes[f"{store}.cold"], rise[:, :, None], heat[:, :, None])


def _reading_hot(table: Table, parts: _Parts) -> Reading:
    names = [f"{parts.store}.hot", f"{parts.cycle}.load"]
    order = [list(table.axes).index(name) for name in names]
    rise, heat = (np.ascontiguousarray(np.moveaxis(a, [o + 1 for o in order], [1, 2]))
                  for a in _rise(*table.flows(parts.store, "discharge")))
    return Reading(table.row, table.axes[names[0]], rise, heat)


def _reader_cold(table: Reading) -> Callable[[int, float], tuple[float, float]]:
    rise, heat = table.rise[:, :, 0].tolist(), table.heat[:, :, 0].tolist()
    row, weigh = table.row.tolist(), _barycentric(table.nodes)

    def read(hour: int, cold: float) -> tuple[float, float]:
        w, i = weigh(cold), row[hour]
        warmth = sum(map(mul, w, heat[i]))
        return warmth / sum(map(mul, w, rise[i])), warmth

    return read


def _reader_hot(table: Reading, levels: tuple[float, ...]) -> Callable[[int, float, float], tuple[float, float]]:
    rise, heat = (np.moveaxis(a, 2, 1).tolist() for a in (table.rise, table.heat))
    row, weigh, place = table.row.tolist(), _barycentric(table.nodes), {load: i for i, load in enumerate(levels)}

    def read(hour: int, hot: float, load: float) -> tuple[float, float]:
        w, i, j = weigh(hot), row[hour], place[load]
        warmth = sum(map(mul, w, heat[i][j]))
        return warmth / sum(map(mul, w, rise[i][j])), warmth

    return read


def _account(sized: Sized, parts: _Parts, charging: Table, discharging: Table, model: StoreMarch,
             log: Hours, limits: dict[str, tuple[float, float]], rated: Frame, runs: np.ndarray,
             dt: float, weather: Weather, frost: np.ndarray, electric: bool, standby: float,
             resting: np.ndarray) -> Year:
    """Add up every term of every component over the hours."""
    plant, n = sized.plant, len(runs)
    ledger = Ledger(n, dt)
    book = ledger.add
    given = {f"{parts.store}.cold": log.cold, f"{parts.store}.hot": log.hot, f"{parts.cycle}.load": log.load}
    series = {name: np.zeros(n) for name in ("sun", "collected", "to_store", "from_store")}
    field = plant.components[parts.field]
    sun = np.asarray(field.sun(rated.view(parts.field))) * np.ones(n)  # type: ignore[attr-defined]
    series["sun"] = sun

    # charging: terms hold while the circuit runs, be it to the store or to warm itself
    sunny = np.flatnonzero(runs)
    at = {name: given[name][sunny] for name in charging.axes}
    active = (log.charging + log.warming)[sunny]
    for (component, label, kind), values in charging.terms().items():
        watt = np.zeros(n)
        watt[sunny] = charging.at(values, sunny, at) * active
        if kind != "sun":
            book(component, label, kind, watt)
    rise_in, heat_in = (charging.at(a, sunny, at) for a in _rise(*charging.flows(parts.store, "charge")))
    brought, warming = np.zeros(n), np.zeros(n)
    brought[sunny], warming[sunny] = heat_in * log.charging[sunny], heat_in * log.warming[sunny]
    collected = charging.gained(parts.field, "main")[1]
    series["collected"][sunny] = charging.at(collected, sunny, at) * active
    book(parts.field, "sun on aperture", "sun", sun)
    for label, watt in field.idle(rated.view(parts.field)).items():  # type: ignore[attr-defined]
        book(parts.field, label, "loss", np.where(runs | resting, 0.0, watt))
    book(parts.field, "outage", "loss", sun * resting)
    book(parts.field, "out of order", "loss", sun * log.failed)
    book(parts.field, "defocused, store full", "loss", sun * log.defocused)
    book(parts.field, "field warm-up", "loss", warming)
    if frost.any():
        book(parts.field, "freeze protection", "loss", frost)
        if electric:
            book(parts.field, "trace heating", "electricity", frost)
    # discharging
    busy = np.flatnonzero(log.load > 0)
    at = {name: given[name][busy] for name in discharging.axes}
    for (component, label, kind), values in discharging.terms().items():
        watt = np.zeros(n)
        watt[busy] = discharging.at(values, busy, at) * log.generating[busy]
        book(component, label, kind, watt)
    rise_out, heat_out = (discharging.at(a, busy, at) for a in _rise(*discharging.flows(parts.store, "discharge")))
    drawn, starting = np.zeros(n), np.zeros(n)
    drawn[busy], starting[busy] = heat_out * (log.generating + log.starting)[busy], heat_out * log.starting[busy]
    book(parts.cycle, "turbine start", "loss", starting)
    if standby:
        book(parts.cycle, "standby", "electricity", np.full(n, standby))
        book(parts.cycle, "standby", "loss", np.full(n, standby))
    # store
    charge, discharge = np.zeros(n), np.zeros(n)
    charge[sunny] = heat_in / rise_in * log.charging[sunny]
    discharge[busy] = heat_out / rise_out * (log.generating + log.starting)[busy]
    own = np.asarray(model.electricity(charge, discharge))
    if own.any():
        book(parts.store, "bed fan power", "electricity", own)
        book(parts.store, "bed fan", "loss", own)
    book(parts.store, "store wall", "loss", log.lost / dt)
    ledger.total(parts.store, "change in store", "store", float(log.stored[-1] - log.first))
    series["to_store"], series["from_store"] = brought, drawn
    hourly = pd.DataFrame({**series, "gross": ledger.gross, "parasitic": ledger.parasitic,
                           "net": ledger.gross - ledger.parasitic,
                           "delivered": ledger.gross - ledger.parasitic if ledger.gross.any() else ledger.heat,
                           "frost": frost, "store": log.stored - log.stored.min(), "load": log.load,
                           "charging": log.charging, "warming": log.warming,
                           "defocused": log.defocused, "generating": log.generating, "starting": log.starting,
                           "hot": log.hot, "cold": log.cold}, index=weather.frame.index)
    certificates = [sized.certificate, charging.certificate, discharging.certificate]
    tightest = min(certificates, key=lambda c: c.pinch)
    return Year(plant, weather.name, ledger.frame(), hourly, dt, max(c.worst for c in certificates), tightest.pinch,
                tightest.pinch_at, _warnings(limits, log, sunny, busy, given),
                charging.points + discharging.points)


def _warnings(limits: dict[str, tuple[float, float]], log: Hours, sunny: np.ndarray, busy: np.ndarray,
              given: dict[str, np.ndarray]) -> tuple[str, ...]:
    """What was read beyond its table, and hours that did not settle."""
    out = []
    for name, (low, high) in limits.items():
        values = given[name][sunny if name.endswith(".cold") else busy]
        beyond = int(np.sum((values < low - 1e-9 * abs(low)) | (values > high + 1e-9 * abs(high))))
        if beyond:
            out.append(f"{name} left the range of its table in {beyond} hours; values there are extrapolated")
    unsettled = int(np.sum(log.rounds >= MOST))
    if unsettled:
        out.append(f"the flows of {unsettled} hours did not settle to {SAME:g}; what was missed went back to the store")
    return tuple(out)
