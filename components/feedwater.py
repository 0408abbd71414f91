"""Feedwater on its way up: open and closed heaters in any order, their drains, and the pumps between them.

Pure functions, vectorised over operating points; all levels are read at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from components.rounding import ramp
from loopnet.errors import ParameterError
from loopnet.media import Isobar
from loopnet.params import Parameters, param

__all__ = ["ClosedHeater", "Deaerator", "FeedLine", "Heater", "OpenHeater", "feed_line", "heater_train", "pump_work"]

MOST = 10
"""Heaters that a train may have."""
TAKES_OVER = 0.1
"""Share of a held pressure by which that of the extraction may fall short until main steam has taken over [-]."""


@dataclass(frozen=True, kw_only=True)
class Heater(Parameters):
    """Base of feedwater heaters; concrete ones are open or closed."""

    @property
    def open(self) -> bool:
        """Whether steam and water mix, so that a pump stands behind."""
        return True

    @property
    def held(self) -> float | None:
        """Pressure [Pa] at which its steam space is held; None where it follows its extraction."""
        return None


@dataclass(frozen=True, kw_only=True)
class OpenHeater(Heater):
    """Steam and feedwater mix at the pressure of the extraction; boiling water leaves to a pump.

    >>> OpenHeater().open
    True
    """


@dataclass(frozen=True, kw_only=True)
class Deaerator(Heater):
    """An open heater that drives air out of the feedwater; its pressure may be held by a valve in its steam line.

    Held, its extraction lies higher by a margin and is throttled. When the extraction's pressure falls below the held
    one at part load, main steam takes over little by little, until it gives all at nine tenths of it (assumption).

    >>> Deaerator(pressure="6 bar").held
    600000.0
    """

    pressure: Any = param(None, unit="Pa", low=1.02e5, high=3e6, source="user", optional=True,
                          doc="held at all loads; none: it slides with its extraction")
    margin: Any = param(1.5, unit="-", low=1.0, high=4.0, source="common practice, no source",
                        doc="pressure of its extraction over the held one, design point")

    @property
    def held(self) -> float | None:
        return None if self.pressure is None else float(self.pressure)


@dataclass(frozen=True, kw_only=True)
class ClosedHeater(Heater):
    """Steam condenses on tubes in which feedwater flows; the differences are held at part load (a little pessimistic).

    Its drains go through a valve to the next heater below or to the condenser ("cascade"), or are pumped into the
    feedwater behind the heater ("pump").

    >>> ClosedHeater(terminal="2 K", drains="pump").terminal
    2.0
    """

    terminal: Any = param(3.0, unit="K", low=-3.0, high=30.0, source="common practice, no source (2 to 5 K)",
                          doc="saturation in the shell less feedwater that leaves")
    approach: Any = param(6.0, unit="K", low=0.0, high=60.0, source="common practice, no source (5 to 10 K)",
                          optional=True, doc="drain less feedwater that enters; none: no drain cooler, it boils")
    drains: str = "cascade"

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.drains not in ("cascade", "pump"):
            raise ParameterError("no such way for drains", where="ClosedHeater.drains", got=repr(self.drains),
                                 allowed="'cascade' or 'pump'", hint="drains='cascade'")

    @property
    def open(self) -> bool:
        return False


WORDS: dict[str, Heater] = {"open": OpenHeater(), "closed": ClosedHeater(), "deaerator": Deaerator(),
                            "closed pumped": ClosedHeater(approach=None, drains="pump")}
"""Heaters that a word is enough for; a pumped drain boils, for a cooler would take heat that comes back anyhow."""


def heater_train(heaters: int | Sequence[Heater | str], where: str = "heaters") -> tuple[Heater, ...]:
    """The heaters that a user wrote down, from the highest pressure down.

    Parameters
    ----------
    heaters : int or sequence of Heater or str
        A number of open heaters [-], or each heater as a word of `WORDS` or an object.
    where : str
        What they belong to, for errors.

    Returns
    -------
    tuple of Heater

    Raises
    ------
    ParameterError
        For too many, or a word that means none.

    Examples
    --------
    >>> [heater.open for heater in heater_train(("closed", Deaerator(pressure="5 bar"), "closed"))]
    [False, True, False]
    """
    if isinstance(heaters, int):
        return (WORDS["open"],) * heaters
    if isinstance(heaters, str):
        heaters = (heaters,)
    train = []
    for heater in heaters:
        made = WORDS.get(heater) if isinstance(heater, str) else heater
        if not isinstance(made, Heater):
            raise ParameterError("no such feedwater heater", where=where, got=repr(heater),
                                 allowed=", ".join(map(repr, WORDS)) + ", ClosedHeater(...), Deaerator(...)",
                                 hint='heaters=("closed", "deaerator", "closed"), from the highest pressure down')
        train.append(made)
    if len(train) > MOST:
        raise ParameterError("too many feedwater heaters", where=where, got=str(len(train)), allowed=f"0 to {MOST}",
                             hint="another heater brings less than the one before it")
    return tuple(train)


@dataclass(frozen=True)
class FeedLine:
    """Water on its way up: heaters from the top one down, and the condenser; each value by that order.

    Parameters
    ----------
    heaters : tuple of Heater
        From the highest pressure down.
    levels : tuple of Isobar
        Extraction of each heater, and the condenser.
    p : float or ndarray
        Feedwater behind the last pump [Pa].
    behind : tuple
        Pressure of the water behind each heater, or behind its pump, and behind that of the condenser [Pa].
    h_f : tuple
        Enthalpy of the water that leaves each heater, before its pump, and the condenser [J/kg].
    work : tuple
        Work of the pump behind each [J/kg], zero behind a closed heater.
    drain, lifted : tuple
        Enthalpy of what drains from a closed heater, and work of a pump that lifts it into the feedwater [J/kg].
    pegged : tuple
        Share of a heater's steam that is main steam [-].
    """

    heaters: tuple[Heater, ...]
    levels: tuple[Isobar, ...]
    p: Any
    behind: tuple[Any, ...]
    h_f: tuple[Any, ...]
    work: tuple[Any, ...]
    drain: tuple[Any, ...]
    lifted: tuple[Any, ...]
    pegged: tuple[Any, ...]

    @property
    def h(self) -> Any:
        """Enthalpy of the feedwater [J/kg], before a pumped drain of the top heater joins it."""
        return self.h_f[0] + self.work[0]


def pump_work(source: Isobar, target: Isobar, efficiency: Any) -> Any:
    """Work to pump saturated liquid up: (h(p_out, s_f) - h_f) / eta.

    Parameters
    ----------
    source, target : Isobar
        Water at the pressure of the liquid, and at that behind the pump.
    efficiency : float or ndarray
        Isentropic efficiency [-].

    Returns
    -------
    float or ndarray
        Work [J/kg].

    Examples
    --------
    >>> from loopnet.media import medium
    >>> water = medium("water")
    >>> round(pump_work(water.isobar(0.08e5), water.isobar(80e5), 1.0) / 1e3, 2)
    8.05
    """
    return (target.h_s(source.saturated("s_f")) - source.saturated("h_f")) / efficiency


def feed_line(levels: Sequence[Isobar], feed: Isobar, efficiency: Any,
              heaters: Sequence[Heater] | None = None) -> FeedLine:
    """What pressures alone decide: water that leaves heaters and condenser, their pumps, their drains.

    Water leaves an open heater boiling, a closed one colder than saturation in its shell by the terminal difference,
    or as warm as it came where the shell is colder than that. Its drain is warmer than what enters by the drain
    cooler's approach; that is taken before a pumped drain of the heater below joins.

    Parameters
    ----------
    levels : sequence of Isobar
        Extractions from the highest pressure down, then the condenser.
    feed : Isobar
        Behind the last pump.
    efficiency : float or ndarray
        Isentropic efficiency of every pump [-].
    heaters : sequence of Heater, optional
        One for each extraction; open ones if left out.

    Returns
    -------
    FeedLine
    """
    water, n = feed.water, len(levels) - 1
    train = tuple(heaters) if heaters is not None else (WORDS["open"],) * n
    shells = [level.p if heater.held is None else np.full_like(level.p, heater.held)
              for heater, level in zip(train, levels, strict=False)]
    behind, above = [], feed.p
    for heater, shell in zip(train, shells, strict=True):
        behind.append(above)
        above = shell if heater.open else above
    behind.append(above)
    *rows, condenser, target = np.broadcast_arrays(*shells, levels[-1].p, feed.p)
    at = water.isobar(np.stack([*rows, condenser]))
    target = np.stack([np.broadcast_to(p, target.shape) for p in behind])
    boiling, work, drain = at.saturated("h_f"), np.zeros_like(target), [None] * n
    lifts = [i for i in range(n + 1) if i == n or train[i].open]
    work[lifts] = (water.isobar(target[lifts]).h_s(at.saturated("s_f")[lifts]) - boiling[lifts]) / efficiency
    leaves, lifted = boiling, [None] * n
    if closed := [i for i in range(n) if not train[i].open]:
        leaves = _warmed(water, train, closed, at.saturated("T_f"), target, boiling, work)
        drain, lifted = _drains(water, train, closed, at, target, leaves, work, efficiency)
    pegged = tuple(None if heater.held is None else ramp((1.0 - level.p / heater.held) / TAKES_OVER)
                   for heater, level in zip(train, levels, strict=False))
    return FeedLine(train, tuple(levels), feed.p, tuple(target), tuple(leaves), tuple(work), tuple(drain),
                    tuple(lifted), pegged)


def _warmed(water: Any, train: tuple[Heater, ...], closed: list[int], T_f: Any, target: Any, boiling: Any,
            work: Any) -> Any:
    """Enthalpy of the water that leaves each heater and the condenser [J/kg]."""
    leaves = boiling.copy()
    terminal = np.array([train[i].terminal for i in closed])  # type: ignore[attr-defined]
    shape = (-1, *(1,) * (T_f.ndim - 1))
    leaves[closed] = water.h(T_f[closed] - terminal.reshape(shape), target[closed])
    for i in reversed(closed):
        leaves[i] = np.maximum(leaves[i], leaves[i + 1] + work[i + 1])
    return leaves


def _drains(water: Any, train: tuple[Heater, ...], closed: list[int], at: Isobar, target: Any, leaves: Any, work: Any,
            efficiency: Any) -> tuple[list[Any], list[Any]]:
    """Enthalpy of the drain of each closed heater, and work that lifts it [J/kg]; None where there is none."""
    drain: list[Any] = [None] * len(train)
    lifted: list[Any] = [None] * len(train)
    boiling, T_f = at.saturated("h_f"), at.saturated("T_f")
    for i in closed:
        drain[i] = boiling[i]
    if cooled := [i for i in closed if train[i].approach is not None]:  # type: ignore[attr-defined]
        below = [i + 1 for i in cooled]
        approach = np.array([train[i].approach for i in cooled])  # type: ignore[attr-defined]
        enters = water.T(leaves[below] + work[below], target[cooled])
        T = enters + approach.reshape((-1, *(1,) * (T_f.ndim - 1)))
        cold = np.minimum(T, T_f[cooled] - 1e-6)
        found = np.where(T < T_f[cooled] - 1e-6, water.h(cold, at.p[cooled]), boiling[cooled])
        for i, h in zip(cooled, found, strict=True):
            drain[i] = h
    for i in closed:
        if train[i].drains == "pump":  # type: ignore[attr-defined]
            level = water.isobar(at.p[i])
            lifted[i] = (water.isobar(target[i]).h_s(level.s_h(drain[i])) - drain[i]) / efficiency
    return drain, lifted
