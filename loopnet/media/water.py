"""Water and steam from 1 kPa to 200 bar: liquid, wet and superheated, by lookups that CoolProp's IAPWS-95 fills."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from loopnet.errors import ParameterError
from loopnet.media.base import Limits, Medium, Price, _shaped
from loopnet.media.coolprop import sweep
from loopnet.media.steam_tables import P_HIGH, P_LOW, At, Region, Saturation, coordinate, pressure_of
from loopnet.media.tables import Array

__all__ = ["Water"]

_METHODS = {"T": "T", "h": "hmass", "s": "smass", "rho": "rhomass", "cp": "cpmass", "mu": "viscosity",
            "k": "conductivity"}


class Water(Medium):
    """Water and steam, IAPWS-95 through CoolProp; enthalpy and entropy zero as there (liquid at the triple point).

    Liquid from 5 degC, steam to 700 degC, 1 kPa to 200 bar; beyond the tables the saturation curves are held. Wet
    states are mixed from the saturation curves. h, s and rho of two arguments are C1 inside each region and
    continuous across the phase boundary, as nature has it. `exact=True` raises outside CoolProp's own range.

    Examples
    --------
    >>> from loopnet.media import medium
    >>> water = medium("water")
    >>> round(water.T_sat(100e5) - 273.15, 2), round(water.x_ph(0.08e5, 1795.12e3), 4)
    (311.0, 0.6749)
    """

    name = "water"
    phase = "steam"
    pressure_free = False
    limits = Limits(freezing=273.15, low=278.15, bulk=973.15, film=None, sources={
        "freezing": "0 degC", "low": "5 degC, a margin above freezing; common practice, no source",
        "bulk": "700 degC, hottest steam foreseen; assumption (IAPWS-95 goes to 1000 degC)"})
    price = Price(value=0.003, year=2024, source="demineralised water", status="assumption")
    cautions = (
        "Steam and hot water scald and burst vessels: pressure equipment is for licensed practice, by local codes.",
        "Boiler water needs treatment; leaks of high-pressure steam cannot be seen and cut.",
        "It freezes at 0 degC and breaks what holds it.",
    )

    # tables -----------------------------------------------------------------------------------------------------

    @cached_property
    def _saturation(self) -> Saturation:
        return Saturation()

    @cached_property
    def _liquid(self) -> Region:
        return Region("liquid", self._saturation, (100, 100), 0.12)

    @cached_property
    def _steam(self) -> Region:
        return Region("gas", self._saturation, (120, 60), 0.02)

    # saturation -------------------------------------------------------------------------------------------------

    def _saturated(self, what: str, p: ArrayLike) -> Any:
        pressure: Array = np.asarray(p, dtype=float)
        if self.exact:
            name, side = what.rsplit("_", 1)
            return _shaped(_exact("PQ", pressure, np.full(pressure.shape, float(side == "g")), _METHODS[name]))
        return _shaped(self._saturation.read(what, self._saturation.at(pressure)))

    def T_sat(self, p: ArrayLike) -> Any:
        """Saturation temperature [K] at `p` [Pa]."""
        return self._saturated("T_f", p)

    def p_sat(self, T: ArrayLike) -> Any:
        """Saturation pressure [Pa] at `T` [K]."""
        T = np.asarray(T, dtype=float)
        if self.exact:
            return _shaped(_exact("QT", np.zeros(T.shape), T, "p"))
        return _shaped(np.exp(np.minimum(self._saturation.ln_p(T), 500.0)))  # far outside: large, not infinite

    p_vap = p_sat

    def h_f(self, p: ArrayLike) -> Any:
        """Enthalpy of boiling water [J/kg] at `p` [Pa]."""
        return self._saturated("h_f", p)

    def h_g(self, p: ArrayLike) -> Any:
        """Enthalpy of dry saturated steam [J/kg] at `p` [Pa]."""
        return self._saturated("h_g", p)

    def s_f(self, p: ArrayLike) -> Any:
        """Entropy of boiling water [J/kg/K] at `p` [Pa]."""
        return self._saturated("s_f", p)

    def s_g(self, p: ArrayLike) -> Any:
        """Entropy of dry saturated steam [J/kg/K] at `p` [Pa]."""
        return self._saturated("s_g", p)

    def rho_f(self, p: ArrayLike) -> Any:
        """Density of boiling water [kg/m3] at `p` [Pa]."""
        return self._saturated("rho_f", p)

    def rho_g(self, p: ArrayLike) -> Any:
        """Density of dry saturated steam [kg/m3] at `p` [Pa]."""
        return self._saturated("rho_g", p)

    # from enthalpy or entropy -----------------------------------------------------------------------------------

    def T(self, h: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Temperature [K] at enthalpy `h` [J/kg] and pressure `p` [Pa], in every region."""
        return self._from("h", h, _needed(p), "T", Region.T_h, lambda f, g, x: f)

    def s_ph(self, p: ArrayLike, h: ArrayLike) -> Any:
        """Entropy [J/kg/K] at pressure `p` [Pa] and enthalpy `h` [J/kg], in every region."""
        return self._from("h", h, p, "s", Region.s_h, _mix)

    def h_ps(self, p: ArrayLike, s: ArrayLike) -> Any:
        """Enthalpy [J/kg] at pressure `p` [Pa] and entropy `s` [J/kg/K], in every region."""
        return self._from("s", s, p, "h", Region.h_s, _mix)

    def rho_ph(self, p: ArrayLike, h: ArrayLike) -> Any:
        """Density [kg/m3] at pressure `p` [Pa] and enthalpy `h` [J/kg], in every region; wet steam without slip."""
        return self._from("h", h, p, "rho", Region.rho_h, lambda f, g, x: 1 / _mix(1 / f, 1 / g, x))

    def x_ph(self, p: ArrayLike, h: ArrayLike) -> Any:
        """Share of steam by mass [-] at `p` [Pa] and `h` [J/kg]; below 0 in liquid and above 1 in superheated steam."""
        p, h = np.broadcast_arrays(np.asarray(p, dtype=float), np.asarray(h, dtype=float))
        f, g = self.h_f(p), self.h_g(p)
        return _shaped((h - f) / (g - f))

    def _from(self, by: str, value: ArrayLike, p: ArrayLike, what: str, single: Callable[[Region, Array, At], Array],
              wet: Callable[[Array, Array, Array], Array]) -> Any:
        """Find the region of each point by h or s, and read it there."""
        value, p = np.broadcast_arrays(np.asarray(value, dtype=float), np.asarray(p, dtype=float))
        if self.exact:
            pair, first, second = ("HmassP", value, p) if by == "h" else ("PSmass", p, value)
            return _shaped(_exact(pair, first, second, _METHODS[what]))
        shape, value, saturation = value.shape, value.ravel(), self._saturation
        at = saturation.at(p.ravel())
        f = saturation.read(f"{by}_f", at)
        x = (value - f) / (saturation.read(f"{by}_g", at) - f)
        out = np.empty(value.size)
        for region, pick in _split(x > 1, x < 0):
            if region == "wet":
                there = at.pick(pick)
                out[pick] = wet(saturation.read(f"{what}_f", there), saturation.read(f"{what}_g", there), x[pick])
            else:
                out[pick] = single(self._steam if region == "steam" else self._liquid, value[pick], at.pick(pick))
        return _shaped(out.reshape(shape))

    # from temperature -------------------------------------------------------------------------------------------

    def h(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Enthalpy [J/kg] of the single phase at `T` [K], `p` [Pa]: steam at and above saturation, else liquid."""
        return self._at(T, p, "h", Region.h_T)

    def rho(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Density [kg/m3] of the single phase at `T` [K], `p` [Pa]."""
        return self._at(T, p, "rho", Region.rho_T)

    def cp(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Isobaric heat capacity [J/kg/K] of the single phase at `T` [K], `p` [Pa]."""
        return self._at(T, p, "cp", Region.cp_T)

    def mu(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Dynamic viscosity [Pa s] of the single phase at `T` [K], `p` [Pa]."""
        return self._at(T, p, "mu", Region.mu_T)

    def k(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Thermal conductivity [W/m/K] of the single phase at `T` [K], `p` [Pa]."""
        return self._at(T, p, "k", Region.k_T)

    def _at(self, T: ArrayLike, p: ArrayLike | None, what: str, read: Callable[[Region, Array, At], Array]) -> Any:
        T, p = np.broadcast_arrays(np.asarray(T, dtype=float), np.asarray(_needed(p), dtype=float))
        if self.exact:
            return _shaped(_exact("PT", p, T, _METHODS[what]))
        shape, T = T.shape, T.ravel()
        at = self._saturation.at(p.ravel())
        steam = self._saturation.read("T_f", at) <= T
        out = np.empty(T.size)
        for region, pick in _split(steam, ~steam):
            out[pick] = read(self._steam if region == "steam" else self._liquid, T[pick], at.pick(pick))
        return _shaped(out.reshape(shape))

    @cached_property
    def table_error(self) -> dict[str, float]:
        """Worst errors at 2,000 states spread evenly over both regions up to 0.1 K from saturation.

        Relative (h to the larger of its amount and 100 kJ/kg); K for "T" and "T_round_trip".
        """
        rng = np.random.default_rng(7)
        low, high = (float(coordinate(np.array(p))) for p in (P_LOW, P_HIGH))
        y = rng.uniform(low, high, 2000)
        p = pressure_of(y)
        T_sat, hot = self.T_sat(p), np.arange(2000) < 1000
        gap = np.where(hot, self.limits.bulk, self.limits.low) - T_sat
        T = T_sat + np.sign(gap) * np.maximum(rng.uniform(0, 1, 2000) ** 2 * np.abs(gap), 0.1)
        names = tuple(_METHODS.values())[1:]
        h, s, rho, cp, mu, k = np.concatenate([
            sweep("HEOS", "Water", "PT", p[part], T[part], names, phase)
            for part, phase in ((hot, "gas"), (~hot, "liquid"))], axis=1)
        size = np.maximum(np.abs(h), 1e5)
        pairs: dict[str, tuple[Any, Array, Any]] = {
            "h": (self.h(T, p), h, size), "rho": (self.rho(T, p), rho, rho), "cp": (self.cp(T, p), cp, cp),
            "mu": (self.mu(T, p), mu, mu), "k": (self.k(T, p), k, k), "T": (self.T(h, p), T, 1.0),
            "s_ph": (self.s_ph(p, h), s, np.maximum(s, 300.0)), "rho_ph": (self.rho_ph(p, h), rho, rho),
            "h_ps": (self.h_ps(p, s), h, size), "T_round_trip": (self.T(self.h(T, p), p), T, 1.0)}
        return {what: float(np.max(np.abs(got - want) / scale)) for what, (got, want, scale) in pairs.items()}


def _mix(f: Array, g: Array, x: Array) -> Array:
    return f + x * (g - f)


def _needed(p: ArrayLike | None) -> ArrayLike:
    if p is None:
        raise ParameterError("water needs a pressure", where="water", got="p=None", allowed="1 kPa to 200 bar",
                             hint="give p [Pa] beside T or h")
    return p


def _exact(pair: str, first: Array, second: Array, output: str) -> Array:
    return sweep("HEOS", "Water", pair, first.ravel(), second.ravel(), (output,))[0].reshape(first.shape)


def _split(steam: Any, liquid: Any) -> Iterator[tuple[str, Any]]:
    """The regions that occur, with the points of each (a slice when it is all of them: no copies then)."""
    for region, mask in (("steam", steam), ("liquid", liquid), ("wet", ~(steam | liquid))):
        if mask.all():
            if mask.size:
                yield region, slice(None)
            return
        if mask.any():
            yield region, np.flatnonzero(mask)
