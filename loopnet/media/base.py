"""What every medium is: limits, key of its price, cautions, and vectorised properties from tables it fills itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from loopnet.errors import PropertyRangeError
from loopnet.media.tables import Array, Curve, Grid
from loopnet.units import show

__all__ = ["ZERO", "Limits", "Medium", "SinglePhase"]

ZERO = 298.15
"""Temperature of zero enthalpy of all media but water [K]."""

_SLACK = 1e-6  # [K], so that a limit that went through a unit conversion is still within itself


@dataclass(frozen=True, kw_only=True)
class Limits:
    """Temperatures that a medium stands [K]; None where there is none. `sources` names where each comes from.

    freezing : where it solidifies; low : lowest allowed; bulk : highest allowed in the stream;
    film : highest allowed at a heated wall.
    """

    freezing: float | None
    low: float
    bulk: float
    film: float | None
    sources: dict[str, str] = field(default_factory=dict, hash=False)


class Medium:
    """Base of all media. Properties are vectorised: a float gives a float, an array one of the same shape [SI].

    Evaluations never raise and never clip: outside the table h(T) and T(h) go on linearly and the other properties
    are held, so that a Newton iteration may pass through; `check` is what refuses.
    """

    name: ClassVar[str]
    phase: ClassVar[str]
    pressure_free: ClassVar[bool] = True
    limits: ClassVar[Limits]
    cautions: ClassVar[tuple[str, ...]]

    def __init__(self, pressure: float | None = None, exact: bool = False) -> None:
        self.pressure, self.exact = pressure, exact

    def _identity(self) -> tuple[str, float | None, bool]:
        return self.name, self.pressure, self.exact

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Medium) and self._identity() == other._identity()

    def __hash__(self) -> int:
        return hash(self._identity())

    def __reduce__(self) -> tuple[Any, ...]:
        from loopnet.media.registry import medium

        return medium, self._identity()

    def __repr__(self) -> str:
        extra = f", pressure={self.pressure:g}" if self.pressure else ""
        return f"medium({self.name!r}{extra}{', exact=True' if self.exact else ''})"

    @property
    def price_key(self) -> str:
        """Key of its price in the price book, the one place where prices stand: ``"medium.nitrate_salt"``."""
        return f"medium.{self.name.replace(' ', '_')}"

    def h(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Specific enthalpy [J/kg] at temperature `T` [K] and pressure `p` [Pa]."""
        raise NotImplementedError

    def T(self, h: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Temperature [K] at specific enthalpy `h` [J/kg] and pressure `p` [Pa]."""
        raise NotImplementedError

    def rho(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Density [kg/m3] at temperature `T` [K] and pressure `p` [Pa]."""
        raise NotImplementedError

    def cp(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Isobaric heat capacity [J/kg/K] at temperature `T` [K] and pressure `p` [Pa]."""
        raise NotImplementedError

    def mu(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Dynamic viscosity [Pa s] at temperature `T` [K] and pressure `p` [Pa]."""
        raise NotImplementedError

    def k(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Thermal conductivity [W/m/K] at temperature `T` [K] and pressure `p` [Pa]."""
        raise NotImplementedError

    def p_vap(self, T: ArrayLike) -> Any:
        """Vapour pressure [Pa] at temperature `T` [K], above which a loop is kept; zero where it is negligible."""
        return _shaped(np.zeros(np.shape(T)))

    @property
    def table_error(self) -> dict[str, float]:
        """Property -> worst relative error of the tables against the exact equations; K for "T_round_trip"."""
        raise NotImplementedError

    def outside(self, T: ArrayLike) -> Any:
        """Mask: where a temperature `T` [K] lies outside [low, bulk]."""
        T = np.asarray(T, dtype=float)
        low = max(self.limits.low, self.limits.freezing or 0.0)
        coldest, hottest = low - _SLACK, self.limits.bulk + _SLACK
        mask = ~((coldest <= T) & (hottest >= T))
        return mask if mask.ndim else bool(mask)

    def check(self, T: ArrayLike, where: str = "") -> None:
        """Refuse temperatures that the medium does not stand.

        Raises
        ------
        PropertyRangeError
            If any `T` [K] is below freezing or `low`, above `bulk`, or not a number.
        """
        bad = np.atleast_1d(self.outside(T))
        if not bad.any():
            return
        found = np.atleast_1d(np.asarray(T, dtype=float))[bad]
        low, high = max(self.limits.low, self.limits.freezing or 0.0), self.limits.bulk
        if np.isnan(found).any():
            raise PropertyRangeError(f"temperature of {self.name} is not a number", where=where, got="nan",
                                     hint="look for the first equation that gives nan")
        over = found.max() > high
        worst = float(found.max() if over else found.min())
        freezes = not over and self.limits.freezing is not None and worst < self.limits.freezing
        what = f"{self.name} is too hot" if over else f"{self.name} freezes" if freezes else f"{self.name} is too cold"
        hint = ("a lower outlet temperature, or a medium that stands more" if over
                else "a higher return temperature, or a medium that stands less")
        raise PropertyRangeError(what, where=where, got=show(worst, "K", 5) + (
            f" ({bad.sum()} of {bad.size} points)" if bad.size > 1 else ""),
            allowed=f"{show(low, 'K')} to {show(high, 'K')}", hint=hint)


def _shaped(out: Array) -> Any:
    return out if out.ndim else float(out)


class SinglePhase(Medium):
    """A medium whose enthalpy depends on temperature alone: tables in T, and one in h for the way back.

    A concrete medium gives `span`, the nodes its tables take, and `_exact(property, T)` within the span.
    """

    span: ClassVar[tuple[float, float]]
    nodes: ClassVar[int] = 500

    def __init__(self, pressure: float | None = None, exact: bool = False) -> None:
        super().__init__(pressure, exact)
        self._curves: dict[str, Curve] = {}
        self._errors: dict[str, float] | None = None

    def _exact(self, what: str, T: Array) -> Array:
        """The property `what` ("h", "cp", "rho", "mu", "k", ...) by the published equations, T within the span."""
        raise NotImplementedError

    def _exact_T(self, h: Array) -> Array:
        """Temperature at enthalpy h within the span; Newton from the chord unless a medium knows better."""
        fine = np.linspace(*self.span, 400)
        T: Array = np.interp(h, self._exact("h", fine), fine)
        for _ in range(8):
            T = np.clip(T - (self._exact("h", T) - h) / self._exact("cp", T), *self.span)
        return T

    def _continued_exact(self, what: str, T: Array) -> Array:
        inside = np.clip(T, *self.span).ravel()
        out = self._exact(what, inside)
        if what == "h" and np.any(inside != T.ravel()):
            out = out + self._exact("cp", inside) * (T.ravel() - inside)
        return out.reshape(T.shape)

    def _curve(self, what: str) -> Curve:
        if what not in self._curves:
            grid = Grid(*self.span, self.nodes)
            if what == "T":
                ends = self._exact("h", np.array(self.span))
                grid = Grid(float(ends[0]), float(ends[1]), self.nodes)
                self._curves[what] = Curve(grid, self._exact_T(grid.points))
            else:
                tail = "linear" if what == "h" else "hold"
                self._curves[what] = Curve(grid, self._exact(what, grid.points), tail)
        return self._curves[what]

    def _read(self, what: str, T: ArrayLike) -> Array:
        T = np.asarray(T, dtype=float)
        return self._continued_exact(what, T) if self.exact else self._curve(what)(T)

    def h(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        return _shaped(self._read("h", T))

    def T(self, h: ArrayLike, p: ArrayLike | None = None) -> Any:
        h = np.asarray(h, dtype=float)
        if not self.exact:
            return _shaped(self._curve("T")(h))
        low, high = self._exact("h", np.array(self.span))
        inside = np.clip(h, low, high).ravel()
        T = self._exact_T(inside)
        if np.any(inside != h.ravel()):
            T = T + (h.ravel() - inside) / self._exact("cp", T)
        return _shaped(T.reshape(h.shape))

    def cp(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Isobaric heat capacity [J/kg/K]: the slope of the h table, so that the two never disagree."""
        T = np.asarray(T, dtype=float)
        return _shaped(self._continued_exact("cp", T) if self.exact else self._curve("h").slope(T))

    def rho(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        return _shaped(self._read("rho", T))

    def mu(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        return _shaped(self._read("mu", T))

    def k(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        return _shaped(self._read("k", T))

    @property
    def table_error(self) -> dict[str, float]:
        """Worst errors over three points in each cell of the table: relative, and K for "T_round_trip".

        The error of h is relative to the larger of its amount and the enthalpy of 10 K, for h is zero at 25 degC.
        """
        if self._errors is None:
            cells = np.linspace(*self.span, self.nodes)
            T: Array = (cells[:-1, None] + np.diff(cells)[:, None] * np.array([0.21, 0.5, 0.79])).ravel()
            kinds: list[tuple[str, Callable[..., Any]]] = [("h", self.h), ("cp", self.cp), ("rho", self.rho)]
            kinds += [("k", self.k)] + ([("mu", self.mu)] if self.phase != "particles" else [])
            errors = {}
            for what, read in kinds:
                exact = self._continued_exact(what, T)
                scale = np.maximum(np.abs(exact), 10 * self._exact("cp", T)) if what == "h" else np.abs(exact)
                errors[what] = float(np.max(np.abs(read(T) - exact) / scale))
            errors["T_round_trip"] = float(np.max(np.abs(self.T(self.h(T)) - T)))
            self._errors = errors
        return dict(self._errors)
