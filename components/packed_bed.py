"""Packed bed of crushed rock in an air loop: charged from the top, discharged from the bottom, marched in time."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise
from math import pi, sqrt
from typing import Any, ClassVar, Literal, NamedTuple

import numpy as np

from components.bed_correlations import ergun
from components.bed_march import Bed
from components.movers_physics import GRAVITY, fan_power
from components.store import Store
from loopnet.errors import ParameterError
from loopnet.media import medium
from loopnet.params import param
from loopnet.plant import Equation, Term, Unknown
from loopnet.year.march import StoreStep

__all__ = ["BedMarch", "PackedBed"]

NEAR = 5e-4
"""Largest relative change of the flow for which a march of the bed is stretched instead of done again. Against marching
it anew for every flow, a year of a plant with a rock bed makes 2e-5 more or less electricity (5e-3: 3e-4)."""

EARLY = 0.1
"""While a step is being settled, the bed is marched anew as soon as its flow moves less than this part of its distance
from the flows that were marched."""


class _Passage(NamedTuple):
    """What a step has learned: direction; flow [kg/s], outlet enthalpy [J/kg] and heat that stayed [J] of the last
    march; slope of the outlet with the flow; all marches (flow, outlet), by flow; the flow last asked for."""

    way: int
    net: float
    outlet: float
    slope: float
    heat: float
    marches: tuple[tuple[float, float], ...]
    asked: float

    def read(self, net: float) -> float:
        """Outlet enthalpy at a flow: on straight lines between marches, beyond them along the slope."""
        known = self.marches
        if len(known) > 1 and known[0][0] < net < known[-1][0]:
            (m0, h0), (m1, h1) = next(pair for pair in pairwise(known) if net <= pair[1][0])
            return h0 + (h1 - h0) * (net - m0) / (m1 - m0)
        m, h = min(known, key=lambda one: abs(net - one[0]))
        return h + self.slope * (net - m)


def _above(state: np.ndarray, level: float) -> np.ndarray:
    """Share of each cell that lies above a level, the profile straight from cell to cell, so that nothing jumps."""
    wide = np.empty(len(state) + 2)
    wide[1:-1], wide[0], wide[-1] = state, state[0], state[-1]
    half = np.maximum(0.25 * np.abs(wide[2:] - wide[:-2]), 1e-9 * abs(level))
    return np.clip(0.5 + 0.5 * (state - level) / half, 0.0, 1.0)


@dataclass(frozen=True)
class BedMarch:
    """A bed between two nodes: at the hot one air from the field meets air to the load, at the cold one air from the
    load meets air to the field; the bed takes the difference of the two flows, down when charging, up otherwise."""

    bed: Bed
    cold0: float  # design temperatures [K]
    hot0: float
    span: float  # enthalpy of air between them [J/kg]
    hot_least: float  # outlet temperature [K] below which the bed counts as empty
    cold_most: float  # outlet temperature [K] above which it counts as full
    fan: Any  # flow through the bed [kg/s] -> electricity [W]
    years: int = 1  # until a year begins as the year before began
    steep: float = 0.3  # largest change of the outlet over `span`, per relative change of flow, that is believed
    _known: list[Any] = field(default_factory=lambda: [None, 0.0, 0.0], repr=False, compare=False)

    def start(self) -> np.ndarray:
        """Empty: all cells at the cold design temperature."""
        return self.bed.uniform(self.cold0)

    def outlets(self, state: np.ndarray) -> tuple[float, float]:
        """Specific enthalpy of air that would leave at the top and at the bottom [J/kg]."""
        ends = np.interp(state[[0, -1]], self.bed._curve.energy, self.bed._curve.gas)
        return float(ends[0]), float(ends[1])

    def profile(self, state: np.ndarray) -> np.ndarray:
        """Temperature along the store [K], hot end first, shape (cells,)."""
        return self.bed.temperatures(state)

    def places(self) -> np.ndarray:
        """Distance from the hot end of what `profile` tells of [m], shape (cells,)."""
        return (np.arange(self.bed.cells) + 0.5) * (self.bed.length / self.bed.cells)

    def energy(self, state: np.ndarray) -> float:
        """Enthalpy of the stones [J]."""
        return self.bed.energy(state)

    def _useful(self, state: np.ndarray) -> tuple[float, float]:
        """Heat that stones still hot enough can give, and that stones still cold enough can take [J]."""
        if self._known[0] is not state:
            limits = [self.hot_least, self.cold0, self.cold_most, self.hot0]
            least, empty, most, full = np.interp(limits, self.bed._curve.temperature, self.bed._curve.energy)
            self._known[:] = [state, float(np.dot(_above(state, least), state - empty)),
                              float(np.dot(1.0 - _above(state, most), full - state))]
        return self._known[1], self._known[2]

    def available(self, state: np.ndarray) -> float:
        """Heat in the stones that are hot enough to be of use [J]."""
        return self._useful(state)[0]

    def shares(self, state: np.ndarray, charge: float, discharge: float, dt: float) -> tuple[float, float]:
        """Shares of the step: through the bed goes no more than its useful stones can give or take."""
        net = charge - discharge
        heat = abs(net) * self.span * dt
        if net > 0:
            return (discharge + net * min(1.0, self._useful(state)[1] / heat)) / charge, 1.0
        if net < 0:
            return 1.0, (charge - net * min(1.0, self._useful(state)[0] / heat)) / discharge
        return 1.0, 1.0

    def step(self, state: np.ndarray, charge: tuple[float, float], discharge: tuple[float, float], ambient: float,
             dt: float, draft: StoreStep | None = None) -> StoreStep:
        """Move the state over one step; flows are (mass [kg/s], enthalpy with which it arrives [J/kg]).

        While the flows of the step are still being settled, the bed is not marched again for each: its outlet enthalpy
        is read from lines through the marches so far. Where the settled flow is within `NEAR` of the last one
        marched, the bed ends where that march led, taken as much further as the heat asks.
        """
        (m_in, h_hot), (m_out, h_cold) = charge, discharge
        net = m_in - m_out
        arrives = h_hot if net > 0 else h_cold
        way = int(net > 0) - int(net < 0)
        past: _Passage | None = draft.inner if draft and draft.inner.way == way else None
        learned = past if draft is not None and draft.state is not state else None  # from marches of this same step
        if draft and past and learned and not draft.final and not self._worth(learned, net):
            new, through, lost, passage = draft.state, learned.read(net), draft.lost, learned._replace(asked=net)
        elif draft and past and learned and abs(net - past.net) <= NEAR * abs(net):
            through, lost = learned.read(net), draft.lost
            heat = abs(net) * (arrives - through) * dt
            new = state + (draft.state - state) * ((heat - lost) / (past.heat - lost)) if way else draft.state
            passage = past._replace(net=net, outlet=through, heat=heat)
        else:
            new, through, lost = self.bed.step(state, net, arrives, ambient, dt)
            through = float(through)
            slope = 0.0 if past is None else past.slope  # at first that of the step before, whose end is this start
            marches: tuple[tuple[float, float], ...] = ((net, through),)
            if learned:
                marches = tuple(sorted((*(one for one in learned.marches if one[0] != net), *marches)))
                if abs(net - learned.net) > 1e-9 * abs(net):
                    slope = (through - learned.outlet) / (net - learned.net)
            if abs(slope * net) > self.steep * self.span:
                slope = 0.0
            passage = _Passage(way, net, through, slope, abs(net) * (arrives - through) * dt, marches, net)
        if net > 0:
            hot, cold = h_hot if m_out else self.outlets(new)[0], (m_out * h_cold + net * through) / m_in
        elif net < 0:
            hot, cold = (m_in * h_hot - net * through) / m_out, h_cold if m_in else self.outlets(new)[1]
        else:
            hot, cold = (h_hot, h_cold) if m_in else self.outlets(new)
        return StoreStep(new, hot, cold, lost, passage)

    def _worth(self, learned: _Passage, net: float) -> bool:
        """Whether a flow has come to rest away from all that were marched, so that a new march will tell more."""
        away = min(abs(net - one[0]) for one in learned.marches)
        return away > NEAR * abs(net) and abs(net - learned.asked) < EARLY * away

    def settle(self, state: np.ndarray, joule: float) -> np.ndarray:
        """Give a little energy [J] to all stones alike."""
        return state + joule / len(state)

    def electricity(self, charge: np.ndarray, discharge: np.ndarray) -> np.ndarray:
        """Electricity of the bed's fan [W]."""
        return self.fan(np.abs(charge - discharge))


