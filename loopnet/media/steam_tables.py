"""Tables of water: saturation curves in pressure, and boundary-fitted surfaces of liquid and of steam.

Pressure enters as y = -ln d - c d, d = ln(p_critical / p), which spreads the critical point. Each single-phase
region is mapped on a square whose one side is the saturation curve, so no cell ever straddles the phase boundary."""

from __future__ import annotations

from functools import cached_property
from math import exp, log
from typing import Any, NamedTuple

import numpy as np
from scipy.interpolate import CubicSpline

from loopnet.media.coolprop import sweep
from loopnet.media.tables import Array, Curve, Grid, Index, Surface

__all__ = ["P_HIGH", "P_LOW", "At", "Region", "Saturation", "coordinate", "pressure_of"]

P_CRITICAL = 22.064e6
P_LOW, P_HIGH = 0.9e3, 205e5
T_LOW, T_HIGH = 274.15, 983.15
_EVEN = 0.15  # c: how much of y is even in ln p
_OUT = ("T", "hmass", "smass", "rhomass", "cpmass")
_EVERY = 4  # the surfaces have a row at every fourth node of the saturation curves

Place = tuple[Index, Array]


def coordinate(p: Array) -> Array:
    """y(p), continued linearly in p beyond the table so that any number has a place."""
    if p.size == 1 and P_LOW <= (one := p.item()) <= P_HIGH:
        return np.full(p.shape, coordinate_of(one))
    inside = np.fmin(np.fmax(p, P_LOW), P_HIGH)
    depth = np.log(P_CRITICAL / inside)
    y: Array = -np.log(depth) - _EVEN * depth
    if np.any(inside != p):
        y = y + (p - inside) / inside * (1 / depth + _EVEN)
    return y


def coordinate_of(p: float) -> float:
    """y(p) of one pressure within the table."""
    depth = log(P_CRITICAL / p)
    return -log(depth) - _EVEN * depth


def pressure_of(y: Array) -> Array:
    """Inverse of `coordinate` inside the table, by Newton in ln(depth)."""
    log_depth = -y
    for _ in range(50):
        depth = np.exp(log_depth)
        log_depth = log_depth - (y + log_depth + _EVEN * depth) / (1 + _EVEN * depth)
    p: Array = P_CRITICAL * np.exp(-np.exp(log_depth))
    return np.clip(p, P_LOW, P_HIGH)


_Y = (float(coordinate(np.array(P_LOW))), float(coordinate(np.array(P_HIGH))))


class At(NamedTuple):
    """Where pressures lie: the coordinate, and its places on the fine grid of saturation."""

    y: Array
    edge: Place

    def pick(self, points: Any) -> At:
        """Those of some of the points."""
        return At(self.y[points], (self.edge[0][points], self.edge[1][points]))


class Spot(NamedTuple):
    """Where one pressure lies: on the fine grid of saturation, and among the rows of the surfaces."""

    edge: tuple[int, float]
    row: tuple[int, float]


class Saturation:
    """Curves along the phase boundary over y, and the way back from temperature."""

    def __init__(self, nodes: int = 401) -> None:
        self.grid = Grid(*_Y, nodes)
        p = pressure_of(self.grid.points)
        self.p = p
        self.states: dict[str, Array] = {}
        for side, quality in (("f", 0.0), ("g", 1.0)):
            self.states[side] = sweep("HEOS", "Water", "PQ", p, np.full(nodes, quality), _OUT[:4])
            for name, row in zip(("T", "h", "s", "rho"), self.states[side], strict=True):
                setattr(self, f"{name}_{side}", Curve(self.grid, row, "hold"))

    def at(self, p: Array) -> At:
        """Where pressures `p` [Pa] lie."""
        y = coordinate(p)
        return At(y, self.grid.locate(y))

    def read(self, what: str, at: At) -> Array:
        """One of T_f, h_f, s_f, rho_f and their twins of steam."""
        curve: Curve = getattr(self, what)
        return curve.at(at.edge)

    @cached_property
    def ln_p(self) -> Curve:
        """ln p over T, up to the end of the table."""
        grid = Grid(T_LOW, float(self.states["f"][0, -1]), 600)
        p = sweep("HEOS", "Water", "QT", np.zeros(grid.nodes), grid.points, ("p",))[0]
        return Curve(grid, np.log(p))


