"""Tables of water: saturation curves in pressure, and boundary-fitted surfaces of liquid and of steam.

Pressure enters as y = -ln d - c d, d = ln(p_critical / p), which spreads the critical point. Each single-phase
region is mapped on a square whose one side is the saturation curve, so no cell ever straddles the phase boundary."""

from __future__ import annotations

from functools import cached_property
from typing import NamedTuple

import numpy as np
from scipy.interpolate import CubicHermiteSpline, CubicSpline

from loopnet.media.coolprop import sweep
from loopnet.media.tables import Array, Curve, Grid, Index, Surface

__all__ = ["P_HIGH", "P_LOW", "T_HIGH", "T_LOW", "Region", "Saturation", "coordinate", "pressure_of"]

P_CRITICAL = 22.064e6
P_LOW, P_HIGH = 0.9e3, 205e5
T_LOW, T_HIGH = 274.15, 983.15
_EVEN = 0.15  # c: how much of y is even in ln p
_OUT = ("hmass", "smass", "rhomass", "cpmass", "viscosity", "conductivity")

Place = tuple[Index, Array]


def coordinate(p: Array) -> Array:
    """y(p), continued linearly in p beyond the table so that any number has a place."""
    inside = np.fmin(np.fmax(p, P_LOW), P_HIGH)
    depth = np.log(P_CRITICAL / inside)
    y: Array = -np.log(depth) - _EVEN * depth
    if np.any(inside != p):
        y = y + (p - inside) / inside * (1 / depth + _EVEN)
    return y


def pressure_of(y: Array) -> Array:
    """Inverse of `coordinate` inside the table, by Newton in ln(depth)."""
    log_depth = -y
    for _ in range(50):
        depth = np.exp(log_depth)
        log_depth = log_depth - (y + log_depth + _EVEN * depth) / (1 + _EVEN * depth)
    p: Array = P_CRITICAL * np.exp(-np.exp(log_depth))
    return np.clip(p, P_LOW, P_HIGH)


_Y = (float(coordinate(np.array(P_LOW))), float(coordinate(np.array(P_HIGH))))


class Saturation:
    """Curves along the phase boundary over y, and the way back from temperature."""

    def __init__(self, nodes: int = 400) -> None:
        self.grid = Grid(*_Y, nodes)
        p = pressure_of(self.grid.points)
        none = np.zeros(nodes)
        liquid = sweep("HEOS", "Water", "PQ", p, none, ("T", "hmass", "smass", "rhomass"))
        vapour = sweep("HEOS", "Water", "PQ", p, none + 1, ("T", "hmass", "smass", "rhomass"))
        self.T, self.h_f, self.s_f, self.rho_f = (Curve(self.grid, row, "hold") for row in liquid)
        _, self.h_g, self.s_g, self.rho_g = (Curve(self.grid, row, "hold") for row in vapour)
        self._hottest = float(liquid[0, -1])

    @cached_property
    def ln_p(self) -> Curve:
        """ln p over T, up to the end of the table."""
        grid = Grid(T_LOW, self._hottest, 600)
        p = sweep("HEOS", "Water", "QT", np.zeros(grid.nodes), grid.points, ("p",))[0]
        return Curve(grid, np.log(p))


class _Edge(NamedTuple):
    """A region's two sides in one coordinate: the saturation curve, and how far it is from there to the far side."""

    start: Curve
    width: Curve


