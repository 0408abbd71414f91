"""What moves the medium: power of pumps, fans and lifts, split into work on the medium, its heating,
and the motor's loss."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["BUCKET_LIFT", "GRAVITY", "SKIP_LIFT", "Power", "fan_power", "lift_power", "part_load", "pump_power"]

Array = NDArray[np.float64]
Floats = float | Array

GRAVITY = 9.80665
"""Standard gravity [m/s2] (BIPM)."""
SKIP_LIFT = 0.80
"""Efficiency of an insulated skip hoist [-] (Repole & Jeter, ASME ES2016, about 0.8 expected: memory)."""
BUCKET_LIFT = 0.65
"""Efficiency of a bucket elevator, drive excluded [-]: assumption; it digs, spills and rubs."""


class Power(NamedTuple):
    """Where the electricity of a mover goes, each [W], shape (points,); electric = work + heating + motor_loss.

    `work` is the useful part (compression or height), `heating` what friction leaves in the medium or, for a
    lift, in the surroundings; `shaft` is the two together.
    """

    work: Array
    heating: Array
    motor_loss: Array

    @property
    def shaft(self) -> Array:
        """Power at the shaft [W]."""
        return self.work + self.heating

    @property
    def electric(self) -> Array:
        """Electric power [W]."""
        return self.work + self.heating + self.motor_loss


def _split(work: Array, efficiency: Floats, motor: Floats) -> Power:
    shaft = work / np.asarray(efficiency)
    return Power(work, shaft - work, shaft / np.asarray(motor) - shaft)


def pump_power(flow: Floats, rise: Floats, density: Floats, efficiency: Floats = 0.75, motor: Floats = 0.95) -> Power:
    """Power of a pump for a liquid, m dp / (rho eta).

    Parameters
    ----------
    flow : float or array, shape (points,)
        Mass flow [kg/s].
    rise : float or array, shape (points,)
        Pressure rise [Pa].
    density : float or array, shape (points,)
        Density of the liquid, taken as constant through the pump [kg/m3].
    efficiency, motor : float or array, shape (points,)
        Of the pump and of motor with drive [-]; defaults are common practice, no source.

    Returns
    -------
    Power
        Hydraulic work, heating of the liquid, motor loss [W]. The enthalpy of the liquid rises by shaft / flow.

    Notes
    -----
    A negative rise gives negative work: no pump does that, and the solver's bounds should exclude it.

    Examples
    --------
    Cengel & Cimbala example 8-3 (memory): 0.2 ft3/s against 11.8 psi needs 461 W of hydraulic work.

    >>> print(round(float(pump_power(0.2 * 0.028316847 * 999.0, 11.8 * 6894.757, 999.0, 1.0, 1.0).electric)))
    461
    """
    return _split(np.asarray(flow) * np.asarray(rise) / np.asarray(density), efficiency, motor)


def fan_power(flow: Floats, rise: Floats, pressure: Floats, density: Floats, cp: Floats, temperature: Floats,
              efficiency: Floats = 0.75, motor: Floats = 0.95) -> Power:
    """Power of a fan or blower: adiabatic compression of an ideal gas, m cp T ((1 + dp/p)^(R/cp) - 1) / eta.

    For a small rise it is the volume flow times the rise, m dp / (rho eta).

    Parameters
    ----------
    flow : float or array, shape (points,)
        Mass flow [kg/s].
    rise : float or array, shape (points,)
        Pressure rise [Pa], above -pressure.
    pressure : float or array, shape (points,)
        Absolute pressure at the inlet [Pa].
    density, cp, temperature : float or array, shape (points,)
        Of the gas at the inlet [kg/m3], [J/kgK], [K]; the gas constant is pressure / (density temperature).
    efficiency, motor : float or array, shape (points,)
        Isentropic, and of motor with drive [-]; defaults are common practice, no source.

    Returns
    -------
    Power
        Isentropic work, heating of the gas, motor loss [W]. The enthalpy of the gas rises by shaft / flow.

    Examples
    --------
    Cold-air standard cycle, pressure ratio 8 from 300 K (Cengel & Boles): 300 (8^(0.4/1.4) - 1) = 243.4 K.

    >>> fan = fan_power(1.0, 7e5, 1e5, 1e5 / (287.0 * 300), 1004.5, 300.0, 1.0, 1.0)
    >>> print(round(float(fan.electric) / 1004.5, 1))
    243.4
    """
    specific = np.asarray(pressure) / (np.asarray(density) * np.asarray(temperature))
    exponent = specific / np.asarray(cp)
    head = np.asarray(cp) * np.asarray(temperature) * np.expm1(exponent * np.log1p(np.asarray(rise) / pressure))
    return _split(np.asarray(flow) * head, efficiency, motor)


def lift_power(flow: Floats, height: Floats, efficiency: Floats = SKIP_LIFT, motor: Floats = 0.95) -> Power:
    """Power of a lift for solids, m g H / eta.

    Parameters
    ----------
    flow : float or array, shape (points,)
        Mass flow [kg/s].
    height : float or array, shape (points,)
        Height of lift [m].
    efficiency, motor : float or array, shape (points,)
        Of the lift (`SKIP_LIFT`, `BUCKET_LIFT`) and of motor with drive [-].

    Returns
    -------
    Power
        Work against gravity, friction (to the surroundings, not into the solid), motor loss [W].

    Examples
    --------
    >>> round(float(lift_power(100.0, 50.0, 0.8, 1.0).electric), 3)
    61291.562
    """
    return _split(np.asarray(flow) * GRAVITY * np.asarray(height), efficiency, motor)


def part_load(load: Floats, fall: float = 0.3) -> Array:
    """Efficiency over design efficiency at part flow, 1 - fall (1 - load)^2.

    Parameters
    ----------
    load : float or array, shape (points,)
        Flow over design flow [-].
    fall : float
        What is lost at no flow [-]: 0.3 for speed control, 1 gives the parabola of a throttled pump (assumptions).

    Returns
    -------
    array, shape (points,)
        Efficiency over design efficiency [-], at least 0.05 so that power stays finite.

    Examples
    --------
    >>> part_load(np.array([1.0, 0.5, 0.0]))
    array([1.   , 0.925, 0.7  ])
    """
    return np.maximum(1.0 - fall * (1.0 - np.asarray(load, float)) ** 2, 0.05)