class Region:
    """Liquid or steam, as surfaces over (h, p), (s, p) and (T, p) that meet the saturation curves exactly.

    The node states are CoolProp's on rows of constant pressure, crowded towards saturation where cp may be steep;
    along each row they are turned into functions of h and of s with their exact slopes 1/cp, 1/T and T. Surfaces
    hold what a property is above its value at saturation, so that no step is left at the phase boundary.
    """

    def __init__(self, phase: str, saturation: Saturation, nodes: tuple[int, int], crowding: float) -> None:
        columns, sampled = nodes
        self.phase, self.crowding, self._saturation = phase, crowding, saturation
        self._side = "g" if phase == "gas" else "f"
        self._sign = 1.0 if phase == "gas" else -1.0  # h and s rise away from saturation, or fall
        self.x, self.u = Grid(0.0, 1.0, columns), Grid(0.0, 1.0, sampled)
        every = slice(None, None, _EVERY)
        self.y = Grid(*_Y, saturation.p[every].size)
        p, edge = saturation.p[every], saturation.states[self._side][:, every]
        self._share = crowding * ((1 + 1 / crowding) ** self.u.points - 1)
        far = T_HIGH if phase == "gas" else T_LOW
        T = edge[0][:, None] + self._share * (far - edge[0][:, None])
        state = np.empty((len(_OUT), p.size, sampled))
        state[:, :, 0] = sweep("HEOS", "Water", "DmassT", edge[3], edge[0], _OUT, phase)
        inner = sweep("HEOS", "Water", "PT", np.repeat(p, sampled - 1), T[:, 1:].ravel(), _OUT, phase)
        state[:, :, 1:] = inner.reshape(len(_OUT), p.size, sampled - 1)
        state[:4, :, 0] = edge
        self._T, self._h, self._s, rho, self._cp = state
        self._ln_rho = np.log(rho)
        self._width = {what: Curve(self.y, rows[:, -1] - rows[:, 0], "hold")
                       for what, rows in (("h", self._h), ("s", self._s), ("T", self._T))}

    # surfaces ---------------------------------------------------------------------------------------------------

    def _along(self, x: Array, value: Array, slope: Array, tail: str = "linear") -> Surface:
        """Surface of `value` above saturation over `x`, both given on the rows with the slope: cubic Hermite."""
        width = x[:, -1:] - x[:, :1]
        at = x[:, :1] + self.x.points * width
        cell = np.array([np.searchsorted(self._sign * row, self._sign * points) for row, points in
                         zip(x, at, strict=True)]).clip(1, x.shape[1] - 1)
        rows = (x, value - value[:, :1], slope)
        x0, v0, d0 = (np.take_along_axis(row, cell - 1, 1) for row in rows)
        x1, v1, d1 = (np.take_along_axis(row, cell, 1) for row in rows)
        step = x1 - x0
        t, rise = (at - x0) / step, (v1 - v0) / step
        values = v0 + step * t * (d0 + t * (3 * rise - 2 * d0 - d1 + t * (d0 + d1 - 2 * rise)))
        slopes = d0 + t * (2 * (3 * rise - 2 * d0 - d1) + 3 * t * (d0 + d1 - 2 * rise))
        values[:, 0] = 0.0
        return Surface(self.x, self.y, values.T, (slopes * width).T, (tail, tail))

    @cached_property
    def _T_h(self) -> Surface:
        return self._along(self._h, self._T, 1 / self._cp)

    @cached_property
    def _s_h(self) -> Surface:
        return self._along(self._h, self._s, 1 / self._T)

    @cached_property
    def _h_s(self) -> Surface:
        return self._along(self._s, self._h, self._T)

    @cached_property
    def _ln_rho_h(self) -> Surface:
        slope = [self._sign * CubicSpline(self._sign * h, ln_rho)(self._sign * h, 1)
                 for h, ln_rho in zip(self._h, self._ln_rho, strict=True)]
        return self._along(self._h, self._ln_rho, np.array(slope), "hold")

    @cached_property
    def _h_T(self) -> Surface:
        stretch = np.log1p(1 / self.crowding) * (self._share + self.crowding)  # d share / d u
        slopes = self._cp * stretch * (self._T[:, -1] - self._T[:, 0])[:, None]
        return Surface(self.u, self.y, (self._h - self._h[:, :1]).T, slopes.T)

    @cached_property
    def _ln_rho_T(self) -> Surface:
        return Surface(self.u, self.y, (self._ln_rho - self._ln_rho[:, :1]).T, tail=("hold", "hold"))

    @cached_property
    def _cp_T(self) -> Surface:
        return Surface(self.u, self.y, np.log(self._cp).T, tail=("hold", "hold"))

    @cached_property
    def _mu_T(self) -> Surface:
        return self._transport("viscosity")

    @cached_property
    def _k_T(self) -> Surface:
        return self._transport("conductivity")

    def _transport(self, what: str) -> Surface:
        """Slow in CoolProp, so read only when asked for, and at every second row."""
        rows, y = slice(None, None, 2), Grid(*_Y, self.y.nodes // 2 + 1)
        rho, T = np.exp(self._ln_rho[rows]).ravel(), self._T[rows].ravel()
        values = sweep("HEOS", "Water", "DmassT", rho, T, (what,), self.phase)[0].reshape(y.nodes, self.u.nodes)
        return Surface(self.u, y, np.log(values).T, tail=("hold", "hold"))

    # one point, by floats ------------------------------------------------------------------------------------------

    def one(self, by: str, what: str, value: float, spot: Spot) -> float:
        """T, s or ln rho over h, or h over s, at one point: what `T_h`, `s_h`, `rho_h` and `h_s` give."""
        edge, row = spot.edge, spot.row
        saturation, side = self._saturation, self._side
        low: float = getattr(saturation, f"{by}_{side}").one(*edge)
        column, u = self.x.locate_one((value - low) / self._width[by].one(*row))
        above = self._surface(what, by).one(column, u, *row)
        base: float = getattr(saturation, f"{what}_{side}").one(*edge)
        return base * exp(above) if what == "rho" else base + above

    def _surface(self, what: str, by: str) -> Surface:
        found: Surface = getattr(self, "_ln_rho_h" if what == "rho" else f"_{what}_{by}")
        return found

    # readings ---------------------------------------------------------------------------------------------------

    def _edge(self, what: str, at: At) -> Array:
        return self._saturation.read(f"{what}_{self._side}", at)

    def _place(self, by: str, value: Array, at: At) -> tuple[Place, Place]:
        y = self.y.locate(at.y)
        return self.x.locate((value - self._edge(by, at)) / self._width[by].at(y)), y

    def T_h(self, h: Array, at: At) -> Array:
        """Temperature [K] at enthalpy `h` [J/kg]."""
        return self._edge("T", at) + self._T_h.at(*self._place("h", h, at))

    def s_h(self, h: Array, at: At) -> Array:
        """Entropy [J/kg/K] at enthalpy `h` [J/kg]."""
        return self._edge("s", at) + self._s_h.at(*self._place("h", h, at))

    def h_s(self, s: Array, at: At) -> Array:
        """Enthalpy [J/kg] at entropy `s` [J/kg/K]."""
        return self._edge("h", at) + self._h_s.at(*self._place("s", s, at))

    def rho_h(self, h: Array, at: At) -> Array:
        """Density [kg/m3] at enthalpy `h` [J/kg]."""
        return self._density(self._ln_rho_h.at(*self._place("h", h, at)), at)

    def _density(self, above: Array, at: At) -> Array:
        return self._edge("rho", at) * np.exp(above)

    def _place_T(self, T: Array, at: At) -> tuple[Place, Place, Array]:
        """Places on the crowded coordinate and in pressure, and how far [K] beyond the far side."""
        y = self.y.locate(at.y)
        width = self._width["T"].at(y)
        share = (T - self._edge("T", at)) / width
        inside = np.fmin(np.fmax(share, 0.0), 1.0)
        u = np.log1p(inside / self.crowding) / np.log1p(1 / self.crowding)
        return self.u.locate(u), y, (share - inside) * width

    def h_T(self, T: Array, at: At) -> Array:
        """Enthalpy [J/kg] at `T` [K]."""
        u, y, beyond = self._place_T(T, at)
        h = self._edge("h", at) + self._h_T.at(u, y)
        return h + beyond * np.exp(self._cp_T.at(u, y)) if beyond.any() else h

    def rho_T(self, T: Array, at: At) -> Array:
        """Density [kg/m3] at `T` [K]."""
        u, y, _ = self._place_T(T, at)
        return self._density(self._ln_rho_T.at(u, y), at)

    def cp_T(self, T: Array, at: At) -> Array:
        """Isobaric heat capacity [J/kg/K] at `T` [K]."""
        return self._positive(self._cp_T, T, at)

    def mu_T(self, T: Array, at: At) -> Array:
        """Dynamic viscosity [Pa s] at `T` [K]."""
        return self._positive(self._mu_T, T, at)

    def k_T(self, T: Array, at: At) -> Array:
        """Thermal conductivity [W/m/K] at `T` [K]."""
        return self._positive(self._k_T, T, at)

    def _positive(self, surface: Surface, T: Array, at: At) -> Array:
        u, _, _ = self._place_T(T, at)
        out: Array = np.exp(surface.at(u, surface.y.locate(at.y)))
        return out
