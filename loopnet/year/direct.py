"""A year of a plant that stores nothing: the load follows the sun, and what it cannot take the field turns away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from loopnet.errors import SpecificationError
from loopnet.site import Weather
from loopnet.solve import Certificate, Circuit, Sized, rate
from loopnet.solve.certificate import component_terms
from loopnet.solve.solution import prepared
from loopnet.solve.view import Frame
from loopnet.year.demand import wanted_columns, with_wishes
from loopnet.year.dispatch import FollowTheSun, Rule
from loopnet.year.expect import gross_rating, rated_delivery
from loopnet.year.frost import frost_heat
from loopnet.year.ledger import Ledger
from loopnet.year.operation import Operation
from loopnet.year.result import Year
from loopnet.year.starts import start_heat, warming

__all__ = ["run_direct"]

Tell = Callable[[str, float], None]


def _only(sized: Sized) -> tuple[str, str]:
    """The one field and the one turbine or user."""
    plant = sized.plant
    found = {"field": list(plant.of_family("field")),
             "turbine or user": [n for n in plant.components if "load" in plant.components[n].givens(sized.view(n))]}
    for family, names in found.items():
        if len(names) != 1:
            raise SpecificationError(f"a year without a store needs exactly one {family}",
                                     where=f"plant {plant.name!r}", got=", ".join(names) or "none",
                                     hint="draw one, or put a store between them")
    return found["field"][0], found["turbine or user"][0]


def run_direct(sized: Sized, weather: Weather, tell: Tell, dispatch: Rule | None, operation: Operation) -> Year:
    """Run a sized plant that has no store through the hours of a weather year.

    Where the sun gives more than full load, the load is full and part of the mirrors look away; where it gives less
    than the least load, nothing runs; in between the load is what the sun makes of it. Heat of starts comes first in
    an hour: what the field brings then warms the field and the turbine, and pumps are not counted meanwhile.

    Parameters
    ----------
    sized : Sized
        A plant with one field, one turbine or heat user, and no store.
    weather : Weather
        The year; any stretch works.
    tell : callable
        Called with what is being done and the share that is done [-].
    dispatch : Rule or None
        Whose prices and demand are accounted for; its load cannot be chosen.
    operation : Operation
        Outages, what is out of order, standby power; the turbine follows the sun without inertia.

    Returns
    -------
    Year
        With the year's energy balance checked.

    Raises
    ------
    SpecificationError, ConvergenceError
    """
    plant, (field, cycle) = sized.plant, _only(sized)
    conditions = dict(weather.conditions())
    conditions |= prepared(plant, conditions)
    (by_load,), (by_sun,) = rate(sized, without="focus"), rate(sized, without="load")
    least = plant.components[cycle].givens(sized.view(cycle))["load"][0]

    def solved(circuit: Circuit, hours: np.ndarray, **given: float) -> tuple[Frame, Certificate]:
        batch = {n: conditions[n][hours] for n in circuit.needs if n in conditions and n not in given}
        batch |= {f"{cycle}.{name}": np.full(len(hours), value) for name, value in given.items()}
        frame = circuit.solve(batch, describe=lambda i: f"{weather.frame.index[hours[i]]:%d %b %H:%M}")
        return frame, circuit.certify(frame)

    tell("field", 0.05)
    rated = by_sun.system.frame({}, conditions, sized.values)
    view = rated.view(field)
    resting = operation.resting(weather.hour)
    bright = np.flatnonzero(np.asarray(plant.components[field].running(view), dtype=bool) & ~resting)
    sun = np.asarray(plant.components[field].sun(view)) * np.ones(len(weather))  # type: ignore[attr-defined]
    weak = solved(by_load, bright, load=least)[0].view(field)["focus"]  # mirrors that the least load asks for
    borne = conditions[f"{field}.focus"]  # mirrors that may be in use at most
    bright = bright[weak <= borne[bright]]
    tell("full load", 0.3)
    full, proof = solved(by_load, bright, load=1.0)
    plenty = full.view(field)["focus"] <= borne[bright]
    parts = [(bright[plenty], full.at(plenty), proof)]
    tell("part load", 0.6)
    if not np.all(plenty):
        parts.append((bright[~plenty], *solved(by_sun, bright[~plenty])))
    parts = [part for part in parts if len(part[0])]
    tell("balance", 0.9)
    year = _account(sized, field, cycle, by_sun, parts, rated, sun, weather, operation, resting)
    columns = {} if dispatch is None else wanted_columns(dispatch, weather.hour, rated_delivery(sized))
    moot = () if dispatch is None or isinstance(dispatch, FollowTheSun) else (
        f"without a store the load follows the sun; the rule {str(dispatch)!r} cannot choose it",)
    return replace(year, hourly=with_wishes(year.hourly, columns), warnings=moot + year.warnings).closed()


def _shares(heat: np.ndarray, ambient: np.ndarray, dt: float, warm: Callable[[float, float], float],
            start: float) -> tuple[np.ndarray, np.ndarray]:
    """Shares of each hour in which the field warms itself, and then the turbine."""
    warming, starting = np.zeros(len(heat)), np.zeros(len(heat))
    debt, begin, pause = 0.0, start, 1e9
    for i, (watt, air) in enumerate(zip(heat.tolist(), ambient.tolist(), strict=True)):
        if watt <= 0.0:
            pause, debt, begin = pause + dt, 0.0, start
            continue
        if pause > 0.0:
            debt, pause = warm(pause, air), 0.0
        warming[i] = min(1.0, debt / (watt * dt))
        starting[i] = min(1.0 - warming[i], begin / (watt * dt))
        debt -= warming[i] * watt * dt
        begin -= starting[i] * watt * dt
    return warming, starting


def _account(sized: Sized, field: str, cycle: str, circuit: Circuit, parts: list[tuple[np.ndarray, Frame, Certificate]],
             rated: Frame, sun: np.ndarray, weather: Weather, operation: Operation, resting: np.ndarray) -> Year:
    plant, n, dt, ready = sized.plant, len(weather), weather.step, operation.ready

    def spread(value: Callable[[Frame], Any]) -> np.ndarray:
        out = np.zeros(n)
        for hours, frame, _ in parts:
            out[hours] = value(frame)
        return out

    heat = ready * spread(lambda frame: frame.view(field).main.heat)
    focus = spread(lambda frame: frame.view(field)["focus"])
    margin = getattr(plant.components[field], "freeze_margin", 0.0)
    warm, start = warming(sized, circuit.components, margin), start_heat(sized, cycle)
    warm_share, start_share = _shares(heat, rated.condition("ambient"), dt, warm, start)
    frost = frost_heat(sized, rated, circuit.components, heat > 0.0, dt, margin)
    on = 1.0 - warm_share - start_share
    ledger = Ledger(n, dt)
    labels: dict[tuple[str, str, str], np.ndarray] = {}
    for hours, frame, _ in parts:
        for name, terms in component_terms(plant, frame, list(circuit.components)).items():
            for term in terms:
                series = labels.setdefault((name, term.label, term.kind), np.zeros(n))
                series[hours] = np.asarray(term.value) * (ready if name == field else ready * on[hours])
    for (component, label, kind), watt in labels.items():
        if kind != "sun":
            ledger.add(component, label, kind, watt)
    if frost.any():  # nothing is stored: by electricity, bought if need be
        ledger.add(field, "freeze protection", "loss", frost)
        ledger.add(field, "trace heating", "electricity", frost)
    ledger.add(field, "sun on aperture", "sun", sun)
    for label, watt in plant.components[field].idle(rated.view(field)).items():  # type: ignore[attr-defined]
        ledger.add(field, label, "loss", np.where((heat > 0.0) | resting, 0.0, watt))
    ledger.add(field, "outage", "loss", sun * resting)
    ledger.add(field, "out of order", "loss", (1.0 - ready) * sun * (heat > 0.0))
    ledger.add(field, "field warm-up", "loss", heat * warm_share)
    ledger.add(cycle, "turbine start", "loss", heat * start_share)
    standby = operation.standby * gross_rating(sized)
    if standby:
        ledger.add(cycle, "standby", "electricity", np.full(n, standby))
        ledger.add(cycle, "standby", "loss", np.full(n, standby))
    running, zero = heat > 0.0, np.zeros(n)
    hourly = pd.DataFrame({
        "sun": sun, "collected": heat, "to_store": zero, "from_store": zero, "gross": ledger.gross,
        "parasitic": ledger.parasitic, "net": ledger.gross - ledger.parasitic, "store": zero,
        "delivered": ledger.gross - ledger.parasitic if ledger.gross.any() else ledger.heat, "frost": frost,
        "load": spread(lambda frame: plant.components[cycle].load(frame.view(cycle))), "charging": zero,
        "warming": warm_share, "defocused": np.where(running, ready * (1.0 - focus), 0.0),
        "generating": ready * running * on,
        "starting": ready * start_share, "hot": zero, "cold": zero}, index=weather.frame.index)
    proofs = [sized.certificate, *(proof for _, _, proof in parts)]
    tightest = min(proofs, key=lambda c: c.pinch)
    return Year(plant, weather.name, ledger.frame(), hourly, dt, max(c.worst for c in proofs), tightest.pinch,
                tightest.pinch_at, (), sum(len(hours) for hours, _, _ in parts), FollowTheSun.title)
