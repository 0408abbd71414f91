"""Single-phase fluids: heat-transfer oil, hot water and air by CoolProp, nitrate salt by its published equations."""

from __future__ import annotations

from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from loopnet.media.base import ZERO, Limits, SinglePhase, _shaped
from loopnet.media.coolprop import saturation, sweep
from loopnet.media.tables import Array, Curve, Grid

__all__ = ["Air", "DiphenylOil", "HotWater", "NitrateSalt"]

_CELSIUS = 273.15
_OUTPUTS = {"h": "hmass", "cp": "cpmass", "rho": "rhomass", "mu": "viscosity", "k": "conductivity"}


class _CoolPropFluid(SinglePhase):
    """A fluid that CoolProp knows, at one pressure level."""

    backend: ClassVar[tuple[str, str, str]]
    level: ClassVar[float]

    def _sweep(self, pair: str, first: Array, second: Array, *outputs: str) -> Array:
        backend, fluid, phase = self.backend
        return sweep(backend, fluid, pair, first, second, outputs, "" if pair == "HmassP" else phase)

    def _at_level(self, T: Array) -> Array:
        return np.full(T.shape, self.pressure or self.level)

    def _exact(self, what: str, T: Array) -> Array:
        out: Array = self._sweep("PT", self._at_level(T), T, _OUTPUTS[what])[0]
        return out - self._zero() if what == "h" else out

    def _zero(self) -> float:
        T = np.array([ZERO])
        return float(self._sweep("PT", self._at_level(T), T, "hmass")[0, 0])

    def _exact_T(self, h: Array) -> Array:
        T: Array = self._sweep("HmassP", h + self._zero(), self._at_level(h), "T")[0]
        return T


class DiphenylOil(_CoolPropFluid):
    """Eutectic of diphenyl oxide (73.5 %) and biphenyl (26.5 %): the heat-transfer oil of hot collector rows.

    Properties by CoolProp's incompressible model (12 to 397 degC). h is the integral of cp: the share of
    pressure is left out, so that h is a function of temperature alone.
    """

    name = "diphenyl oil"
    phase = "liquid"
    backend = ("INCOMP", "TVP1", "")
    level = 20e5  # keeps the state liquid
    span = (285.15, 670.15)
    limits = Limits(freezing=285.15, low=285.15, bulk=666.15, film=703.15, sources={
        "freezing": "12 degC, manufacturers' bulletins of the eutectic, from memory",
        "low": "start of the equation (CoolProp), which is the freezing point",
        "bulk": "393 degC; up to 400 degC is common practice, no source",
        "film": "430 degC, common practice, no source"})
    cautions = (
        "Hot oil is far above its flash point, and leaks burn: fire protection by local codes and a licensed engineer.",
        "Above 257 degC it boils unless kept under pressure: the loop is pressure equipment, for licensed practice.",
        "It smells, irritates and harms water life; keep it off skin and out of the ground, by local rules.",
        "It freezes at 12 degC: lines need heating, or they block.",
    )

    def _exact(self, what: str, T: Array) -> Array:
        if what != "h":
            return super()._exact(what, T)
        T = np.append(T, ZERO)
        once, twice = (self._sweep("PT", np.full(T.shape, 101325.0 + p), T, "hmass")[0] for p in (2e6, 4e6))
        heat: Array = 2 * once - twice  # CoolProp's h is linear in pressure from 1 atm, where it is the integral of cp
        return heat[:-1] - heat[-1]

    _exact_T = SinglePhase._exact_T

    def p_vap(self, T: ArrayLike) -> Any:
        """Vapour pressure [Pa] by CoolProp; beyond 12 to 397 degC ln p goes on linearly in 1/T (Clausius-Clapeyron).

        >>> from loopnet.media import medium
        >>> round(medium("diphenyl oil").p_vap(666.15) / 1e5, 1)
        10.0
        """
        if "p_vap" not in self._curves:
            grid = Grid(-1 / (self.span[0] + 1e-6), -1 / (self.span[1] - 1e-6), 300)
            backend, fluid, _ = self.backend
            self._curves["p_vap"] = Curve(grid, np.log(saturation(backend, fluid, -1 / grid.points)))
        kelvin: Array = np.maximum(np.asarray(T, dtype=float), 50.0)  # a vapour pressure of nothing, kept finite
        return _shaped(np.exp(self._curves["p_vap"](-1 / kelvin)))


class HotWater(_CoolPropFluid):
    """Water kept liquid by pressure: the medium of heating networks, of ground stores and of low collectors.

    Properties by CoolProp at 16 bar, 5 to 195 degC, taken for any pressure that keeps it liquid: between 1 and 25 bar
    the density differs by less than 0.1 %, the heat capacity by less than 0.2 %, enthalpy differences by less than
    0.2 %. Where water boils, the medium is "water".

    Examples
    --------
    >>> from loopnet.media import medium
    >>> water = medium("hot water")
    >>> round(water.rho(353.15), 1), round(water.cp(353.15)), round((water.h(353.15) - water.h(323.15)) / 1e3, 1)
    (972.5, 4193, 125.5)
    """

    name = "hot water"
    phase = "liquid"
    backend = ("HEOS", "Water", "liquid")
    level = 16e5  # boils at 201 degC
    span = (278.15, 468.15)
    nodes = 400
    limits = Limits(freezing=273.15, low=278.15, bulk=463.15, film=None, sources={
        "freezing": "0 degC",
        "low": "5 degC, kept from freezing; assumption",
        "bulk": "190 degC; networks and ground stores stay below 180 degC (common practice, no source)"})
    cautions = (
        "Hot water scalds, and above 100 degC flashes to steam where its pressure is lost: pressure equipment, by "
        "local codes and licensed practice.",
        "Water freezes at 0 degC and bursts pipes: lines are drained, heated or kept moving.",
    )

    def p_vap(self, T: ArrayLike) -> Any:
        """Vapour pressure [Pa] by CoolProp; beyond the span ln p goes on linearly in 1/T (Clausius-Clapeyron).

        >>> from loopnet.media import medium
        >>> round(medium("hot water").p_vap(373.124) / 101325.0, 4)
        1.0
        """
        if "p_vap" not in self._curves:
            grid = Grid(-1 / self.span[0], -1 / self.span[1], 300)
            backend, fluid, _ = self.backend
            self._curves["p_vap"] = Curve(grid, np.log(saturation(backend, fluid, -1 / grid.points)))
        kelvin: Array = np.maximum(np.asarray(T, dtype=float), 50.0)
        return _shaped(np.exp(self._curves["p_vap"](-1 / kelvin)))


