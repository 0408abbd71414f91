"""A solved cycle and solved exchangers as numbers: states, the ways between them, heat over temperature with its pinch.

Components make them (`Component.portrait`, `Component.exchanges`); tables and pictures read them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Cycle", "CyclePath", "CycleState", "HeatCurve", "HeatExchange", "Pinch"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class CycleState:
    """A state of a cycle: pressure [Pa], temperature [K], enthalpy [J/kg], entropy [J/kg/K], share of vapour [-] (nan
    where it is one phase or none is told), flow over that of the cycle [-]."""

    name: str
    p: float
    T: float
    h: float
    s: float
    x: float
    flow: float


@dataclass(frozen=True)
class CyclePath:
    """A way between two states: entropy [J/kg/K] and temperature [K] along it, each of shape (points,).

    `kind` is "work" (turbine, compressor, pump), "heat" (taken up from outside), "inner" (passed on inside the cycle),
    "cold" (given away) or "bleed" (a part that goes to a heater).
    """

    name: str
    kind: str
    s: Array
    T: Array


@dataclass(frozen=True)
class Cycle:
    """A cycle at one operating point; `dome` is its fluid's phase boundary, from boiling liquid over the critical point
    to dry vapour: entropies [J/kg/K] and temperatures [K]; None where the fluid has none near."""

    component: str
    kind: str
    fluid: str
    states: tuple[CycleState, ...]
    paths: tuple[CyclePath, ...]
    dome: tuple[Array, Array] | None = None

    def to_frame(self) -> Any:
        """Table of states: number, name, p [bar], T [degC], h [kJ/kg], s [kJ/kg/K], x [-], flow share [-]."""
        import pandas as pd

        rows = [(i + 1, state.name, state.p / 1e5, state.T - 273.15, state.h / 1e3, state.s / 1e3, state.x, state.flow)
                for i, state in enumerate(self.states)]
        return pd.DataFrame(rows, columns=["number", "name", "bar", "degC", "kJ_kg", "kJ_kgK", "x", "flow"])

    def to_dict(self) -> dict[str, Any]:
        """Component, kind, fluid, and states as rows of the table; x is None where there is none."""
        rows = [{k: None if isinstance(v, float) and np.isnan(v) else v for k, v in row.items()}
                for row in self.to_frame().to_dict("records")]
        return {"component": self.component, "kind": self.kind, "fluid": self.fluid, "states": rows}

    def __repr__(self) -> str:
        return f"Cycle({self.component!r}, {self.kind}, {self.fluid}, {len(self.states)} states)"

    def _repr_html_(self) -> str:
        return str(self.to_frame().to_html(index=False, float_format=lambda x: f"{x:,.4g}"))


@dataclass(frozen=True)
class HeatCurve:
    """A stream that is heated: temperatures [K] over the share of the exchanger's heat [-], from its cold end.

    The ends of `share` tell which part of the exchanger it covers.
    """

    name: str
    share: Array
    T: Array


@dataclass(frozen=True)
class Pinch:
    """The smallest temperature difference of a stream [K], and where: share of the heat [-], both temperatures [K]."""

    part: str
    difference: float
    share: float
    hot: float
    cold: float


@dataclass(frozen=True)
class HeatExchange:
    """An exchanger: its heat [W], the hot stream's temperatures [K] over the share of the heat [-] from the cold end,
    and the streams that it heats, one after the other or side by side.

    >>> ends = np.array([0.0, 1.0])
    >>> cooler = HeatExchange("oil", "oil to salt", 1e6, ends, np.array([570.0, 665.0]), (
    ...     HeatCurve("salt", ends, np.array([560.0, 650.0])),))
    >>> cooler.pinch.difference, cooler.pinch.share
    (10.0, 0.0)
    """

    component: str
    name: str
    heat: float
    share: Array
    hot: Array
    cold: tuple[HeatCurve, ...]
    hot_name: str = ""

    def pinches(self) -> tuple[Pinch, ...]:
        """The pinch of every stream that is heated."""
        found = []
        for curve in self.cold:
            places = np.union1d(self.share[(self.share > curve.share[0]) & (self.share < curve.share[-1])], curve.share)
            hot, cold = np.interp(places, self.share, self.hot), np.interp(places, curve.share, curve.T)
            least = int(np.argmin(hot - cold))
            found.append(Pinch(curve.name, float(hot[least] - cold[least]), float(places[least]), float(hot[least]),
                               float(cold[least])))
        return tuple(found)

    @property
    def pinch(self) -> Pinch:
        """The smallest of them."""
        return min(self.pinches(), key=lambda pinch: pinch.difference)

    def to_frame(self) -> Any:
        """Streams: name, share of the heat [-], temperature [degC]."""
        import pandas as pd

        streams: Sequence[tuple[str, Array, Array]] = [
            (self.hot_name or "hot", self.share, self.hot), *((c.name, c.share, c.T) for c in self.cold)]
        return pd.DataFrame([(name, float(x), float(T) - 273.15) for name, share, temperature in streams
                             for x, T in zip(share, temperature, strict=True)], columns=["stream", "share", "degC"])

    def __repr__(self) -> str:
        least = self.pinch
        return (f"HeatExchange({self.component}.{self.name}, {self.heat / 1e6:.3g} MW, pinch {least.difference:.1f} K "
                f"at {least.share:.0%} of the heat)")
