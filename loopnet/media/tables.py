"""Cubic lookups on uniform grids: one cell index, one gather of coefficients, one Horner pass.

About ten times faster than scipy's own evaluation at some 10,000 points, and C2 inside the table."""

from __future__ import annotations

from functools import cached_property
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline, CubicSpline

__all__ = ["Array", "Curve", "Grid", "Surface"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

FEW = 200  # points up to which all coefficients of a surface are gathered at once
_GHOSTS = 2  # cells added at either end, in which the table is continued


def _continued(coefficients: Array, axis: int, tail: str) -> Array:
    """Add the ghost cells along `axis`; the axis before it counts powers 0..3 of the local coordinate."""
    c = np.moveaxis(coefficients, (axis - 1, axis), (0, 1))
    first, last = c[:, :1], c[:, -1:]
    f0, d0 = first[0], first[1]
    f1, d1 = last.sum(axis=0), last[1] + 2 * last[2] + 3 * last[3]
    none = np.zeros_like(f0)
    if tail == "linear":
        left = [np.stack([f0 - d0 * k, d0, none, none]) for k in (2, 1)]
        right = [np.stack([f1 + d1 * k, d1, none, none]) for k in (0, 1)]
    elif tail == "hold":  # the slope runs out within one cell, then the value is held
        left = [np.stack([f0 - d0 / 2, none, none, none]), np.stack([f0 - d0 / 2, none, d0 / 2, none])]
        right = [np.stack([f1, d1, -d1 / 2, none]), np.stack([f1 + d1 / 2, none, none, none])]
    else:
        raise ValueError(f"tail is 'linear' or 'hold', not {tail!r}")
    return np.moveaxis(np.concatenate([*left, c, *right], axis=1), (0, 1), (axis - 1, axis))


class Grid:
    """Uniform nodes from `low` to `high`, and where a value lies among them."""

    def __init__(self, low: float, high: float, nodes: int) -> None:
        self.low, self.high, self.nodes = low, high, nodes
        self.points: Array = np.linspace(low, high, nodes)
        self.inverse_step = (nodes - 1) / (high - low)
        self._last = float(nodes - 2 + 2 * _GHOSTS)

    def locate(self, x: Array) -> tuple[Index, Array]:
        """Cell index and local coordinate; beyond the ends the outermost ghost cell and a coordinate outside 0..1."""
        u = (x - self.low) * self.inverse_step + _GHOSTS
        cell = np.fmin(np.fmax(u, 0.0), self._last).astype(np.intp)
        return cell, u - cell


    def locate_one(self, x: float) -> tuple[int, float]:
        """The same for one finite number."""
        u = (x - self.low) * self.inverse_step + _GHOSTS
        cell = int(min(max(u, 0.0), self._last))
        return cell, u - cell


class Curve:
    """A function of one variable as cubic spline over a uniform grid, continued C1 beyond its ends.

    >>> import numpy as np
    >>> sine = Curve(Grid(0.0, 3.0, 200), np.sin(np.linspace(0.0, 3.0, 200)))
    >>> bool(abs(sine(np.array([1.0]))[0] - np.sin(1.0)) < 1e-9)
    True
    """

    def __init__(self, grid: Grid, values: Array, tail: str = "linear") -> None:
        spline = CubicSpline(np.arange(grid.nodes, dtype=float), values)
        self.grid = grid
        self._c: Array = np.ascontiguousarray(_continued(spline.c[::-1], 1, tail))

    def at(self, place: tuple[Index, Array]) -> Array:
        """Value at a place that `grid.locate` found; a single point goes by floats, some ten times faster."""
        cell, t = place
        if t.size == 1:
            return np.full(t.shape, self.one(cell.item(), t.item()))
        out = self._c[3].take(cell, mode="clip")
        for power in (2, 1, 0):
            out *= t
            out += self._c[power].take(cell, mode="clip")
        return out

    def one(self, cell: int, t: float) -> float:
        """Value at one place."""
        c = self._cells[cell]
        return c[0] + t * (c[1] + t * (c[2] + t * c[3]))

    @cached_property
    def _cells(self) -> list[list[float]]:
        return self._c.T.tolist()

    def slope_at(self, place: tuple[Index, Array]) -> Array:
        """First derivative at a place that `grid.locate` found."""
        cell, t = place
        out = self._c[3].take(cell, mode="clip")
        out *= 1.5 * t
        out += self._c[2].take(cell, mode="clip")
        out *= 2.0 * t
        out += self._c[1].take(cell, mode="clip")
        out *= self.grid.inverse_step
        return out

    def __call__(self, x: Array) -> Array:
        """Value at `x`."""
        if x.size == 1 and isfinite(value := x.item()):
            return np.full(x.shape, self.one(*self.grid.locate_one(value)))
        return self.at(self.grid.locate(x))

    def slope(self, x: Array) -> Array:
        """First derivative at `x`."""
        return self.slope_at(self.grid.locate(x))


class Surface:
    """A function of two variables, piecewise bicubic over a uniform grid, continued C1 beyond its edges.

    `values` has shape (x nodes, y nodes), and so have `slopes`, its known derivatives along x: with them cubic
    Hermite along x, else spline; spline along y. `tail` is "linear" or "hold", for x and for y.
    """

    def __init__(self, x: Grid, y: Grid, values: Array, slopes: Array | None = None,
                 tail: tuple[str, str] = ("linear", "linear")) -> None:
        steps = np.arange(x.nodes, dtype=float)
        along_x = (CubicSpline(steps, values, axis=0) if slopes is None
                   else CubicHermiteSpline(steps, values, slopes / x.inverse_step, axis=0)).c[::-1]
        c = CubicSpline(np.arange(y.nodes, dtype=float), along_x, axis=2).c[::-1]  # (4, y cells, 4, x cells)
        c = _continued(_continued(c, 3, tail[0]), 1, tail[1])
        self.x, self.y = x, y
        self._width = c.shape[1]
        self._c: Array = np.ascontiguousarray(c.transpose(2, 0, 3, 1)).reshape(16, -1)  # (x power, y power), cell

    def at(self, x: tuple[Index, Array], y: tuple[Index, Array]) -> Array:
        """Value at places that the two grids found; a single point goes by floats, some ten times faster."""
        cell = x[0] * self._width + y[0]
        if cell.size == 1:
            return np.full(cell.shape, self.one(x[0].item(), x[1].item(), y[0].item(), y[1].item()))
        if cell.size <= FEW:
            c = self._c.take(cell, axis=1, mode="clip").reshape(4, 4, *cell.shape)
            rows = c[:, 0] + y[1] * (c[:, 1] + y[1] * (c[:, 2] + y[1] * c[:, 3]))
            out: Array = rows[0] + x[1] * (rows[1] + x[1] * (rows[2] + x[1] * rows[3]))
            return out
        out = self._row(3, cell, y[1])
        for power in (2, 1, 0):
            out *= x[1]
            out += self._row(power, cell, y[1])
        return out

    def one(self, column: int, u: float, row: int, w: float) -> float:
        """Value at one place."""
        c = self._cells[column * self._width + row]
        return (c[0] + w * (c[1] + w * (c[2] + w * c[3]))
                + u * (c[4] + w * (c[5] + w * (c[6] + w * c[7]))
                       + u * (c[8] + w * (c[9] + w * (c[10] + w * c[11]))
                              + u * (c[12] + w * (c[13] + w * (c[14] + w * c[15]))))))

    @cached_property
    def _cells(self) -> list[list[float]]:
        return self._c.T.tolist()

    def slope_x_at(self, x: tuple[Index, Array], y: tuple[Index, Array]) -> Array:
        """Derivative with respect to x."""
        cell = x[0] * self._width + y[0]
        out = 1.5 * x[1] * self._row(3, cell, y[1])
        out += self._row(2, cell, y[1])
        out *= 2.0 * x[1]
        out += self._row(1, cell, y[1])
        out *= self.x.inverse_step
        return out

    def _row(self, power: int, cell: Index, t: Array) -> Array:
        c: Any = self._c[4 * power:4 * power + 4]
        out: Array = c[3].take(cell, mode="clip")
        for j in (2, 1, 0):
            out *= t
            out += c[j].take(cell, mode="clip")
        return out
