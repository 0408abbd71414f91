"""Tables of water: saturation curves in pressure, and boundary-fitted surfaces of liquid and of steam.

Pressure enters as y = -ln ln(p_critical / p), which spreads the neighbourhood of the critical point. Each single-phase
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
P_LOW, P_HIGH = 1e3, 200e5
T_LOW, T_HIGH = 274.15, 983.15
_OUT = ("hmass", "smass", "rhomass", "cpmass", "viscosity", "conductivity")

Place = tuple[Index, Array]


def coordinate(p: Array) -> Array:
    """y(p), continued linearly in p beyond 1 kPa and 200 bar so that any number has a place."""
    inside = np.fmin(np.fmax(p, P_LOW), P_HIGH)
    depth = np.log(P_CRITICAL / inside)
    y: Array = -np.log(depth)
    if np.any(inside != p):
        y = y + (p - inside) / (inside * depth)
    return y


def pressure_of(y: Array) -> Array:
    """Inverse of `coordinate` inside the range."""
    p: Array = P_CRITICAL * np.exp(-np.exp(-y))
    return p


_Y = (float(coordinate(np.array(P_LOW))), float(coordinate(np.array(P_HIGH))))


class Saturation:
    """Curves along the phase boundary over y, and the way back from temperature."""

    def __init__(self, nodes: int = 400) -> None:
        self.grid = Grid(*_Y, nodes)
        p = pressure_of(self.grid.points)
        p[0], p[-1] = P_LOW, P_HIGH
        none = np.zeros(nodes)
        liquid = sweep("HEOS", "Water", "PQ", p, none, ("T", "hmass", "smass", "rhomass"))
        vapour = sweep("HEOS", "Water", "PQ", p, none + 1, ("T", "hmass", "smass", "rhomass"))
        self.T = Curve(self.grid, liquid[0])
        self.h_f, self.s_f = Curve(self.grid, liquid[1]), Curve(self.grid, liquid[2])
        self.h_g, self.s_g = Curve(self.grid, vapour[1]), Curve(self.grid, vapour[2])
        self.rho_f, self.rho_g = Curve(self.grid, liquid[3], "hold"), Curve(self.grid, vapour[3], "hold")
        self.low, self.high = float(liquid[0, 0]), float(liquid[0, -1])

    @cached_property
    def ln_p(self) -> Curve:
        """ln p over T, from a little below 1 kPa to 200 bar."""
        grid = Grid(T_LOW, self.high, 600)
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
        p[0], p[-1] = P_LOW, P_HIGH
        quality = np.full(rows, 1.0 if phase == "gas" else 0.0)
        T_sat, rho_sat = sweep("HEOS", "Water", "PQ", p, quality, ("T", "rhomass"))
        share = crowding * ((1 + 1 / crowding) ** self.u.points - 1)
        far = T_HIGH if phase == "gas" else T_LOW
        T = T_sat[:, None] + share * (far - T_sat[:, None])
        state = np.empty((len(_OUT), rows, sampled))
        state[:, :, 0] = sweep("HEOS", "Water", "DmassT", rho_sat, T_sat, _OUT, phase)
        inner = sweep("HEOS", "Water", "PT", np.repeat(p, sampled - 1), T[:, 1:].ravel(), _OUT, phase)
        state[:, :, 1:] = inner.reshape(len(_OUT), rows, sampled - 1)
        self._p, self._T, self._state = p, T, state
        h, s = state[0], state[1]
        self.by_h = self._edge(h)
        self.by_s = self._edge(s)
        self.by_T = self._edge(T)

    def _edge(self, rows: Array) -> _Edge:
        return _Edge(Curve(self.y, rows[:, 0]), Curve(self.y, rows[:, -1] - rows[:, 0]))

    def _over(self, x: Array, value: Array, slope: Array | None = None) -> Array:
        """Rows of `value` over `x`, read at the uniform nodes of the square."""
        out = np.empty((self.x.nodes, self.y.nodes))
        sign = 1.0 if self.phase == "gas" else -1.0
        for i in range(self.y.nodes):
            at = sign * (x[i, 0] + self.x.points * (x[i, -1] - x[i, 0]))
            spline = (CubicSpline(sign * x[i], value[i]) if slope is None
                      else CubicHermiteSpline(sign * x[i], value[i], sign * slope[i]))
            out[:, i] = spline(at)
        return out

    def _volume(self) -> Array:
        """ln rho of liquid, ln (p / rho) of steam: smooth, and positive when read back."""
        rho = self._state[2]
        return np.log(rho) if self.phase == "liquid" else np.log(self._p[:, None] / rho)

    def density(self, volume: Array, p: Array) -> Array:
        out: Array = np.exp(volume) if self.phase == "liquid" else np.maximum(p, 1.0) * np.exp(-volume)
        return out

    @cached_property
    def T_h(self) -> Surface:
        return Surface(self.x, self.y, self._over(self._state[0], self._T, 1 / self._state[3]))

    @cached_property
    def s_h(self) -> Surface:
        return Surface(self.x, self.y, self._over(self._state[0], self._state[1], 1 / self._T))

    @cached_property
    def volume_h(self) -> Surface:
        return Surface(self.x, self.y, self._over(self._state[0], self._volume()), ("hold", "hold"))

    @cached_property
    def h_s(self) -> Surface:
        return Surface(self.x, self.y, self._over(self._state[1], self._state[0], self._T))

    @cached_property
    def h_T(self) -> Surface:
        return Surface(self.u, self.y, np.ascontiguousarray(self._state[0].T))

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
        return Surface(self.u, self.y, np.ascontiguousarray(rows.T), ("hold", "hold"))

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