class Region:
    """Liquid or steam, as surfaces over (h, p), (s, p) and (T, p).

    The node states are CoolProp's on rows of constant pressure, crowded towards saturation where cp may be steep;
    along each row they are turned into functions of h and of s with their exact slopes 1/cp, 1/T and T.
    """

    def __init__(self, phase: str, saturation: Saturation, nodes: tuple[int, int, int], crowding: float) -> None:
        rows, columns, sampled = nodes
        self.phase, self.crowding = phase, crowding
        self.y, self.x, self.u = Grid(*_Y, rows), Grid(0.0, 1.0, columns), Grid(0.0, 1.0, sampled)
        p = pressure_of(self.y.points)
        quality = np.full(rows, 1.0 if phase == "gas" else 0.0)
        T_sat, rho_sat = sweep("HEOS", "Water", "PQ", p, quality, ("T", "rhomass"))
        share = crowding * ((1 + 1 / crowding) ** self.u.points - 1)
        far = T_HIGH if phase == "gas" else T_LOW
        T = T_sat[:, None] + share * (far - T_sat[:, None])
        state = np.empty((len(_OUT), rows, sampled))
        state[:, :, 0] = sweep("HEOS", "Water", "DmassT", rho_sat, T_sat, _OUT, phase)
        inner = sweep("HEOS", "Water", "PT", np.repeat(p, sampled - 1), T[:, 1:].ravel(), _OUT, phase)
        state[:, :, 1:] = inner.reshape(len(_OUT), rows, sampled - 1)
        self._p, self._T, self._share, self._state = p, T, share, state
        h, s = state[0], state[1]
        self.by_h = self._edge(h)
        self.by_s = self._edge(s)
        self.by_T = self._edge(T)

    def _edge(self, rows: Array) -> _Edge:
        return _Edge(Curve(self.y, rows[:, 0], "hold"), Curve(self.y, rows[:, -1] - rows[:, 0], "hold"))

    def _over(self, x: Array, value: Array, slope: Array) -> Surface:
        """Surface of `value` over `x`, both given on the rows, with its known slope along them."""
        values, slopes = np.empty((2, self.x.nodes, self.y.nodes))
        sign = 1.0 if self.phase == "gas" else -1.0  # nodes must rise
        for i in range(self.y.nodes):
            width = x[i, -1] - x[i, 0]
            spline = CubicHermiteSpline(sign * x[i], value[i], sign * slope[i])
            at = sign * (x[i, 0] + self.x.points * width)
            values[:, i] = spline(at)
            slopes[:, i] = spline(at, 1) * sign * width
        return Surface(self.x, self.y, values, slopes)

    def _volume(self) -> Array:
        """ln rho of liquid, ln (p / rho) of steam: smooth, and positive when read back."""
        rho = self._state[2]
        return np.log(rho) if self.phase == "liquid" else np.log(self._p[:, None] / rho)

    def density(self, volume: Array, p: Array) -> Array:
        out: Array = np.exp(volume) if self.phase == "liquid" else np.maximum(p, 1.0) * np.exp(-volume)
        return out

    @cached_property
    def T_h(self) -> Surface:
        return self._over(self._state[0], self._T, 1 / self._state[3])

    @cached_property
    def s_h(self) -> Surface:
        return self._over(self._state[0], self._state[1], 1 / self._T)

    @cached_property
    def h_s(self) -> Surface:
        return self._over(self._state[1], self._state[0], self._T)

    @cached_property
    def volume_h(self) -> Surface:
        sign = 1.0 if self.phase == "gas" else -1.0
        volume, h = self._volume(), self._state[0]
        values = [CubicSpline(sign * h[i], volume[i])(sign * (h[i, 0] + self.x.points * (h[i, -1] - h[i, 0])))
                  for i in range(self.y.nodes)]
        return Surface(self.x, self.y, np.array(values).T, tail=("hold", "hold"))

    @cached_property
    def h_T(self) -> Surface:
        stretch = np.log1p(1 / self.crowding) * (self._share + self.crowding)  # d share / d u
        slopes = self._state[3] * stretch * (self._T[:, -1] - self._T[:, 0])[:, None]
        return Surface(self.u, self.y, self._state[0].T, slopes.T)

    @cached_property
    def volume_T(self) -> Surface:
        return self._held(self._volume())

    @cached_property
    def cp_T(self) -> Surface:
        return self._held(np.log(self._state[3]))

    @cached_property
    def mu_T(self) -> Surface:
        return self._held(np.log(self._state[4]))

    @cached_property
    def k_T(self) -> Surface:
        return self._held(np.log(self._state[5]))

    def _held(self, rows: Array) -> Surface:
        return Surface(self.u, self.y, rows.T, tail=("hold", "hold"))

    def place(self, edge: _Edge, value: Array, y: Place) -> Place:
        """Where `value` lies between saturation (0) and the far side (1)."""
        return self.x.locate((value - edge.start.at(y)) / edge.width.at(y))

    def place_T(self, T: Array, y: Place) -> tuple[Place, Array]:
        """As `place` on the crowded coordinate; beyond the far side, how far [K] as well."""
        start, width = self.by_T.start.at(y), self.by_T.width.at(y)
        share = (T - start) / width
        inside = np.fmin(np.fmax(share, 0.0), 1.0)
        u = np.log1p(inside / self.crowding) / np.log1p(1 / self.crowding)
        return self.u.locate(u), (share - inside) * width
