"""Water along given pressures: reads any region from enthalpy or entropy, and finds what p alone decides once."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cached_property
from math import isfinite
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from loopnet.media.coolprop import sweep
from loopnet.media.steam_tables import P_HIGH, P_LOW, At, Region, Spot, coordinate_of
from loopnet.media.tables import Array

if TYPE_CHECKING:
    from loopnet.media.water import Water

__all__ = ["METHODS", "Isobar", "exactly", "split"]

METHODS = {"T": "T", "h": "hmass", "s": "smass", "rho": "rhomass", "cp": "cpmass", "mu": "viscosity",
           "k": "conductivity"}


def exactly(pair: str, first: Array, second: Array, output: str) -> Any:
    """One property [SI] from CoolProp, state by state; the two inputs have one shape."""
    out = sweep("HEOS", "Water", pair, first.ravel(), second.ravel(), (output,))[0].reshape(first.shape)
    return out if out.ndim else float(out)


def split(steam: Any, liquid: Any) -> Iterator[tuple[str, Any]]:
    """The regions that occur, with the points of each (a slice when it is all of them: no copies then)."""
    for region, mask in (("steam", steam), ("liquid", liquid), ("wet", ~(steam | liquid))):
        if mask.all():
            if mask.size:
                yield region, slice(None)
            return
        if mask.any():
            yield region, np.flatnonzero(mask)


class Isobar:
    """Water at pressures `p` [Pa] of any shape; values given to its methods must fit that shape, or `p` that of them.

    >>> from loopnet.media import medium
    >>> level = medium("water").isobar(0.08e5)
    >>> round(level.h_s(level.s_h(2.0e6)))
    2000000
    """

    def __init__(self, water: Water, p: ArrayLike) -> None:
        self.water, self.p = water, np.asarray(p, dtype=float)
        self._curves: dict[str, Array] = {}
        self._ones: dict[str, float] = {}

    @cached_property
    def _at(self) -> At:
        return self.water.saturation.at(self.p.ravel())

    def _curve(self, what: str) -> Array:
        if what not in self._curves:
            self._curves[what] = self.water.saturation.read(what, self._at)
        return self._curves[what]

    @cached_property
    def _spot(self) -> Spot | None:
        """Where a single pressure lies; None where there are several, or it lies outside the tables."""
        if self.p.size != 1 or self.water.exact or not P_LOW <= (p := self.p.item()) <= P_HIGH:
            return None
        y, saturation = coordinate_of(p), self.water.saturation
        return Spot(saturation.grid.locate_one(y), self.water.steam.y.locate_one(y))

    def _one(self, what: str) -> float:
        if what not in self._ones:
            self._ones[what] = getattr(self.water.saturation, what).one(*self._spot.edge)  # type: ignore[union-attr]
        return self._ones[what]

    def saturated(self, what: str) -> Any:
        """One of ``"T_f" "h_f" "s_f" "rho_f"`` of boiling liquid and their twins ``"..._g"`` of dry steam [SI]."""
        if self.water.exact:
            name, side = what.rsplit("_", 1)
            return exactly("PQ", self.p, np.full(self.p.shape, float(side == "g")), METHODS[name])
        if self._spot is not None:
            one = self._one(what)
            return np.full(self.p.shape, one) if self.p.ndim else one
        out = self._curve(what).reshape(self.p.shape).copy()
        return out if out.ndim else float(out)

    def T_h(self, h: ArrayLike) -> Any:
        """Temperature [K] at enthalpy `h` [J/kg]."""
        return self._read("h", h, "T", Region.T_h)

    def s_h(self, h: ArrayLike) -> Any:
        """Entropy [J/kg/K] at enthalpy `h` [J/kg]."""
        return self._read("h", h, "s", Region.s_h)

    def h_s(self, s: ArrayLike) -> Any:
        """Enthalpy [J/kg] at entropy `s` [J/kg/K]."""
        return self._read("s", s, "h", Region.h_s)

    def rho_h(self, h: ArrayLike) -> Any:
        """Density [kg/m3] at enthalpy `h` [J/kg]; wet steam without slip."""
        return self._read("h", h, "rho", Region.rho_h)

    def x_h(self, h: ArrayLike) -> Any:
        """Share of steam by mass [-] at `h` [J/kg]; below 0 in liquid and above 1 in superheated steam."""
        f, g = self.saturated("h_f"), self.saturated("h_g")
        x = (np.asarray(h, dtype=float) - f) / (g - f)
        return x if np.ndim(x) else float(x)

    def _read(self, by: str, value: ArrayLike, what: str, single: Callable[[Region, Array, At], Array]) -> Any:
        """Find the region of each point by h or s, and read `what` there."""
        value = np.asarray(value, dtype=float)
        if value.size == 1 and self._spot is not None and isfinite(one := value.item()):
            wet, dry = self._one(f"{by}_f"), self._one(f"{by}_g")
            share = (one - wet) / (dry - wet)
            if 0.0 <= share <= 1.0:
                wet, dry = self._one(f"{what}_f"), self._one(f"{what}_g")
                found = (1.0 / (1.0 / wet + share * (1.0 / dry - 1.0 / wet)) if what == "rho"
                         else wet + share * (dry - wet))
            else:
                found = (self.water.steam if share > 1.0 else self.water.liquid).one(by, what, one, self._spot)
            shape = self.p.shape or value.shape
            return np.full(shape, found) if shape else found
        shape = self.p.shape
        if value.shape != shape:
            shape = np.broadcast_shapes(value.shape, shape)
            if shape != self.p.shape:
                return Isobar(self.water, np.broadcast_to(self.p, shape))._read(by, value, what, single)
            value = np.broadcast_to(value, shape)
        if self.water.exact:
            pair, first, second = ("HmassP", value, self.p) if by == "h" else ("PSmass", self.p, value)
            return exactly(pair, first, second, METHODS[what])
        value, f, at = value.ravel(), self._curve(f"{by}_f"), self._at
        x = (value - f) / (self._curve(f"{by}_g") - f)
        out = np.empty(value.size)
        for region, pick in split(x > 1, x < 0):
            if region == "wet":
                f, g = self._curve(f"{what}_f")[pick], self._curve(f"{what}_g")[pick]
                out[pick] = 1 / _mix(1 / f, 1 / g, x[pick]) if what == "rho" else _mix(f, g, x[pick])
            else:
                out[pick] = single(self.water.steam if region == "steam" else self.water.liquid, value[pick],
                                   at.pick(pick))
        return out.reshape(shape) if shape else float(out[0])


def _mix(f: Array, g: Array, x: Array) -> Array:
    return f + x * (g - f)
