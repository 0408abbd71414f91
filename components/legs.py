"""The way of a medium between a store and the rows as stages in series, each of equal pipes or headers side by side:
what it loses, how it falls in pressure, what it holds and weighs, all at one velocity."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from components.friction import header_drop, pressure_drop
from components.pipe_heat import header_lost, pipe_conductances
from components.piping import Insulation, Steel, insulation_volume, steel_mass, wall_thickness

__all__ = ["Leg", "Stuff", "conductances", "drop", "lost_share", "outer_diameter", "stuff"]

Array = NDArray[np.float64]
Floats = float | Array


@dataclass(frozen=True)
class Leg:
    """Equal pipes side by side. With `taps` each is a header that gives off, or collects, its flow in equal steps.

    >>> Leg("branch headers", count=4.0, length=300.0, taps=20.0).mean_diameter(0.4)
    0.13333333333333333
    """

    name: str
    count: Any
    """How many share the flow [-]."""
    length: Any
    """Of each [m]."""
    taps: Any = None
    """Branches of each header [-]; None for a pipe of one diameter."""

    def diameter(self, whole: Floats) -> Any:
        """Inner diameter [m] at the large end, if one pipe for the whole flow would have `whole` [m]: one velocity."""
        return whole / self.count**0.5

    def mean_diameter(self, whole: Floats) -> Any:
        """Mean inner diameter [m] along its length, two thirds of that at the large end for a header."""
        return self.diameter(whole) * (1.0 if self.taps is None else 2.0 / 3.0)


@dataclass(frozen=True)
class Stuff:
    """What legs are made of and hold, together."""

    length: float
    """Of all pipes [m]."""
    steel: float
    """Mass [kg]."""
    insulation: float
    """Volume [m3]."""
    inside: float
    """Volume of the medium [m3]."""


def outer_diameter(inner: Floats) -> Any:
    """Outer diameter of steel pipe for heat loss, 1.03 times the inner (common practice, no source) [m].

    >>> outer_diameter(0.5)
    0.515
    """
    return 1.03 * inner


def drop(legs: Sequence[Leg], flow: Floats, density: Floats, viscosity: Floats, whole: Floats) -> Any:
    """Pressure drop on the way through all stages, from the store to the farthest row or back.

    Parameters
    ----------
    legs : sequence of Leg
        Stages in series.
    flow : float or array, shape (points,)
        Mass flow of all pipes together [kg/s].
    density, viscosity : float or array, shape (points,)
        Of the medium [kg/m3], [Pa s].
    whole : float or array, shape (points,)
        Inner diameter of one pipe for the whole flow [m].

    Returns
    -------
    array, shape (points,)
        Pressure drop [Pa].

    Examples
    --------
    Four pipes of half the diameter and a quarter of the flow each: the same velocity, more friction.

    >>> one, four = ([Leg("pipe", count=n, length=100.0)] for n in (1.0, 4.0))
    >>> round(float(drop(four, 100.0, 800.0, 3e-4, 0.4) / drop(one, 100.0, 800.0, 3e-4, 0.4)), 2)
    2.3
    """
    total: Any = 0.0
    for leg in legs:
        state = flow / leg.count, density, viscosity, leg.diameter(whole), leg.length
        total = total + (pressure_drop(*state) if leg.taps is None else header_drop(*state, branches=leg.taps))
    return total


def conductances(legs: Sequence[Leg], temperature: Floats, ambient: Floats, whole: Floats, insulation: Insulation,
                 wind: Floats = 0.0) -> list[Any]:
    """Heat loss per kelvin of each stage, all its pipes together.

    Parameters
    ----------
    legs : sequence of Leg
        Stages in series.
    temperature, ambient : float or array, shape (points,)
        Of the medium and the surroundings [K].
    whole : float or array, shape (points,)
        Inner diameter of one pipe for the whole flow [m].
    insulation : Insulation
        The same thickness everywhere.
    wind : float or array, shape (points,)
        Wind speed [m/s].

    Returns
    -------
    list of arrays, each of shape (points,)
        Conductance of each stage [W/K].

    Examples
    --------
    >>> pipe, header = Leg("pipe", 1.0, 100.0), Leg("header", 1.0, 100.0, taps=50.0)
    >>> print([round(float(g), 1) for g in conductances([pipe, header], 660.0, 300.0, 0.4, Insulation())])
    [114.4, 82.8]
    """
    outer = [outer_diameter(leg.diameter(whole)) for leg in legs]
    each = pipe_conductances(temperature, ambient, outer, insulation, wind, [leg.taps is not None for leg in legs])
    return [leg.count * leg.length * g for leg, g in zip(legs, each, strict=True)]


def lost_share(legs: Sequence[Leg], each: Sequence[Floats], capacity: Floats) -> Any:
    """Share of its excess over ambient that the medium loses on the way through all stages.

    Parameters
    ----------
    legs : sequence of Leg
        Stages in series.
    each : sequence of float or array, shape (points,)
        Their conductances [W/K], see `conductances`.
    capacity : float or array, shape (points,)
        Flow times heat capacity of all pipes together [W/K].

    Returns
    -------
    array, shape (points,)
        (T_in - T_out) / (T_in - Ta) [-].

    Examples
    --------
    >>> pipe = Leg("pipe", 1.0, 100.0)
    >>> print(round(float(lost_share([pipe, pipe], [100.0, 200.0], 1e4)), 6), round(1 - np.exp(-0.03), 6))
    0.029554 0.029554
    """
    lost: Any = 0.0
    for leg, g in zip(legs, each, strict=True):
        ntu = g / np.maximum(capacity, 1e-9)
        here = -np.expm1(-ntu) if leg.taps is None else header_lost(ntu)
        lost = lost + here - lost * here
    return lost


def stuff(legs: Sequence[Leg], whole: float, insulation: Insulation, steel: Steel, pressure: float) -> Stuff:
    """Steel, insulation and volume of all stages together, each reckoned at its mean diameter.

    Parameters
    ----------
    legs : sequence of Leg
        Stages, of one size each.
    whole : float
        Inner diameter of one pipe for the whole flow [m].
    insulation : Insulation
        Its thickness is used.
    steel : Steel
        For wall and weight.
    pressure : float
        Design gauge pressure [Pa].

    Returns
    -------
    Stuff

    Examples
    --------
    >>> made = stuff([Leg("pipe", 2.0, 50.0)], 0.4, Insulation(), Steel(), 1e6)
    >>> made.length, round(made.inside, 3), round(made.steel / 100)
    (100.0, 6.283, 21)
    """
    length = mass = wool = inside = 0.0
    for leg in legs:
        metres, d = float(np.squeeze(leg.count * leg.length)), float(np.squeeze(leg.mean_diameter(whole)))
        length += metres
        mass += metres * float(steel_mass(d, wall_thickness(pressure, d, steel), steel))
        wool += metres * float(insulation_volume(outer_diameter(d), insulation))
        inside += metres * pi / 4.0 * d**2
    return Stuff(length, mass, wool, inside)
