"""Organic vapours and their Rankine cycle: a fluid from CoolProp's states, tabulated once, and one pass around it.

Below the critical pressure liquid and vapour have surfaces of their own that meet saturation; above it one does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from types import MappingProxyType
from typing import Any

import numpy as np

from components.transfer import effectiveness, transfer_units
from loopnet.errors import ParameterError
from loopnet.media.coolprop import sweep
from loopnet.media.tables import Array, Curve, Grid, Surface

__all__ = ["FLUIDS", "Kind", "OrganicFluid", "Pass", "Phase", "one_pass", "organic_fluid", "units_for"]

T_LOW = 262.0  # K, coldest liquid of the tables
T_CONDENSER = 275.0  # K, coldest condenser of the tables
NEAREST = 0.93  # highest pressure with two phases, over the critical one
DENSE = (1.04, 2.2)  # pressures without phases, over the critical one


@dataclass(frozen=True)
class Kind:
    """A working fluid: its name in CoolProp, the hottest it stands for years [K], and what it does to people.

    Limits are from memory of decomposition tests and makers' practice; ask the maker.
    """

    coolprop: str
    hottest: float
    cautions: str


FLUIDS: Mapping[str, Kind] = MappingProxyType({
    "toluene": Kind("Toluene", 673.15, "flammable and toxic: explosion protection, ventilation, no open drains"),
    "cyclopentane": Kind("Cyclopentane", 548.15, "highly flammable: explosion protection and ventilation"),
    "n-pentane": Kind("n-Pentane", 553.15, "highly flammable: explosion protection and ventilation"),
    "isobutane": Kind("IsoButane", 543.15, "a flammable gas under pressure: explosion protection and ventilation"),
    "MM": Kind("MM", 573.15, "a highly flammable siloxane: explosion protection; keep it out of water"),
    "MDM": Kind("MDM", 563.15, "a flammable siloxane: explosion protection; keep it out of water"),
    "R245fa": Kind("R245fa", 438.15, "a strong greenhouse gas (some 1,000 times carbon dioxide): find its leaks"),
    "R134a": Kind("R134a", 450.0, "a strong greenhouse gas (some 1,400 times carbon dioxide): find its leaks"),
})
"""Working fluids by name."""


class Phase:
    """Surfaces of one phase over enthalpy or entropy from `edge` to `far` on rows of constant pressure.

    `p` [Pa] are the rows at the even places `y`; `edge` and `far` hold (T, h, s) of the two ends, shape (3, rows). The
    states between are asked for by enthalpy and entropy; above the critical pressure, where temperature tells all, by
    the temperatures `sampled` [K], which is many times faster.
    """

    def __init__(self, name: str, y: Grid, p: Array, edge: Array, far: Array, columns: int,
                 sampled: Array | None = None) -> None:
        self.y, self.x = y, Grid(0.0, 1.0, columns)
        self._edge = [Curve(y, row, "hold") for row in edge]
        self._width = [Curve(y, b - a, "hold") for a, b in zip(edge, far, strict=True)]
        rows = np.repeat(p, columns)

        def along(which: int) -> Array:
            return edge[which][:, None] + self.x.points * (far - edge)[which][:, None]

        h, s = along(1), along(2)
        if sampled is None:
            T, entropy, cp = (out.reshape(h.shape) for out in sweep(
                "HEOS", name, "HmassP", h.ravel(), rows, ("T", "smass", "cpmass")))
            heat, hot = (out.reshape(s.shape) for out in sweep("HEOS", name, "PSmass", rows, s.ravel(), ("hmass", "T")))
            cp[:, 0] = np.where(np.isfinite(cp[:, 0]) & (cp[:, 0] > 0) & (cp[:, 0] < 1e6), cp[:, 0], cp[:, 1])
            slope = 1.0 / cp
        else:
            T, entropy, heat, hot, slope = _from_temperatures(name, p, sampled, h, s)
        span_h, span_s = ((far - edge)[i][:, None] for i in (1, 2))
        self._surfaces = {
            "T": self._above(T, span_h * slope), "s": self._above(entropy, span_h / T),
            "h": self._above(heat, hot * span_s)}

    def _above(self, values: Array, slopes: Array) -> Surface:
        return Surface(self.x, self.y, (values - values[:, :1]).T, slopes.T)

    def _read(self, what: str, out: int, by: int, value: Any, y: Any) -> Any:
        at = self.y.locate(y)
        x = (value - self._edge[by].at(at)) / self._width[by].at(at)
        return self._edge[out].at(at) + self._surfaces[what].at(self.x.locate(x), at)

    def T(self, h: Any, y: Any) -> Any:
        """Temperature [K] at enthalpy `h` [J/kg] and place `y`."""
        return self._read("T", 0, 1, h, y)

    def s(self, h: Any, y: Any) -> Any:
        """Entropy [J/kg/K] at enthalpy `h` [J/kg] and place `y`."""
        return self._read("s", 2, 1, h, y)

    def h(self, s: Any, y: Any) -> Any:
        """Enthalpy [J/kg] at entropy `s` [J/kg/K] and place `y`."""
        return self._read("h", 1, 2, s, y)


def _from_temperatures(name: str, p: Array, T: Array, h: Array, s: Array) -> tuple[Array, Array, Array, Array, Array]:
    """On each row: temperature and entropy at `h`, enthalpy and temperature at `s`, and dT/dh at `h`, from states at
    the temperatures `T`, by cubics with exact slopes 1/cp, 1/T and T."""
    from scipy.interpolate import CubicHermiteSpline

    rows, n = np.repeat(p, T.size), p.size
    known = sweep("HEOS", name, "PT", rows, np.tile(T, n), ("hmass", "smass", "cpmass")).reshape(3, n, T.size)
    out = np.empty((5, *h.shape))
    for i, (heat, entropy, cp) in enumerate(known.swapaxes(0, 1)):
        warmth = CubicHermiteSpline(heat, T, 1.0 / cp)
        back = CubicHermiteSpline(entropy, heat, T)
        out[:, i] = (warmth(h[i]), CubicHermiteSpline(heat, entropy, 1.0 / T)(h[i]), back(s[i]), back(s[i], 1),
                     warmth(h[i], 1))
    return out[0], out[1], out[2], out[3], out[4]


class OrganicFluid:
    """A working fluid; its tables fill themselves when first read.

    >>> fluid = organic_fluid("toluene")
    >>> round(fluid.p_critical / 1e5, 1), round(float(fluid.p_sat(383.75)) / 1e5, 2)
    (41.3, 1.01)
    """

    def __init__(self, name: str) -> None:
        if name not in FLUIDS:
            raise ParameterError("no such working fluid", where="organic_fluid", got=repr(name),
                                 allowed=", ".join(FLUIDS), hint="'toluene'")
        self.name, self.kind = name, FLUIDS[name]
        one = np.array([300.0])
        self.p_critical, self.T_critical, hottest = sweep(
            "HEOS", self.kind.coolprop, "QT", 0 * one, one, ("p_critical", "T_critical", "Tmax"))[:, 0].tolist()
        self.hottest = min(hottest - 0.5, self.kind.hottest + 60.0)  # end of the tables
        low = sweep("HEOS", self.kind.coolprop, "QT", 0 * one, 0 * one + T_CONDENSER, ("p",))[0, 0]
        self._ends = float(low), NEAREST * self.p_critical

    def _place(self, p: Any) -> Any:
        """y = -ln ln(p_critical / p), linear in p beyond the ends of the tables."""
        low, high = self._ends
        inside = np.fmin(np.fmax(np.asarray(p, dtype=float), low), high)
        depth = np.log(self.p_critical / inside)
        return -np.log(depth) + (p - inside) / (inside * depth)

    @cached_property
    def _rows(self) -> tuple[Grid, Array]:
        grid = Grid(float(self._place(self._ends[0])), float(self._place(self._ends[1])), 81)
        p = self.p_critical * np.exp(-np.exp(-grid.points))
        return grid, np.clip(p, *self._ends)

    @cached_property
    def _edges(self) -> tuple[Array, Array]:
        _, p = self._rows
        out = [sweep("HEOS", self.kind.coolprop, "PQ", p, np.full(p.size, q), ("T", "hmass", "smass"))
               for q in (0.0, 1.0)]
        return out[0], out[1]

    @cached_property
    def _saturated(self) -> dict[str, Curve]:
        grid, _ = self._rows
        return {f"{what}_{side}": Curve(grid, row, "hold") for side, edge in zip("fg", self._edges, strict=True)
                for what, row in zip(("T", "h", "s"), edge, strict=True)}

    @cached_property
    def _ln_p(self) -> Curve:
        grid = Grid(T_CONDENSER, float(self._edges[0][0, -1]), 300)
        p = sweep("HEOS", self.kind.coolprop, "QT", np.zeros(grid.nodes), grid.points, ("p",))[0]
        return Curve(grid, np.log(p))

    def _at(self, p: Array, T: float) -> Array:
        return sweep("HEOS", self.kind.coolprop, "PT", p, np.full(p.size, T), ("T", "hmass", "smass"))

    @cached_property
    def liquid(self) -> Phase:
        """Liquid below the critical pressure."""
        grid, p = self._rows
        return Phase(self.kind.coolprop, grid, p, self._edges[0], self._at(p, T_LOW), 36)

    @cached_property
    def vapour(self) -> Phase:
        """Vapour below the critical pressure."""
        grid, p = self._rows
        return Phase(self.kind.coolprop, grid, p, self._edges[1], self._at(p, self.hottest), 48)

    @cached_property
    def dense(self) -> Phase:
        """From cold liquid to hot gas above the critical pressure."""
        grid = Grid(float(np.log(DENSE[0])), float(np.log(DENSE[1])), 24)
        p = self.p_critical * np.exp(grid.points)
        middle = np.clip(1.06 * self.T_critical, T_LOW + 60.0, self.hottest - 60.0)
        T = np.concatenate([np.linspace(T_LOW, middle - 40.0, 60)[:-1], np.linspace(middle - 40.0, middle + 40.0, 100),
                            np.linspace(middle + 40.0, self.hottest, 50)[1:]])
        return Phase(self.kind.coolprop, grid, p, self._at(p, T_LOW), self._at(p, self.hottest), 240, T)

    def p_sat(self, T: Any) -> Any:
        """Vapour pressure [Pa] at temperature `T` [K]."""
        return np.exp(np.minimum(self._ln_p(np.asarray(T, dtype=float)), 50.0))

    def saturated(self, what: str, p: Any) -> Any:
        """One of T_f, h_f, s_f and their twins of vapour, T_g, h_g, s_g, at pressure `p` [Pa]; in SI."""
        return self._saturated[what](np.asarray(self._place(p)))

    def phase(self, name: str, p: Any) -> tuple[Phase, Any]:
        """A phase ("liquid", "vapour" or "dense") and the place of a pressure `p` [Pa] in it."""
        if name == "dense":
            return self.dense, np.log(np.maximum(np.asarray(p, dtype=float) / self.p_critical, 0.1))
        return (self.liquid if name == "liquid" else self.vapour), np.asarray(self._place(p))


@lru_cache(maxsize=16)
def organic_fluid(name: str) -> OrganicFluid:
    """The working fluid of that name, one for all who ask.

    Parameters
    ----------
    name : str
        One of `FLUIDS`.

    Returns
    -------
    OrganicFluid

    Raises
    ------
    ParameterError
        If there is none of that name.
    """
    return OrganicFluid(name)


@dataclass(frozen=True)
class Pass:
    """One pass around the cycle, per kilogram; enthalpies [J/kg], temperatures [K], works [J/kg].

    `pumped`, `warmed`: liquid behind the pump and the recuperator; `h_turbine`, `exhaust`, `cooled`: vapour before and
    behind the turbine, and behind the recuperator; `condensate`. `capacity`: of the exhaust vapour [J/kg/K]; `ratio`:
    that over the liquid's [-].
    """

    w_turbine: Any
    w_pump: Any
    pumped: Any
    warmed: Any
    h_turbine: Any
    exhaust: Any
    cooled: Any
    condensate: Any
    T_pumped: Any
    T_warmed: Any
    T_exhaust: Any
    T_cooled: Any
    capacity: Any
    ratio: Any
    wetness: Any
    s: tuple[Any, Any, Any, Any]
    """Entropy [J/kg/K] of condensate, liquid behind the pump, vapour before and behind the turbine."""

    @property
    def q_hot(self) -> Any:
        """Heat taken up [J/kg]."""
        return self.h_turbine - self.warmed

    @property
    def q_cold(self) -> Any:
        """Heat given to the condenser [J/kg]."""
        return self.cooled - self.condensate

    @property
    def efficiency(self) -> Any:
        """Net work over heat [-]."""
        return (self.w_turbine - self.w_pump) / self.q_hot


def one_pass(fluid: OrganicFluid, p: Any, h: Any, T_cold: Any, turbine: Any, pump: Any, *, recuperator: Any = 0.0,
             units: Any = None, feed: Any = None) -> Pass:
    """The cycle per kilogram, explicitly, from the state before the turbine and the condensing temperature.

    The recuperator's effectiveness is that of its vapour, whose capacity is the smaller; it does not condense there.

    Parameters
    ----------
    fluid : OrganicFluid
        Working fluid.
    p, h : float or ndarray
        Pressure [Pa] and enthalpy [J/kg] before the turbine.
    T_cold : float or ndarray
        Condensing temperature [K]; liquid leaves saturated.
    turbine, pump : float or ndarray
        Isentropic efficiencies [-].
    recuperator : float or ndarray
        Effectiveness [-]; 0 for none. Not read where `units` is given.
    units : float or ndarray, optional
        Transfer units of the recuperator [-].
    feed : float or ndarray, optional
        Pressure behind the pump [Pa]; by default that before the turbine.

    Returns
    -------
    Pass

    Examples
    --------
    Saturated vapour of R134a at 85 degC, condensing at 40 degC, without losses (computed with CoolProp: 0.10193).

    >>> fluid = organic_fluid("R134a")
    >>> p = fluid.p_sat(358.15)
    >>> round(float(one_pass(fluid, p, fluid.saturated("h_g", p), 313.15, 1.0, 1.0).efficiency), 4)
    0.1019
    """
    feed = p if feed is None else feed
    high = bool(np.mean(np.asarray(p)) > fluid.p_critical)
    vapour, y_v = fluid.phase("dense" if high else "vapour", p)
    liquid, y_l = fluid.phase("dense" if high else "liquid", feed)
    low = fluid.p_sat(T_cold)
    exit_, y_low = fluid.phase("vapour", low)
    h_f, s_f, h_g, s_g = (fluid.saturated(what, low) for what in ("h_f", "s_f", "h_g", "s_g"))
    s_in = vapour.s(h, y_v)
    dry = np.asarray(s_in >= s_g)
    ideal = np.where(dry, exit_.h(s_in, y_low), h_f + (s_in - s_f) / (s_g - s_f) * (h_g - h_f))
    exhaust = h - turbine * (h - ideal)
    over = exhaust - h_g
    T_exhaust = np.where(over > 0.0, exit_.T(np.maximum(exhaust, h_g), y_low), T_cold)
    s_out = np.where(over > 0.0, exit_.s(np.maximum(exhaust, h_g), y_low), s_g + over / T_cold)
    w_pump = (liquid.h(s_f, y_l) - h_f) / pump
    pumped = h_f + w_pump
    T_pumped = liquid.T(pumped, y_l)
    capacity = np.maximum(over, 0.0) / np.maximum(T_exhaust - T_cold, 1e-3)
    room = capacity * np.maximum(T_exhaust - T_pumped, 0.0)  # what the vapour could give
    probe = np.maximum(0.6 * room, 10.0)
    ratio = np.minimum(capacity * (liquid.T(pumped + probe, y_l) - T_pumped) / probe, 1.0)
    share = recuperator if units is None else effectiveness(units, ratio)
    moved = share * room
    warmed, cooled = pumped + moved, exhaust - moved
    T_cooled = np.where(over > 0.0, exit_.T(np.maximum(cooled, h_g), y_low), T_cold)
    top = warmed if high else np.minimum(warmed, fluid.saturated("h_f", feed))
    return Pass(h - exhaust, w_pump, pumped, warmed, h, exhaust, cooled, h_f, T_pumped, liquid.T(top, y_l), T_exhaust,
                T_cooled, capacity, ratio, np.maximum(-over / (h_g - h_f), 0.0),
                (s_f, liquid.s(pumped, y_l), s_in, s_out))


def units_for(cycle: Pass, share: float) -> Any:
    """Transfer units of a recuperator.

    Parameters
    ----------
    cycle : Pass
        The cycle at its design point.
    share : float
        Effectiveness [-], below 1.

    Returns
    -------
    float or ndarray
        UA over the vapour's capacity [-].
    """
    return transfer_units(share, cycle.ratio)
