"""The conservation certificate: what every solution must show before anyone may read it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from loopnet.errors import ConvergenceError, PropertyRangeError
from loopnet.plant import ENTERS, Plant, Term
from loopnet.solve.view import Frame
from loopnet.units import show

__all__ = ["Certificate", "certify", "check_media", "component_terms"]

LIMIT = 1e-8
"""Largest relative imbalance of mass or energy that a solution may have."""
ROUND_OFF = 1e-6
"""Share of the enthalpy that flows through a component below which its heat is not told from round-off: a pump that
hardly works is measured by what passes it, 1e-14 of which still fails."""


@dataclass(frozen=True)
class Certificate:
    """Largest relative imbalances of a solution, and the smallest temperature difference of its exchangers.

    `components`, `loops` and `plant` are relative to the largest energy flow of each; `pinch` is in K, `inf`
    where nothing exchanges heat.
    """

    mass: float
    components: dict[str, float]
    loops: dict[str, float]
    plant: float
    pinch: float
    pinch_at: str

    @property
    def worst(self) -> float:
        """The largest of all imbalances [-]; nan where any is."""
        return float(np.max([self.mass, self.plant, *self.components.values(), *self.loops.values()]))

    def __str__(self) -> str:
        closest = f"{self.pinch:.2f} K at {self.pinch_at}" if self.pinch_at else "none, nothing exchanges heat"
        return f"largest imbalance {self.worst:.1e} (limit {LIMIT:.0e}); smallest temperature difference {closest}"


def component_terms(plant: Plant, frame: Frame, names: list[str]) -> dict[str, list[Term]]:
    """Energy terms [W] of the named components on a frame."""
    return {name: list(plant.components[name].terms(frame.view(name))) for name in names}


def certify(plant: Plant, frame: Frame, names: list[str], terms: dict[str, list[Term]]) -> Certificate:
    """Check mass, energy and temperature differences of solved components.

    Raises
    ------
    ConvergenceError
        If an imbalance exceeds 1e-8 or temperatures cross in an exchanger.
    """
    imbalance: dict[str, float] = {}
    carried: dict[str, Any] = {}
    moved: dict[str, Any] = {}
    mass = 0.0
    net_of_all: Any = 0.0
    size_of_all: Any = 0.0
    pinch, pinch_at = np.inf, ""
    for name in names:
        view, net, size = frame.view(name), np.zeros(1), np.zeros(1)
        for side, (inlet, _) in frame.links[name].sides.items():
            through = getattr(view, side)
            enter, leave = through.inlet.m, through.outlet.m
            mass = float(np.maximum(mass, _largest(enter - leave, np.abs(enter))))
            net = net + enter * through.inlet.h - leave * through.outlet.h
            size = np.maximum(size, np.abs(through.heat))
            size = np.maximum(size, ROUND_OFF * np.abs(enter * through.inlet.h))
            loop = next(s.loop for s in plant.streams if str(s) == inlet.name)
            carried[loop] = carried.get(loop, 0.0) + through.heat
            moved[loop] = np.maximum(moved.get(loop, 0.0), np.abs(through.heat))
        for term in terms[name]:
            net = net + ENTERS[term.kind] * term.value
            size = np.maximum(size, np.abs(term.value))
        net_of_all, size_of_all = net_of_all + net, np.maximum(size_of_all, size)
        imbalance[name] = _largest(net, size)
        for label, difference in plant.components[name].differences(view).items():
            least = float(np.min(difference, initial=np.inf))
            if not np.isnan(pinch) and not least >= pinch:
                pinch, pinch_at = least, f"{name}, {label}"
    cut = {s.loop for s in plant.streams if s.source.component not in names or s.target.component not in names}
    result = Certificate(mass, imbalance, {n: _largest(carried[n], moved[n]) for n in carried if n not in cut},
                         _largest(net_of_all, size_of_all), pinch, pinch_at)
    if not result.worst <= LIMIT:
        guilty, share = _guilty(result)
        what = "mass" if guilty == "mass" else "energy"
        raise ConvergenceError(f"the balance of {what} does not close", where=guilty, got=f"{share:.2e}",
                               allowed=f"{LIMIT:.0e}", hint="report this with the plant file")
    if not pinch > 0.0:
        raise ConvergenceError("temperatures cross in an exchanger", where=pinch_at, got=f"{pinch:.3g} K",
                               allowed="more than 0 K", hint="a larger approach or pinch, or another temperature")
    return result


def _guilty(found: Certificate) -> tuple[str, float]:
    """Where the balance fails most: a component if any does, for loops and plant only show what it did."""
    for parts in (found.components, {"mass": found.mass}, found.loops, {"plant": found.plant}):
        failing = {name: share for name, share in parts.items() if not share <= LIMIT}
        if failing:
            return max(failing.items(), key=lambda item: np.inf if np.isnan(item[1]) else item[1])
    raise AssertionError("nothing fails")


def _largest(error: Any, size: Any) -> float:
    return float(np.max(np.abs(error) / np.maximum(size, 1e-9), initial=0.0))


def check_media(plant: Plant, frame: Frame, names: list[str]) -> None:
    """Refuse streams whose temperature is outside the range of their medium, and liquids that would boil.

    Raises
    ------
    PropertyRangeError
        Naming the stream, the temperature, the range and what to try.
    """
    for name in names:
        for _, outlet in frame.links[name].sides.values():
            fluid, where, pressure = outlet.medium, f"stream {outlet.name}", frame.get(outlet.p)
            h = frame.get(outlet.h)
            temperature = fluid.T(h) if fluid.pressure_free else fluid.T(h, pressure)
            fluid.check(temperature, where=where)
            if fluid.phase == "liquid" and np.any(boiling := pressure < fluid.p_vap(temperature)):
                at = int(np.argmax(boiling))
                hot = float(np.ravel(temperature)[at])
                raise PropertyRangeError(
                    f"{fluid.name} boils", where=where,
                    got=f"{show(float(np.ravel(pressure)[at]), 'Pa')} at {show(hot, 'K')}",
                    allowed=f"above its vapour pressure of {show(float(fluid.p_vap(hot)), 'Pa')}",
                    hint="a higher pressure of the loop or of its store, or a lower temperature")