class Air(_CoolPropFluid):
    """Dry air by CoolProp's pseudo-pure equation, tabulated at one pressure level (default 1 atm).

    h, cp, mu and k are those at the level; the density is that of the pressure asked for, with the second virial
    coefficient, which is exact to some 1e-5 up to 10 bar above the level at 100 degC and hotter.
    """

    name = "air"
    phase = "gas"
    backend = ("HEOS", "Air", "gas")
    level = 101325.0
    span = (228.15, 1383.15)
    nodes = 500
    limits = Limits(freezing=None, low=233.15, bulk=1373.15, film=None, sources={
        "low": "-40 degC, coldest ambient foreseen; assumption",
        "bulk": "1100 degC, hottest receivers and ducts foreseen; assumption (the equation goes to 1727 degC)"})
    cautions = (
        "Hot air ducts and receivers burn, and ignite what is near; guard them by local codes.",
        "Fans and pressurised air stores injure; pressure equipment is for licensed practice.",
    )

    def __init__(self, pressure: float | None = None, exact: bool = False) -> None:
        super().__init__(self.level if pressure is None else pressure, exact)

    def _exact(self, what: str, T: Array) -> Array:
        if what != "virial":
            return super()._exact(what, T)
        p = self._at_level(T)
        return (p / (super()._exact("rho", T) * self._gas_constant * T) - 1) / p  # B / (R T) [1/Pa]

    _gas_constant = 8.314462618 / 0.02896546
    """Molar gas constant (CODATA 2018) over the molar mass of dry air (Lemmon et al. 2000) [J/kg/K]."""

    def rho(self, T: ArrayLike, p: ArrayLike | None = None) -> Any:
        """Density [kg/m3] at `p` [Pa], by default the pressure level."""
        T, p = np.asarray(T, dtype=float), np.asarray(self.pressure if p is None else p, dtype=float)
        if self.exact and np.all(p == self.pressure):
            return _shaped(self._read("rho", T) * np.ones(p.shape))
        inside = np.maximum(T, 1.0)  # positive, whatever an iteration asks for
        return _shaped(p / (self._gas_constant * inside * (1 + self._read("virial", T) * p)))


class NitrateSalt(SinglePhase):
    """60 % sodium nitrate, 40 % potassium nitrate by mass; h is the exact integral of cp.

    References
    ----------
    Zavoico, A.B.: Solar Power Tower Design Basis Document, SAND2001-2100, 2001, pp. 23-24; 260 to 600 degC.

    Examples
    --------
    >>> from loopnet.media import medium
    >>> salt = medium("nitrate salt")
    >>> round(salt.rho(563.15), 2), round(salt.cp(563.15), 2), round(1e3 * salt.mu(563.15), 4)
    (1905.56, 1492.88, 3.5023)
    """

    name = "nitrate salt"
    phase = "liquid"
    span = (493.15, 883.15)
    nodes = 400
    limits = Limits(freezing=511.15, low=533.15, bulk=873.15, film=903.15, sources={
        "freezing": "238 degC, where crystals begin to form (solid at about 221 degC); SAND2001-2100, from memory",
        "low": "260 degC, start of the equations in SAND2001-2100",
        "bulk": "600 degC, end of the equations in SAND2001-2100; plants run at 565 degC (common practice, no source)",
        "film": "630 degC, common practice, no source"})
    cautions = (
        "Molten nitrate burns deeply and feeds fire: keep oil, wood and other fuel away, by local codes.",
        "Water under the melt flashes to steam; wet equipment is dried before filling, by trained people.",
        "Above about 600 degC it gives off nitrogen oxides; steels corrode faster above 565 degC.",
        "It freezes at 220 to 240 degC: lines need heating, or they block and burst on melting.",
    )

    def _exact(self, what: str, T: Array) -> Array:
        t = T - _CELSIUS
        if what == "h":
            t0 = ZERO - _CELSIUS
            return 1443.0 * (t - t0) + 0.086 * (t * t - t0 * t0)
        if what == "cp":
            return 1443.0 + 0.172 * t
        if what == "rho":
            return 2090.0 - 0.636 * t
        if what == "mu":
            return 1e-3 * (22.714 + t * (-0.120 + t * (2.281e-4 - 1.474e-7 * t)))
        return 0.443 + 1.9e-4 * t

    def _exact_T(self, h: Array) -> Array:
        t0 = ZERO - _CELSIUS
        T: Array = (np.sqrt(1443.0**2 + 4 * 0.086 * (h + 1443.0 * t0 + 0.086 * t0 * t0)) - 1443.0) / 0.172 + _CELSIUS
        return T
