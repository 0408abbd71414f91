"""Water and steam from 1 kPa to 200 bar: liquid, wet and superheated, by lookups that CoolProp's IAPWS-95 fills."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from loopnet.errors import ParameterError
from loopnet.media.base import Limits, Medium, _shaped
from loopnet.media.coolprop import sweep
from loopnet.media.isobar import METHODS, Isobar, exactly, split
from loopnet.media.steam_tables import P_HIGH, P_LOW, At, Region, Saturation, coordinate, pressure_of
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
    cautions = (
        "Steam and hot water scald and burst vessels: pressure equipment is for licensed practice, by local codes.",
        "Boiler water needs treatment; leaks of high-pressure steam cannot be seen and cut.",
        "It freezes at 0 degC and breaks what holds it.",
    )

    # tables -----------------------------------------------------------------------------------------------------

    @cached_property
    def saturation(self) -> Saturation:
        """The curves along the phase boundary, made on first use."""
        return Saturation()

    @cached_property
    def liquid(self) -> Region:
        """The surfaces of liquid, made on first use."""
        return Region("liquid", self.saturation, (100, 100), 0.12)

    @cached_property
    def steam(self) -> Region:
        """The surfaces of dry and superheated steam, made on first use."""
        return Region("gas", self.saturation, (120, 60), 0.02)

    # saturation -------------------------------------------------------------------------------------------------

    def T_sat(self, p: ArrayLike) -> Any:
        """Saturation temperature [K] at `p` [Pa]."""
        return Isobar(self, p).saturated("T_f")

    def p_sat(self, T: ArrayLike) -> Any:
        """Saturation pressure [Pa] at `T` [K]."""
        T = np.asarray(T, dtype=float)
        if self.exact:
            return exactly("QT", np.zeros(T.shape), T, "p")
        return _shaped(np.exp(np.minimum(self.saturation.ln_p(T), 500.0)))  # far outside: large, not infinite

    p_vap = p_sat

    def h_f(self, p: ArrayLike) -> Any:
        """Enthalpy of boiling water [J/kg] at `p` [Pa]."""
        return Isobar(self, p).saturated("h_f")

    def h_g(self, p: ArrayLike) -> Any:
        """Enthalpy of dry saturated steam [J/kg] at `p` [Pa]."""
        return Isobar(self, p).saturated("h_g")

    def s_f(self, p: ArrayLike) -> Any:
        """Entropy of boiling water [J/kg/K] at `p` [Pa]."""
        return Isobar(self, p).saturated("s_f")

    def s_g(self, p: ArrayLike) -> Any:
        """Entropy of dry saturated steam [J/kg/K] at `p` [Pa]."""
        return Isobar(self, p).saturated("s_g")

    def rho_f(self, p: ArrayLike) -> Any:
        """Density of boiling water [kg/m3] at `p` [Pa]."""
        return Isobar(self, p).saturated("rho_f")

    def rho_g(self, p: ArrayLike) -> Any:
        """Density of dry saturated steam [kg/m3] at `p` [Pa]."""
        return Isobar(self, p).saturated("rho_g")

    # from enthalpy or entropy -----------------------------------------------------------------------------------

    def isobar(self, p: ArrayLike) -> Isobar:
        """Water at pressures `p` [Pa], for several readings there: what p alone decides is found once."""
        return Isobar(self, p)

    def T(self, h: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Temperature [K] at enthalpy `h` [J/kg] and pressure `p` [Pa], in every region."""
        return Isobar(self, _needed(p)).T_h(h)

    def s_ph(self, p: ArrayLike, h: ArrayLike) -> Any:
        """Entropy [J/kg/K] at pressure `p` [Pa] and enthalpy `h` [J/kg], in every region."""
        return Isobar(self, p).s_h(h)

    def h_ps(self, p: ArrayLike, s: ArrayLike) -> Any:
        """Enthalpy [J/kg] at pressure `p` [Pa] and entropy `s` [J/kg/K], in every region."""
        return Isobar(self, p).h_s(s)

    def rho_ph(self, p: ArrayLike, h: ArrayLike) -> Any:
        """Density [kg/m3] at pressure `p` [Pa] and enthalpy `h` [J/kg], in every region; wet steam without slip."""
        return Isobar(self, p).rho_h(h)

    def x_ph(self, p: ArrayLike, h: ArrayLike) -> Any:
        """Share of steam by mass [-] at `p` [Pa] and `h` [J/kg]; below 0 in liquid and above 1 in superheated steam."""
        return Isobar(self, p).x_h(h)

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
            return exactly("PT", p, T, METHODS[what])
        shape, T = T.shape, T.ravel()
        at = self.saturation.at(p.ravel())
        steam = self.saturation.read("T_f", at) <= T
        out = np.empty(T.size)
        for region, pick in split(steam, ~steam):
            out[pick] = read(self.steam if region == "steam" else self.liquid, T[pick], at.pick(pick))
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
        names = tuple(METHODS.values())[1:]
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


def _needed(p: ArrayLike | None) -> ArrayLike:
    if p is None:
        raise ParameterError("water needs a pressure", where="water", got="p=None", allowed="1 kPa to 200 bar",
                             hint="give p [Pa] beside T or h")
    return p
