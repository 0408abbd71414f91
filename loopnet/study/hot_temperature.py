"""How hot a circuit should run: cost per kWh over the outlet temperature of its field, every point a whole plant.

Hotter fields lose more and hotter cycles do better; pipes, stores and exchangers shrink and their steels grow dear."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
from scipy.optimize import minimize_scalar

from loopnet.errors import LoopnetError, ParameterError
from loopnet.plant import Plant
from loopnet.solve import Sized
from loopnet.study.assess import Assessment
from loopnet.study.case import Case
from loopnet.study.follow import RULE, STEEL, field_of, plant_at
from loopnet.units import Quantity, show, to_si

__all__ = ["FLAT", "TemperatureCurve", "TemperaturePoint", "best_hot_temperature", "lowest", "temperature_range"]

FLAT = 0.01
"""Share of the least cost within which a temperature counts as good [-]."""
BELOW, ABOVE = 150.0, 200.0
"""How far the curve goes below and above the temperature now, where media allow [K]."""
HALVINGS = 3
"""Times that the gap between what can be built and what cannot is halved [-]."""
MARGIN = 0.5
"""Kept from the limit of a medium [K]."""
FAMILIES = {"field": "field", "pipe": "pipes", "mover": "pumps, fans, lifts", "exchanger": "exchangers",
            "store": "store", "cycle": "cycle", "user": "user"}
"""What costs are gathered under, by family of the component; all else is "rest"."""


@dataclass(frozen=True)
class TemperaturePoint:
    """A plant with one outlet temperature of its field [K]: what it costs [USD/kWh] and why, or what stands against it.

    `hot` is what the cycle or user gets at its inlet [K]; `field` is heat collected over sun, `receiver` heat lost by
    the receiver over sun, `cycle` gross electricity over heat, `whole` product over sun, all over the year [-];
    `parts` are costs by family [USD/kWh].
    """

    outlet: float
    cost: float = np.inf
    hot: float = np.nan
    field: float = np.nan
    receiver: float = np.nan
    cycle: float = np.nan
    whole: float = np.nan
    parts: tuple[tuple[str, float], ...] = ()
    why: str = ""
    """Why there is no such plant; empty where there is one."""

    @property
    def stands(self) -> bool:
        """Whether there is such a plant."""
        return not self.why

    def to_dict(self) -> dict[str, Any]:
        """Figures; temperatures in degC, efficiencies [-], costs [USD/kWh]; None where there is no such plant."""
        values = {name: getattr(self, name) for name in ("field", "receiver", "cycle", "whole")}
        return {"outlet_degc": self.outlet - 273.15, "usd_per_kwh": self.cost if self.stands else None,
                "hot_degc": self.hot - 273.15 if np.isfinite(self.hot) else None,
                **{name: float(value) if np.isfinite(value) else None for name, value in values.items()},
                "parts_usd_per_kwh": dict(self.parts), "why": self.why}


@dataclass(frozen=True)
class TemperatureCurve:
    """Cost over outlet temperature, with its optimum and how flat it is there.

    `points` are in the order of temperature, those of the refinement among them; `range` are the ends of the search
    [K] and `bound` says what set them.
    """

    plant: str
    title: str
    product: str
    medium: str
    now: float
    range: tuple[float, float]
    bound: tuple[str, str]
    points: tuple[TemperaturePoint, ...]
    rule: str = ""

    @property
    def standing(self) -> tuple[TemperaturePoint, ...]:
        """Points that are plants."""
        return tuple(point for point in self.points if point.stands)

    @property
    def best(self) -> TemperaturePoint:
        """The cheapest."""
        return min(self.standing, key=lambda point: point.cost)

    @property
    def present(self) -> TemperaturePoint | None:
        """The plant as it was drawn."""
        return next((point for point in self.standing if abs(point.outlet - self.now) < 1e-6), None)

    @property
    def at_end(self) -> str:
        """Which end of what can be built the optimum lies at, "lower" or "upper"; empty where it lies within."""
        first, last = self.standing[0], self.standing[-1]
        return "lower" if self.best is first else "upper" if self.best is last else ""

    @property
    def flat(self) -> tuple[float, float]:
        """Temperatures around the best within which the cost is no more than 1 % above the least [K], read off straight
        lines between points."""
        limit, points = self.best.cost * (1.0 + FLAT), self.standing
        place = points.index(self.best)
        ends = []
        for way in (points[place::-1], points[place:]):
            end = way[0].outlet
            for near, far in pairwise(way):
                if far.cost > limit:
                    end = near.outlet + (limit - near.cost) / (far.cost - near.cost) * (far.outlet - near.outlet)
                    break
                end = far.outlet
            ends.append(float(end))
        return ends[0], ends[1]

    def sentence(self) -> str:
        """The answer in words."""
        best, (low, high) = self.best, self.flat
        text = (f"{self.title} ({self.plant}) is cheapest with {self.medium} leaving the field at "
                f"{show(best.outlet, 'K')}: {100 * best.cost:.3g} ct per kWh of {self.product}")
        now = self.present
        if now is not None and now is not best:
            text += f", {1.0 - best.cost / now.cost:.1%} less than the {show(self.now, 'K')} it is drawn with"
        elif now is best:
            text += ", as it is drawn"
        text += f". From {show(low, 'K')} to {show(high, 'K')} it costs at most 1 % more."
        if self.at_end:
            side = 0 if self.at_end == "lower" else 1
            gone = [p for p in self.points if not p.stands and (p.outlet < best.outlet) == (side == 0)]
            why = gone[-1 if side == 0 else 0].why if gone else self.bound[side]
            text += f" That is the {self.at_end} end of what was searched: {why}."
        return text

    def to_frame(self) -> pd.DataFrame:
        """A row per point: temperatures [degC], cost [USD/kWh], efficiencies [-], costs by family, reason."""
        rows = []
        for point in self.points:
            row = point.to_dict()
            rows.append({**{k: v for k, v in row.items() if k not in ("parts_usd_per_kwh", "why")},
                         **{f"cost of {k}": v for k, v in row["parts_usd_per_kwh"].items()}, "why": row["why"]})
        return pd.DataFrame(rows)

    def to_dict(self) -> dict[str, Any]:
        """The whole curve: temperatures in degC, costs in USD/kWh."""
        low, high = self.flat
        return {"plant": self.plant, "product": self.product, "medium": self.medium, "now_degc": self.now - 273.15,
                "best_degc": self.best.outlet - 273.15, "best_usd_per_kwh": self.best.cost,
                "within_1_percent_degc": [low - 273.15, high - 273.15], "at_end": self.at_end,
                "searched_degc": [t - 273.15 for t in self.range], "bounds": list(self.bound), "rule": self.rule,
                "points": [point.to_dict() for point in self.points]}

    def __repr__(self) -> str:
        return (f"TemperatureCurve({self.plant!r}, {len(self.points)} points, best {show(self.best.outlet, 'K')}, "
                f"{100 * self.best.cost:.3g} ct/kWh)")

    def _repr_html_(self) -> str:
        return str(self.to_frame().to_html(index=False, float_format=lambda x: f"{x:.4g}"))


def temperature_range(plant: Plant, low: Quantity | None = None,
                      high: Quantity | None = None) -> tuple[tuple[float, float], tuple[str, str]]:
    """Ends of the search [K], and what sets each.

    Parameters
    ----------
    plant : Plant
    low, high : float or str, optional
        Own ends [K]; else 150 K below and 200 K above the outlet now, as far as the field's medium stands it.

    Returns
    -------
    tuple
        Ends [K], and a sentence about each.

    Raises
    ------
    ParameterError
        If an end lies beyond what the medium stands, or the range is empty.

    Examples
    --------
    >>> from loopnet.plants import find_plant
    >>> ends, _ = temperature_range(find_plant("salt_tower"))
    >>> [round(T - 273.15, 1) for T in ends]
    [415.0, 599.5]
    """
    name = field_of(plant)
    now = float(plant.components[name].outlet)  # type: ignore[attr-defined]
    medium = plant.media_of(name)["main"]
    limits = medium.limits
    coldest, hottest = max(limits.low, limits.freezing or 0.0) + MARGIN, limits.bulk - MARGIN
    ends, why = [now - BELOW, now + ABOVE], ["further down was not searched", "further up was not searched"]
    given = [None if end is None else to_si(end, "K") for end in (low, high)]
    for side, (own, limit, beyond) in enumerate(zip(given, (coldest, hottest), (min, max), strict=True)):
        if own is not None:
            if not coldest <= own <= hottest:
                raise ParameterError(f"{medium.name} does not stand this", where="best_hot_temperature",
                                     got=show(own, "K"), allowed=f"{show(coldest, 'K')} to {show(hottest, 'K')}",
                                     hint="a range that the medium stands")
            ends[side], why[side] = own, "this end was asked for"
        elif beyond(ends[side], limit) == ends[side]:
            ends[side] = limit
            words = "stands no more" if side else "is no longer of use"
            why[side] = f"beyond {show(limit + (MARGIN if side else -MARGIN), 'K')} {medium.name} {words}"
    if ends[0] >= ends[1]:
        raise ParameterError("an empty range", where="best_hot_temperature",
                             got=f"{show(ends[0], 'K')} to {show(ends[1], 'K')}", allowed="low below high",
                             hint="low='400 degC', high='560 degC'")
    return (ends[0], ends[1]), (why[0], why[1])


def lowest(evaluate: Callable[[float], TemperaturePoint], temperatures: list[float],
           most: int = 8, close: float = 1.0) -> list[TemperaturePoint]:
    """Points of a curve, where it begins and ends, and a bounded search between the neighbours of the cheapest.

    Parameters
    ----------
    evaluate : callable
        Temperature [K] -> point; a plant that cannot be is a point with its reason.
    temperatures : list of float
        Where the curve is computed [K].
    most : int
        Most points of the refinement [-].
    close : float
        How near to the optimum the refinement goes [K].

    Returns
    -------
    list of TemperaturePoint
        In the order of temperature.

    Raises
    ------
    ParameterError
        If no point stands.
    """
    known = {T: evaluate(T) for T in temperatures}
    order = sorted(known)
    standing = [T for T in order if known[T].stands]
    if not standing:
        raise ParameterError("no temperature in this range gives a plant", where="best_hot_temperature",
                             got="; ".join(dict.fromkeys(p.why for p in known.values())),
                             allowed="a range in which it can be built", hint="another range, near the temperature now")
    for _ in range(HALVINGS):  # where plants cease to be, the gap is halved
        for a, b in pairwise(sorted(known)):
            if known[a].stands != known[b].stands and b - a > 4.0 * close:
                known[0.5 * (a + b)] = evaluate(0.5 * (a + b))
    order = sorted(known)
    standing = [T for T in order if known[T].stands]
    best = order.index(min(standing, key=lambda T: known[T].cost))
    low, high = order[max(best - 1, 0)], order[min(best + 1, len(order) - 1)]
    worst = max(known[T].cost for T in standing)

    def cost(T: float) -> float:
        if T not in known:
            known[T] = evaluate(float(T))
        # a plant that cannot be is worse than any, and the more so the further off: the search turns back
        return known[T].cost if known[T].stands else worst * (2.0 + abs(T - order[best]) / (high - low))

    if most > 0 and high > low:
        minimize_scalar(cost, bounds=(low, high), method="bounded", options={"maxiter": most, "xatol": close})
    return [known[T] for T in sorted(known)]


def best_hot_temperature(case: Case, *, low: Quantity | None = None, high: Quantity | None = None, points: int = 8,
                         refine: int = 8, steel: Quantity = STEEL,
                         progress: Callable[[str, float], None] | None = None) -> TemperatureCurve:
    """Cost per kWh over the outlet temperature of the field, with the cheapest and how flat the curve is there.

    Every point is sized, run through the year and costed; what the field's heat reaches follows by `follow.RULE`.

    Parameters
    ----------
    case : Case
        Plant, weather, prices, finance and rules.
    low, high : float or str, optional
        Ends of the search [K]; see `temperature_range`.
    points : int
        Points of the curve [-], spread evenly; the temperature now comes on top.
    refine : int
        Most points of the search around the cheapest [-].
    steel : float or str
        Hottest steam that follows [K].
    progress : callable, optional
        Called with what is being done and the share that is done [-].

    Returns
    -------
    TemperatureCurve

    Raises
    ------
    LoopnetError
        If the plant itself cannot be computed, the range is no range, or nothing in it stands.
    """
    if points < 3:
        raise ParameterError("too few points", where="best_hot_temperature", got=str(points), allowed="3 or more",
                             hint="points=8")
    limit = to_si(steel, "K")
    base, _ = case.operated
    name = field_of(case.plant)
    now = float(case.plant.components[name].outlet)  # type: ignore[attr-defined]
    ends, bound = temperature_range(case.plant, low, high)
    spread = [float(T) for T in np.linspace(*ends, points)]
    close = 0.25 * (ends[1] - ends[0]) / (points - 1)
    inside = ends[0] <= now <= ends[1]
    temperatures = [*(T for T in spread if not inside or abs(T - now) > close), *([now] if inside else [])]
    done = 0

    def evaluate(T: float) -> TemperaturePoint:
        nonlocal done
        if progress:
            progress(f"outlet {show(T, 'K')}", min(done / (points + refine + 1), 0.99))
        done += 1
        return point_at(case, base, T, limit)

    found = lowest(evaluate, temperatures, refine)
    return TemperatureCurve(case.name, case.plant.title, case.assessment.cost.product,
                            case.plant.media_of(name)["main"].name, now, ends, bound, tuple(found),
                            RULE.format(steel=limit - 273.15))


def point_at(case: Case, base: Sized, outlet: float, steel: float) -> TemperaturePoint:
    """The plant of a case with another outlet temperature [K] of its field, sized, run, costed; steam follows up to
    `steel` [K]."""
    try:
        plant = plant_at(base, outlet, steel)
        one = case if plant is case.plant else replace(case, plant=plant)
        return _figures(outlet, one.assessment)
    except LoopnetError as why:
        where = f" at {why.where}" if getattr(why, "where", "") else ""
        got = f" ({why.got})" if getattr(why, "got", "") else ""
        return TemperaturePoint(outlet, why=f"{why.what}{where}{got}")


def _figures(outlet: float, a: Assessment) -> TemperaturePoint:
    year, plant = a.year, a.plant
    losses = year.losses()
    heat = float(year.hourly["from_store"].sum()) * year.step / 3.6e6 if "from_store" in year.hourly else 0.0
    heat = heat if heat > 0.0 else year.collected
    made = year.net if a.net_power is not None else year.heat
    costs: dict[str, float] = {}
    for name, usd in a.cost.by_component.items():
        family = plant.components[name].family if name in plant.components else "rest"
        words = FAMILIES.get(family, "rest")
        costs[words] = costs.get(words, 0.0) + usd
    return TemperaturePoint(
        outlet, a.cost.usd_per_kwh, _hot(a), year.collected / year.sun, losses.get("receiver heat", 0.0) / year.sun,
        year.gross / heat if a.net_power is not None else np.nan, made / year.sun,
        tuple(sorted(costs.items(), key=lambda item: -item[1])))


def _hot(a: Assessment) -> float:
    """What cycle or user gets at its first side at the design point [K]."""
    for name, component in a.plant.components.items():
        if component.family in ("cycle", "user"):
            side = getattr(a.sized.view(name), type(component).sides[0])
            return float(np.squeeze(side.inlet.T))
    return float("nan")
