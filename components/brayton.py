"""Air cycle per kilogram: compressor, recuperator, heater and turbine, with air's heat capacity as it varies.

Air is taken as an ideal gas whose enthalpy is that of the medium "air": h(T), s = phi(T) - R ln p."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from loopnet.media import medium
from loopnet.media.tables import Curve, Grid

__all__ = ["AirCycle", "air_cycle", "air_phi", "air_temperature"]

AIR_R = 287.05  # J/kg/K, gas constant of dry air
SPAN = (215.0, 1500.0)  # K


@lru_cache(maxsize=1)
def _tables() -> tuple[Any, Curve, Curve]:
    """The medium, phi over T, and T over phi; phi is the integral of cp / T from 300 K."""
    from scipy.interpolate import CubicSpline, PchipInterpolator

    air = medium("air")
    grid = Grid(*SPAN, 1200)
    whole = CubicSpline(grid.points, air.cp(grid.points) / grid.points).antiderivative()
    phi = whole(grid.points) - whole(300.0)
    back = Grid(float(phi[0]), float(phi[-1]), 1200)
    return air, Curve(grid, phi), Curve(back, PchipInterpolator(phi, grid.points)(back.points))


def air_phi(T: ArrayLike) -> Any:
    """Entropy of air at one pressure above that at 300 K: phi = integral of cp dT / T.

    Parameters
    ----------
    T : float or ndarray
        Temperature [K], 215 to 1500.

    Returns
    -------
    float or ndarray
        phi [J/kg/K].
    """
    return _tables()[1](np.asarray(T, dtype=float))


def air_temperature(T: ArrayLike, ratio: ArrayLike) -> Any:
    """Temperature of air after a change of pressure at constant entropy: phi(T2) = phi(T1) + R ln(p2 / p1).

    Parameters
    ----------
    T : float or ndarray
        Temperature before [K].
    ratio : float or ndarray
        Pressure behind over pressure before [-].

    Returns
    -------
    float or ndarray
        Temperature [K].

    Examples
    --------
    Cengel and Boles, Thermodynamics, example 9-5 (from memory): 300 K, pressure ratio 8, 540 K.

    >>> round(float(air_temperature(300.0, 8.0)))
    540
    """
    _, _, back = _tables()
    return back(air_phi(T) + AIR_R * np.log(np.maximum(ratio, 1e-6)))


@dataclass(frozen=True)
class AirCycle:
    """The cycle per kilogram of air: temperatures [K] before the compressor (1), behind it (2), behind the recuperator
    (`warmed`), before the turbine (3), behind it (4) and of what leaves (`exhaust`); works and heats [J/kg].

    `made` is the entropy made in compressor, turbine, and recuperator [J/kg/K].
    """

    T1: Any
    T2: Any
    warmed: Any
    T3: Any
    T4: Any
    exhaust: Any
    w_compressor: Any
    w_turbine: Any
    q_hot: Any
    q_exhaust: Any
    made: tuple[Any, Any, Any]

    @property
    def work(self) -> Any:
        """Net work [J/kg]."""
        return self.w_turbine - self.w_compressor

    @property
    def efficiency(self) -> Any:
        """Net work over heat [-]."""
        return self.work / self.q_hot

    @property
    def back_work_ratio(self) -> Any:
        """Work of the compressor over that of the turbine [-]."""
        return self.w_compressor / self.w_turbine


def air_cycle(T1: ArrayLike, T3: ArrayLike, ratio: ArrayLike, compressor: ArrayLike = 1.0, turbine: ArrayLike = 1.0,
              recuperator: ArrayLike = 0.0, drop: ArrayLike = 0.0) -> AirCycle:
    """The open air cycle, explicitly: air comes from outside and goes back there.

    A recuperator is passed by where the exhaust is colder than the compressed air.

    Parameters
    ----------
    T1, T3 : float or ndarray
        Temperature before compressor and turbine [K].
    ratio : float or ndarray
        Pressure behind the compressor over that before it [-].
    compressor, turbine : float or ndarray
        Isentropic efficiencies [-].
    recuperator : float or ndarray
        Effectiveness [-]: (h_warmed - h2) / (h4 - h2).
    drop : float or ndarray
        Pressure lost in heater, recuperator and ducts together, over the pressure [-].

    Returns
    -------
    AirCycle

    Examples
    --------
    Cengel and Boles, Thermodynamics, example 9-7 (from memory): 36.9 %.

    >>> round(float(air_cycle(300.0, 1300.0, 8.0, 0.80, 0.85, 0.80).efficiency), 3)
    0.369
    """
    air, _, _ = _tables()
    T1, T3, ratio, drop = (np.asarray(x, dtype=float) for x in (T1, T3, ratio, drop))
    h1, h3 = air.h(T1), air.h(T3)
    expansion = np.maximum(ratio * (1.0 - drop), 1e-6)
    w_compressor = (air.h(air_temperature(T1, ratio)) - h1) / compressor
    w_turbine = turbine * (h3 - air.h(air_temperature(T3, 1.0 / expansion)))
    h2, h4 = h1 + w_compressor, h3 - w_turbine
    moved = recuperator * np.maximum(h4 - h2, 0.0)
    T2, T4, warmed, exhaust = (air.T(h) for h in (h2, h4, h2 + moved, h4 - moved))
    made = (air_phi(T2) - air_phi(T1) - AIR_R * np.log(ratio), air_phi(T4) - air_phi(T3) + AIR_R * np.log(expansion),
            air_phi(warmed) - air_phi(T2) + air_phi(exhaust) - air_phi(T4))
    return AirCycle(T1, T2, warmed, T3, T4, exhaust, w_compressor, w_turbine, h3 - h2 - moved, h4 - moved - h1, made)
