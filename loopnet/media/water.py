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
from loopnet.media.steam_tables import P_HIGH, P_LOW, Place, Region, Saturation, coordinate, pressure_of
from loopnet.media.tables import Array

__all__ = ["Water"]


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
        return Region("liquid", self._saturation, (90, 100, 100), 0.12)

    @cached_property
    def _steam(self) -> Region:
        return Region("gas", self._saturation, (100, 120, 60), 0.02)

    # saturation -------------------------------------------------------------------------------------------------

    def _saturated(self, what: str, p: ArrayLike) -> Any:
        p = np.asarray(p, dtype=float)
        if self.exact:
            quality, method = {"T": (0, "T"), "h_f": (0, "hmass"), "h_g": (1, "hmass"), "s_f": (0, "smass"),
                               "s_g": (1, "smass"), "rho_f": (0, "rhomass"), "rho_g": (1, "rhomass")}[what]
            return _shaped(_exact("PQ", p, np.full(p.shape, float(quality)), method))
        tables = self._saturation
        return _shaped(getattr(tables, what)(coordinate(p)))

    def T_sat(self, p: ArrayLike) -> Any:
        """Saturation temperature [K] at `p` [Pa]."""
        return self._saturated("T", p)

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
        return self._from(h, _needed(p), "h", "T", lambda r, x, y, _: r.T_h.at(x, y),
                          lambda sat, y, _: sat.T.at(y))

    def s_ph(self, p: ArrayLike, h: ArrayLike) -> Any:
        """Entropy [J/kg/K] at pressure `p` [Pa] and enthalpy `h` [J/kg], in every region."""
        return self._from(h, p, "h", "smass", lambda r, x, y, _: r.s_h.at(x, y),
                          lambda sat, y, x: _mix(sat.s_f.at(y), sat.s_g.at(y), x))

    def h_ps(self, p: ArrayLike, s: ArrayLike) -> Any:
        """Enthalpy [J/kg] at pressure `p` [Pa] and entropy `s` [J/kg/K], in every region."""
        return self._from(s, p, "s", "hmass", lambda r, x, y, _: r.h_s.at(x, y),
                          lambda sat, y, x: _mix(sat.h_f.at(y), sat.h_g.at(y), x))

    def rho_ph(self, p: ArrayLike, h: ArrayLike) -> Any:
        """Density [kg/m3] at pressure `p` [Pa] and enthalpy `h` [J/kg], in every region; wet steam without slip."""
        return self._from(h, p, "h", "rhomass", lambda r, x, y, p: r.density(r.volume_h.at(x, y), p),
                          lambda sat, y, x: 1 / _mix(1 / sat.rho_f.at(y), 1 / sat.rho_g.at(y), x))

    def x_ph(self, p: ArrayLike, h: ArrayLike) -> Any:
        """Share of steam by mass [-] at `p` [Pa] and `h` [J/kg]; below 0 in liquid and above 1 in superheated steam."""
        p, h = np.broadcast_arrays(np.asarray(p, dtype=float), np.asarray(h, dtype=float))
        if self.exact:
            f, g = _exact("PQ", p, np.zeros(p.shape), "hmass"), _exact("PQ", p, np.ones(p.shape), "hmass")
        else:
            place = self._saturation.grid.locate(coordinate(p))
            f, g = self._saturation.h_f.at(place), self._saturation.h_g.at(place)
        return _shaped((h - f) / (g - f))

    def _from(self, value: ArrayLike, p: ArrayLike, by: str, exact: str,
              single: Callable[[Region, Place, Place, Array], Array],
              wet: Callable[[Saturation, Place, Array], Array]) -> Any:
        """Find the region of each point by h or s, and read it there."""
        value, p = np.broadcast_arrays(np.asarray(value, dtype=float), np.asarray(p, dtype=float))
        if self.exact:
            return _shaped(_exact("HmassP", value, p, exact) if by == "h" else _exact("PSmass", p, value, exact))
        shape, v, p = value.shape, value.ravel(), p.ravel()
        y, sat = coordinate(p), self._saturation
        edge = sat.grid.locate(y)
        start = getattr(sat, f"{by}_f").at(edge)
        share = (v - start) / (getattr(sat, f"{by}_g").at(edge) - start)
        out = np.empty(v.size)
        for region, pick in _split(share > 1, share < 0):
            if region == "wet":
                out[pick] = wet(sat, (edge[0][pick], edge[1][pick]), share[pick])
            else:
                part = self._steam if region == "steam" else self._liquid
                at = part.y.locate(y[pick])
                x = part.place(part.by_h if by == "h" else part.by_s, v[pick], at)
                out[pick] = single(part, x, at, p[pick])
        return _shaped(out.reshape(shape))

    # from temperature -------------------------------------------------------------------------------------------

    def h(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Enthalpy [J/kg] of the single phase at `T` [K], `p` [Pa]: steam at and above saturation, else liquid."""
        return self._at(T, p, "hmass", self._read_h)

    @staticmethod
    def _read_h(region: Region, u: Place, y: Place, p: Array, beyond: Array) -> Array:
        h = region.h_T.at(u, y)
        if beyond.any():
            h = h + beyond * np.exp(region.cp_T.at(u, y))
        return h

    def rho(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Density [kg/m3] of the single phase at `T` [K], `p` [Pa]."""
        return self._at(T, p, "rhomass", lambda r, u, y, p, _: r.density(r.volume_T.at(u, y), p))

    def cp(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Isobaric heat capacity [J/kg/K] of the single phase at `T` [K], `p` [Pa]."""
        return self._at(T, p, "cpmass", lambda r, u, y, p, _: np.exp(r.cp_T.at(u, y)))

    def mu(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Dynamic viscosity [Pa s] of the single phase at `T` [K], `p` [Pa]."""
        return self._at(T, p, "viscosity", lambda r, u, y, p, _: np.exp(r.mu_T.at(u, y)))

    def k(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Thermal conductivity [W/m/K] of the single phase at `T` [K], `p` [Pa]."""
        return self._at(T, p, "conductivity", lambda r, u, y, p, _: np.exp(r.k_T.at(u, y)))

    def _at(self, T: ArrayLike, p: ArrayLike | None, exact: str,
            read: Callable[[Region, Place, Place, Array, Array], Array]) -> Any:
        T, p = np.broadcast_arrays(np.asarray(T, dtype=float), np.asarray(_needed(p), dtype=float))
        if self.exact:
            return _shaped(_exact("PT", p, T, exact))
        shape, T, p = T.shape, T.ravel(), p.ravel()
        y = coordinate(p)
        steam = self._saturation.T(y) <= T
        out = np.empty(T.size)
        for region, pick in _split(steam, ~steam):
            part = self._steam if region == "steam" else self._liquid
            at = part.y.locate(y[pick])
            u, beyond = part.place_T(T[pick], at)
            out[pick] = read(part, u, at, p[pick], beyond)
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
        names = ("hmass", "smass", "rhomass", "cpmass", "viscosity", "conductivity")
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
