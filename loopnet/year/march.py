"""The march: hour after hour, what the field brings and the turbine draws moves the state of the store."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple, Protocol

import numpy as np

from loopnet.year.outlook import Asks

__all__ = ["End", "Hours", "Start", "StoreMarch", "StoreStep", "march"]

SAME = 2e-7  # relative change of the store's outlet enthalpies at which an hour is settled
MOST = 30  # rounds in one hour before the march gives the hour up
STUCK = 7  # rounds after which plain repetition gives way to the secant


class StoreStep(NamedTuple):
    """A store after one step: its state, the mean enthalpies [J/kg] it delivered, and the heat it lost [J].

    `inner` is what the store may use again while the flows of the same step are still being settled; `final` asks
    for the step itself, with `inner` as the start of what it learns.
    """

    state: Any
    hot: float
    cold: float
    lost: float
    inner: Any = None
    final: bool = False


class StoreMarch(Protocol):
    """What the march asks of a store. Enthalpies are those of the medium that passes through it [J/kg]."""

    def start(self) -> Any:
        """State with which the year begins."""

    def outlets(self, state: Any) -> tuple[float, float]:
        """Enthalpies at which it would deliver now, hot and cold [J/kg]."""

    def energy(self, state: Any) -> float:
        """Energy inside [J]."""

    def available(self, state: Any) -> float:
        """Heat that can still be drawn [J]."""

    def shares(self, state: Any, charge: float, discharge: float, dt: float) -> tuple[float, float]:
        """Shares of a step for which the charging and the discharging flow [kg/s] can run."""

    def step(self, state: Any, charge: tuple[float, float], discharge: tuple[float, float], ambient: float,
             dt: float, draft: StoreStep | None = None) -> StoreStep:
        """Move the state; flows are (mass [kg/s] averaged over the step, enthalpy with which it arrives [J/kg]).

        With `draft`, an earlier result of the same step, only the enthalpies delivered need be right, given `inner`.
        """

    def settle(self, state: Any, joule: float) -> Any:
        """Give the store a little energy [J]: what its paths assumed and what it delivered differ by that much."""

    def electricity(self, charge: np.ndarray, discharge: np.ndarray) -> np.ndarray:
        """Electricity that the store itself needs [W] at charging and discharging flows [kg/s]."""


@dataclass(frozen=True)
class Start:
    """What it costs to start: heat to warm the field after a pause, heat to start the turbine.

    `warm` maps the length of a pause [s] and ambient [K] to heat [J].
    """

    warm: Callable[[float, float], float]
    turbine: float


class End(NamedTuple):
    """Store, pause of the field [s] and whether the turbine runs, when a stretch ends."""

    state: Any
    pause: float = 1e9
    was_on: bool = False


@dataclass(frozen=True)
class Hours:
    """What the march decided, each of shape (hours,); `hot` and `cold` are the enthalpies its paths were solved with.

    Shares are of the hour: `charging` brings heat to the store, `warming` warms the field, `defocused` turns the
    mirrors away because the store is full, `failed` leaves them idle because something is out of order; `generating`
    and `starting` are those of the turbine.
    """

    charging: np.ndarray
    warming: np.ndarray
    defocused: np.ndarray
    failed: np.ndarray
    generating: np.ndarray
    starting: np.ndarray
    load: np.ndarray
    hot: np.ndarray
    cold: np.ndarray
    stored: np.ndarray
    lost: np.ndarray
    rounds: np.ndarray
    first: float
    """Energy in the store when the year begins [J]."""
    end: End
    """How it ends, for a march that goes on from there."""


_Trend = tuple[Any, float, float]


def _ahead(trend: _Trend, regime: Any, hot: float, cold: float) -> tuple[float, float, _Trend]:
    """First guess of what the store delivers: as in the hour before, and on along its trend in the same regime."""
    before, was_hot, was_cold = trend
    if regime == before:
        return 2 * hot - was_hot, 2 * cold - was_cold, (regime, hot, cold)
    return hot, cold, (regime, hot, cold)


def _forward(flow: float, heat: float) -> tuple[float, float]:
    """A flow [kg/s] and its heat [W]; nothing where a table read far beyond its range has them run backward."""
    return (flow, heat) if flow > 0.0 and heat > 0.0 else (0.0, 0.0)


def _secant(x0: float, f0: float, x1: float, f1: float) -> float:
    """Where f(x) = x on the line through two rounds; the plain next round where the line is steep or says nothing."""
    if x0 == x1:
        return f1
    slope = (f1 - f0) / (x1 - x0)
    return x1 + (f1 - x1) / (1.0 - slope) if -2.0 < slope < 0.8 else f1


def march(store: StoreMarch, field: Callable[[int, float], tuple[float, float]], runs: np.ndarray,
          turbine: Callable[[int, float, float], tuple[float, float]], ambient: np.ndarray, dt: float, start: Start,
          dispatch: Asks, full_load: float, idle: np.ndarray,
          progress: Callable[[int], None] | None = None, *, ready: float = 1.0, begin: End | None = None,
          look: Callable[[int, Any], None] | None = None) -> Hours:
    """Walk the hours in order.

    Parameters
    ----------
    store : StoreMarch
        Where heat is kept.
    field : callable
        (hour, cold enthalpy) -> flow [kg/s] and heat [W] to the store while the field runs.
    runs : array of bool, shape (hours,)
        Whether the sun is enough to run the field.
    turbine : callable
        (hour, hot enthalpy, load) -> flow [kg/s] and heat [W] from the store while the turbine runs.
    ambient : array, shape (hours,)
        Dry-bulb temperature [K].
    dt : float
        Step [s].
    start : Start
        Heat of starts.
    dispatch : Asks
        What sets the load: a rule made ready for these hours.
    full_load : float
        Heat drawn at full load at the design point [W].
    idle : array, shape (hours,)
        Heat that the store gives to keep the field from freezing [W].
    progress : callable, optional
        Called with the number of hours done, now and then.
    ready : float
        Share of every step for which field and turbine are in order [-].
    begin : End, optional
        How the stretch before ended; the store's own start after a long pause if not given.
    look : callable, optional
        Called with hour and state of the store after every step.

    Returns
    -------
    Hours
    """
    n = len(ambient)
    out = {name: np.zeros(n) for name in ("charging", "warming", "defocused", "failed", "generating", "starting",
                                          "load", "hot", "cold", "stored", "lost", "rounds")}
    state, pause, was_on = begin or End(store.start())
    first, debt = store.energy(state), 0.0
    hot, cold = store.outlets(state)
    last: StoreStep | None = None
    trend: _Trend = (None, hot, cold)
    runs_list, air, frost = runs.tolist(), ambient.tolist(), idle.tolist()
    for i in range(n):
        sunny, warm = runs_list[i], air[i]
        if sunny and pause > 0.0:
            debt, pause = debt + start.warm(pause, warm), 0.0
        load = dispatch.load(i, store.available(state) / full_load, sunny, was_on)
        hot, cold, trend = _ahead(trend, (sunny, load > 0.0), hot, cold)
        past = None
        rounds, draft = 0, None if last is None else last._replace(final=True)
        while True:
            rounds += 1
            m_in, q_in = _forward(*field(i, cold)) if sunny else (0.0, 0.0)
            heating = min(ready, debt / (q_in * dt)) if debt > 0.0 and q_in > 0.0 else 0.0
            m_out, q_out = _forward(*turbine(i, hot, load)) if load > 0.0 else (0.0, 0.0)
            taken, drawn = store.shares(state, m_in * (ready - heating), m_out * ready, dt)
            taken, drawn = taken * (ready - heating), drawn * ready if m_out else 0.0
            step = store.step(state, (taken * m_in, cold + q_in / m_in if m_in else hot),
                              (drawn * m_out, hot - q_out / m_out if m_out else cold), warm, dt, draft)
            moved = max(abs(step.hot - hot) / max(abs(hot), 1e5) if drawn * m_out else 0.0,
                        abs(step.cold - cold) / max(abs(cold), 1e5) if taken * m_in else 0.0)
            if draft is None or draft.final or step.final:
                if moved < SAME or rounds >= MOST or not (m_in or m_out):
                    break
                draft = step
            else:
                learned = step if step.inner is not draft.inner else draft
                draft = learned._replace(final=moved < SAME or rounds >= MOST)
            near = (hot, step.hot), (cold, step.cold)
            hot, cold = (step.hot, step.cold) if past is None or rounds < STUCK else (_secant(*past[0], *near[0]),
                                                                    _secant(*past[1], *near[1]))
            past = near
        miss = taken * m_in * (step.cold - cold) + drawn * m_out * (step.hot - hot)
        started = 0.0
        if load > 0.0 and not was_on and drawn > 0.0:
            started = min(drawn, start.turbine / (q_out * dt))
        state = store.settle(step.state, (miss - frost[i]) * dt)
        last = step._replace(state=state)
        debt -= heating * q_in * dt
        pause = 0.0 if sunny else pause + dt
        if not sunny:
            debt = 0.0
        was_on = load > 0.0 and drawn > 0.999 * ready
        taken, spilled, failed = (taken, ready - taken - heating, 1 - ready) if sunny else (0.0, 0.0, 0.0)
        made, load = (drawn - started, load) if load > 0.0 and drawn > 0.0 else (0.0, 0.0)
        row = (taken, heating, spilled, failed, made, started, load, hot if drawn * m_out else step.hot,
               cold if taken * m_in else step.cold, store.energy(state), step.lost, rounds)
        for name, value in zip(out, row, strict=True):
            out[name][i] = value
        hot, cold = step.hot, step.cold
        if look is not None:
            look(i, state)
        if progress is not None and i % 730 == 0:
            progress(i)
    return Hours(first=first, end=End(state, pause, was_on), **out)