@dataclass(frozen=True, kw_only=True)
class PackedBed(Store):
    """Bed of crushed rock through which the loop's own air flows."""

    phases: ClassVar[dict[str, tuple[str, ...]]] = {"charge": ("gas",), "discharge": ("gas",)}
    consumes: ClassVar[tuple[str, ...]] = ("fan",)
    cautions: ClassVar[tuple[str, ...]] = (
        "Hot air at 500 degC and more ignites and burns; a rock bed sheds dust and settles on its walls as it cycles: "
        "filters, vents and structure follow local codes.",
    )

    stones: str = "crushed rock"
    flow: Literal["vertical", "horizontal"] = "vertical"
    """Upright, hot above cold, or along a trench: there the front tilts, and spreads (`buoyant_spreading`)."""
    height: Any = param(5.0, unit="m", low=0.3, high=60.0, source="assumption",
                        doc="of the bed; where the flow is vertical, its way")
    length: Any = param(20.0, unit="m", low=0.5, high=200.0, source="assumption",
                        doc="way of the flow through a trench; not read where the flow is vertical")
    stone: Any = param(0.03, unit="m", low=0.002, high=0.3, source="2 to 4 cm: common practice, no source",
                       doc="diameter of the stones")
    void: Any = param(0.40, unit="-", low=0.2, high=0.6, source="0.35 to 0.45: common practice, no source",
                      doc="void between the stones")
    usable: Any = param(0.75, unit="-", low=0.1, high=1.0, source="assumption; the rest is the slope of the front",
                        doc="heat that a cycle can use over that between hot and cold")
    wall_loss: Any = param(0.3, unit="W/m^2/K", low=0.0, high=10.0, source="about 0.3 m of mineral wool, no source",
                           doc="loss coefficient of top, wall and bottom")
    hot_fall: Any = param(60.0, unit="K", low=1.0, high=300.0, source="assumption",
                          doc="fall of the hot outlet at which the bed counts as empty")
    cold_rise: Any = param(60.0, unit="K", low=1.0, high=300.0, source="assumption",
                           doc="rise of the cold outlet at which the bed counts as full")
    fan_efficiency: Any = param(0.72, unit="-", low=0.1, high=0.95, source="common practice, no source",
                                doc="fan with its motor")
    drift_hot: Any = param(75.0, unit="K", low=1.0, high=300.0, source="range of the operating tables",
                           doc="how far the hot outlet may fall below its design temperature")
    drift_cold: Any = param(90.0, unit="K", low=1.0, high=300.0, source="range of the operating tables",
                            doc="how far the cold outlet may move from its design temperature")
    cells: int = 40

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.flow not in ("vertical", "horizontal"):
            raise ParameterError("no such flow", where="PackedBed.flow", got=repr(self.flow),
                                 allowed="vertical, horizontal", hint='flow="vertical" keeps hot above cold')

    @property
    def way(self) -> float:
        """Length of the bed along the flow [m]."""
        return float(self.height if self.flow == "vertical" else self.length)

    @property
    def _warmest(self) -> float:
        return float(min(self.drift_cold, self.cold_rise + 15.0))  # a bed whose outlet has risen so far takes no more

    def unknowns(self) -> Iterable[Unknown]:
        return (*super().unknowns(), Unknown("fan", "W", 2e5, hardware=True))

    def equations(self) -> Iterable[Equation]:
        return (*super().equations(), Equation("fan", self._fan_equation, when="sizing"))

    def _fan_equation(self, v: Any) -> Any:
        return v["fan"] - self._fan_power(v, np.abs(v.charge.m - v.discharge.m), self.volume(v) / self.way)

    def _fan_power(self, v: Any, flow: Any, area: Any) -> Any:
        air, mean = v.charge.medium, 0.5 * (v.charge.inlet.T + v.charge.outlet.T)
        drop = ergun(flow / area, length=self.way, diameter=self.stone, void=self.void,
                     rho=air.rho(mean, self.pressure), mu=air.mu(mean))
        cold = v.charge.outlet.T  # the fan stands at the cold end
        return fan_power(flow, drop, self.pressure, air.rho(cold, self.pressure), air.cp(cold), cold,
                         self.fan_efficiency, 1.0).electric

    def volume(self, v: Any) -> Any:
        """Volume of the bed [m3]."""
        rock = medium(self.stones)
        rise = rock.h(v.charge.inlet.T) - rock.h(v.charge.outlet.T)
        return v["capacity"] / (self.usable * rise * rock.rho(600.0) * (1 - self.void))

    def terms(self, v: Any) -> Iterable[Term]:
        heat = Term("heat to store", "store", -v.charge.heat - v.discharge.heat)
        return (heat, Term("bed fan power", "electricity", v["fan"]), Term("bed fan", "loss", v["fan"]))

    def surfaces(self, v: Any) -> tuple[float, float, float]:
        """Area across the flow, of the sides along it, and of the ground that the bed covers [m2].

        Upright it is a round vessel; a trench has a rectangle across the flow, `height` high.
        """
        area = float(np.squeeze(self.volume(v))) / self.way
        if self.flow == "vertical":
            return area, 2.0 * sqrt(pi * area) * self.height, area
        wide = area / self.height
        return area, 2.0 * self.length * (self.height + wide), self.length * wide

    def bed(self, v: Any) -> Bed:
        """The bed at its built size."""
        area, sides, _ = self.surfaces(v)
        hot, cold, air = float(np.squeeze(v.charge.inlet.T)), float(np.squeeze(v.charge.outlet.T)), v.charge.medium
        tilt = {} if self.flow == "vertical" else {
            "across": self.height,
            "lighter": GRAVITY * max(float(air.rho(cold, self.pressure) - air.rho(hot, self.pressure)), 0.0)}
        return Bed(solid=medium(self.stones), gas=air, length=self.way, area=area, void=self.void,
                   diameter=self.stone, wall_ua=sides * self.wall_loss, top_ua=area * self.wall_loss,
                   bottom_ua=area * self.wall_loss, cells=self.cells, span=(230.0, hot + 40.0), **tilt)

    def march(self, v: Any) -> BedMarch:
        bed = self.bed(v)
        hot, cold = float(np.squeeze(v.charge.inlet.T)), float(np.squeeze(v.charge.outlet.T))
        span = float(np.squeeze(v.charge.inlet.h - v.charge.outlet.h))
        return BedMarch(bed, cold, hot, span, hot - self.hot_fall, cold + self.cold_rise,
                        lambda flow: self._fan_power(v, flow, bed.area))

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        volume = float(np.squeeze(self.volume(v)))
        return (
            book.line("medium.crushed_rock", component=v.name, item="rock",
                      quantity=volume * (1 - self.void) * float(medium(self.stones).rho(600.0))),
            book.line("bed.container", component=v.name, item="container, insulation, ducts", quantity=volume),
            book.line("fan", component=v.name, item="bed fan", quantity=float(v["fan"][0])),
        )
