"""What a marched bed needs to hold liquid in its voids, or pipes in its solid: a filling that mixes heat capacities,
and an exchange that spreads the front as the true one does."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from components.bed_march import Bed
from loopnet.errors import PropertyRangeError
from loopnet.units import show

__all__ = ["AtPressure", "FilledBed", "Filling", "front_share", "one_phase", "standby_share",
           "with_moving_content"]


def with_moving_content(exchange: Any, share: Any) -> Any:
    """Exchange that lets a bed without moving content spread a front as one with it does: h' = h / (1 - share)^2.

    A front that passes solid (heat capacity Cs per volume) and liquid (Cf) exchanging at h grows as if heat were
    conducted along the flow with (G cf)^2 Cs^2 / (h (Cs + Cf)^2); with all capacity at rest, as with (G cf)^2 / h'.

    Parameters
    ----------
    exchange : float or array
        Volumetric coefficient between solid and liquid [W/(m3 K)].
    share : float or array
        Cf / (Cs + Cf) [-], from 0 to below 1.

    Returns
    -------
    float or array
        Coefficient h' [W/(m3 K)].

    Notes
    -----
    Exact in the second moment of a front that has passed several transfer units; at the very inlet the front of the
    liquid itself, a step in the first exchange length, is not drawn.

    Examples
    --------
    >>> round(with_moving_content(900.0, 0.25))
    1600
    """
    return exchange / (1 - share) ** 2


def front_share(temperature: np.ndarray, cold: float, hot: float, edge: float = 0.1) -> float:
    """Part of a bed that is neither hot nor cold: the length of its front over the whole.

    Parameters
    ----------
    temperature : array, shape (cells,)
        Along the bed [K].
    cold, hot : float
        The two levels [K].
    edge : float
        How far from a level, over their difference, a cell counts as that level [-].

    Returns
    -------
    float
        Share of the cells [-].

    Examples
    --------
    >>> front_share(np.array([600.0, 599.0, 550.0, 510.0, 500.0]), 500.0, 600.0)
    0.4
    """
    level = (np.asarray(temperature) - cold) / (hot - cold)
    return float(np.mean((level >= edge) & (level <= 1 - edge)))


def standby_share(bed: Bed, cold: float, hot: float, ambient: float) -> float:
    """Heat that a full store loses in an hour of rest, over what it holds above its cold state.

    Parameters
    ----------
    bed : Bed
        With its losses.
    cold, hot : float
        The two levels between which it works [K].
    ambient : float
        Temperature around it [K].

    Returns
    -------
    float
        Share lost an hour [1/h].

    Examples
    --------
    >>> from loopnet.media import medium
    >>> bed = Bed(solid=medium("crushed rock"), gas=medium("air"), length=6.0, area=100.0, wall_ua=60.0)
    >>> round(24 * standby_share(bed, 450.0, 850.0, 300.0), 4)
    0.0074
    """
    full = bed.uniform(hot)
    return bed.step(full, 0.0, 0.0, ambient, 3600.0).lost / (bed.energy(full) - bed.energy(bed.uniform(cold)))


@dataclass(frozen=True)
class AtPressure:
    """A medium at one pressure [Pa], whose enthalpy goes on straight outside `low` to `high` [K], so that a pipe of
    water neither freezes nor boils on paper; what leaves these limits is refused elsewhere."""

    medium: Any
    pressure: float
    low: float
    high: float

    def h(self, T: Any) -> Any:
        """Specific enthalpy [J/kg] at `T` [K]."""
        T = np.asarray(T, dtype=float)
        inside = np.clip(T, self.low, self.high)
        return self.medium.h(inside, self.pressure) + self.medium.cp(inside, self.pressure) * (T - inside)

    def T(self, h: Any) -> Any:
        """Temperature [K] at enthalpy `h` [J/kg], between `low` and `high`."""
        return self.medium.T(h, self.pressure)

    def rho(self, T: Any) -> Any:
        """Density [kg/m3] at `T` [K]."""
        return self.medium.rho(np.clip(T, self.low, self.high), self.pressure)

    def cp(self, T: Any) -> Any:
        """Heat capacity [J/kg/K] at `T` [K]."""
        return self.medium.cp(np.clip(T, self.low, self.high), self.pressure)

    def mu(self, T: Any) -> Any:
        """Viscosity [Pa s] at `T` [K]."""
        return self.medium.mu(np.clip(T, self.low, self.high), self.pressure)

    def k(self, T: Any) -> Any:
        """Conductivity [W/m/K] at `T` [K]."""
        return self.medium.k(np.clip(T, self.low, self.high), self.pressure)


def one_phase(fluid: Any, pressure: float, cold: float, hot: float, where: str) -> AtPressure:
    """A medium at the pressure of a store that works between two temperatures, all of it below or above boiling.

    Parameters
    ----------
    fluid : Medium
        What passes.
    pressure : float
        In the store [Pa].
    cold, hot : float
        The coldest and the hottest that it becomes [K].
    where : str
        Named in errors.

    Returns
    -------
    AtPressure

    Raises
    ------
    PropertyRangeError
        If it boils in between, or does not stand these temperatures.

    Examples
    --------
    >>> from loopnet.media import medium
    >>> round(float(one_phase(medium("water"), 5e5, 290.0, 360.0, "pond").h(360.0) / 1e3))
    364
    """
    fluid.check(np.array([cold, hot]), where=where)
    low, high = max(fluid.limits.low, fluid.limits.freezing or 0.0), fluid.limits.bulk
    boils = float(fluid.T_sat(pressure)) if hasattr(fluid, "T_sat") else None
    needs = 0.0 if boils is not None else float(np.asarray(fluid.p_vap(hot)))
    if pressure < needs or boils is not None and cold <= boils <= hot:
        raise PropertyRangeError(
            f"{fluid.name} boils inside the store", where=where,
            got=f"{show(cold, 'K')} to {show(hot, 'K')} at {show(pressure, 'Pa')}",
            allowed=f"above {show(needs, 'Pa')}" if boils is None else f"all below or all above {show(boils, 'K')}",
            hint="a higher pressure, or a cooler loop")
    if boils is not None:
        low, high = (boils + 0.1, high) if cold > boils else (low, boils - 0.1)
    return AtPressure(fluid, pressure, low, high)


@dataclass(frozen=True)
class Filling:
    """What a cubic metre of a store holds, all at one temperature: pairs of medium and kg/m3, the solid first.

    Masses do not change with temperature: liquid that expands is taken to stay with its cell.

    >>> from loopnet.media import medium
    >>> filling = Filling(((medium("quartz sand"), 2000.0), (medium("nitrate salt"), 450.0)))
    >>> round(filling.heat(673.15) - filling.heat(563.15)), round(filling.share(618.15), 3)
    (313087521, 0.237)
    """

    parts: tuple[tuple[Any, float], ...]

    @property
    def density(self) -> float:
        """Mass of a cubic metre of the store [kg/m3]."""
        return sum(mass for _, mass in self.parts)

    def heat(self, T: Any) -> Any:
        """Enthalpy of a cubic metre of the store [J/m3] at `T` [K]."""
        return sum(mass * np.asarray(part.h(T), dtype=float) for part, mass in self.parts)

    def h(self, T: Any) -> Any:
        """Enthalpy of a kilogram of the mixture [J/kg] at `T` [K]."""
        return self.heat(T) / self.density

    def k(self, T: Any) -> Any:
        """Conductivity of the solid [W/m/K] at `T` [K]."""
        return self.parts[0][0].k(T)

    def share(self, T: float) -> float:
        """Heat capacity of the last part, which moves, over that of all [-], at `T` [K]."""
        each = [mass * float(part.cp(T)) for part, mass in self.parts]
        return each[-1] / sum(each)


@dataclass(frozen=True, kw_only=True)
class FilledBed(Bed):
    """A marched bed whose voids hold liquid: `solid` is a `Filling`, and `gas` the liquid that passes.

    Solid and liquid of a cell have one temperature and together its heat; the stream exchanges with them at
    `with_moving_content` of the coefficient of `Bed`. Against Schumann's solution with a quarter of the heat capacity
    in the liquid, half a filling, 40 or 60 cells: worst cell 0.011 of the step at the inlet (mean 0.0035) with 30
    transfer units, 0.006 (0.001) with 120, 0.023 (0.012) with 5.

    Examples
    --------
    >>> from loopnet.media import medium
    >>> salt = medium("nitrate salt")
    >>> filling = Filling(((medium("quartz sand"), 2000.0), (salt, 450.0)))
    >>> bed = FilledBed(solid=filling, gas=salt, length=14.0, area=300.0, void=0.25, diameter=0.02, span=(500.0, 880.0))
    >>> full = bed.step(bed.uniform(563.15), 150.0, salt.h(663.15), 563.15, 4 * 3600.0)
    >>> round(float(salt.T(full.h_out)), 1), round(front_share(bed.temperatures(full.state), 563.15, 663.15), 2)
    (563.2, 0.07)
    """

    @cached_property
    def mass(self) -> float:
        """Solid and liquid of one cell [kg]."""
        return float(self.solid.density * self.area * self.length / self.cells)

    @cached_property
    def share(self) -> float:
        """Heat capacity in the liquid over that of the bed, at the reference temperature [-]."""
        return float(self.solid.share(self.reference))

    def transfer_units(self, m: float) -> float:
        """Transfer units of the whole bed at flow `m` [kg/s] [-], liquid in the voids taken along."""
        return float(with_moving_content(super().transfer_units(m), self.share))
