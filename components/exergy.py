"""Exergy of stored heat: the work that it could give to a perfect machine, and the share of it that a store keeps."""

from __future__ import annotations

from typing import Any

import numpy as np

__all__ = ["bed_exergy", "constant_capacity_exergy", "exergy_kept"]


def constant_capacity_exergy(capacity: Any, temperature: Any, ambient: float) -> Any:
    """Exergy of bodies of constant heat capacity: X = C (T - T0 - T0 ln(T / T0)).

    Parameters
    ----------
    capacity, temperature : float or array, shape (cells,)
        Heat capacity [J/K] and temperature [K] of each body.
    ambient : float
        Temperature of the surroundings [K].

    Returns
    -------
    float or array, shape (cells,)
        Exergy of each [J], nowhere negative.

    Examples
    --------
    >>> round(constant_capacity_exergy(1000.0, 600.0, 300.0))
    92056
    """
    return capacity * (temperature - ambient - ambient * np.log(np.asarray(temperature) / ambient))


def bed_exergy(bed: Any, state: np.ndarray, ambient: float) -> float:
    """Exergy of a marched bed: the integral of (1 - T0 / T) de over each cell's own curve, from ambient.

    Parameters
    ----------
    bed : Bed
        Whose curve of temperature over energy is read.
    state : array, shape (cells,)
        Enthalpy of each cell [J].
    ambient : float
        Temperature of the surroundings [K].

    Returns
    -------
    float
        Exergy of all cells [J], not negative.

    Examples
    --------
    >>> from components.bed_march import Bed
    >>> from loopnet.media import medium
    >>> bed = Bed(solid=medium("crushed rock"), gas=medium("air"), length=6.0, area=10.0)
    >>> heat = bed.energy(bed.uniform(800.0)) - bed.energy(bed.uniform(300.0))
    >>> round(bed_exergy(bed, bed.uniform(800.0), 300.0) / heat, 3)
    0.425
    """
    energy, temperature = bed._curve[:2]
    worth = 1 - ambient / temperature
    total = np.concatenate([[0.0], np.cumsum((worth[1:] + worth[:-1]) / 2 * np.diff(energy))])
    dead = np.interp(np.interp(ambient, temperature, energy), energy, total)
    return float(np.sum(np.interp(state, energy, total) - dead))


def exergy_kept(given: Any, brought: Any, ambient: float) -> float:
    """Exergy that came out over exergy that went in, of streams cooled or warmed along straight lines.

    A stream between T1 and T2 carries heat Q with exergy Q (1 - T0 / Tm), Tm = (T1 - T2) / ln(T1 / T2).

    Parameters
    ----------
    given, brought : sequence of (float, float, float)
        What left and what entered: heat [J], hot and cold temperature [K] of each stretch.
    ambient : float
        Temperature of the surroundings [K].

    Returns
    -------
    float
        Share kept [-].

    Examples
    --------
    All heat comes back, 20 K colder:

    >>> round(exergy_kept([(1e9, 630.0, 550.0)], [(1e9, 650.0, 570.0)], 300.0), 3)
    0.967
    """
    def worth(stretches: Any) -> float:
        total = 0.0
        for heat, hot, cold in stretches:
            mean = hot if abs(hot - cold) < 1e-9 * hot else (hot - cold) / np.log(hot / cold)
            total += heat * (1 - ambient / mean)
        return float(total)

    return worth(given) / worth(brought)
