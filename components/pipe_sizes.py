"""Pipes as they are sold: the next standard size up, and a header stepped through standard sizes as its flow adds."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from components.friction import pressure_drop
from loopnet.errors import ParameterError

__all__ = ["SteppedHeader", "sizes_of", "standard_pipe", "stepped_header"]

Array = NDArray[np.float64]
Floats = float | Array


@lru_cache(maxsize=16)
def sizes_of(schedule: str = "40") -> Array:
    """All sizes of a schedule: nominal size, inner and outer diameter, wall.

    Parameters
    ----------
    schedule : str
        Of steel pipe, as in ASME B36.10: "10", "STD", "40", "80", ...

    Returns
    -------
    array, shape (sizes, 4)
        Nominal size in inches [-], inner diameter, outer diameter, wall [m]; rising, not to be written to.

    Raises
    ------
    ParameterError
        If the schedule is unknown.

    Examples
    --------
    >>> sizes_of("40")[12].round(4).tolist()
    [4.0, 0.1023, 0.1143, 0.006]
    """
    from fluids import nearest_pipe  # a slow import, needed only here

    found: list[tuple[float, ...]] = []
    bore = 0.0
    while True:
        try:
            size = nearest_pipe(Di=bore, schedule=schedule)
        except ValueError as why:
            if found:
                break
            raise ParameterError("unknown schedule of pipe", where="sizes_of", got=repr(schedule),
                                 allowed="10, 20, STD, 40, 80, 160, ...", hint='"40"') from why
        found.append(size)
        bore = size[1] * (1.0 + 1e-9)
    table = np.array(found, dtype=float)
    table.flags.writeable = False
    return table


def standard_pipe(diameter: Floats, schedule: str = "40") -> tuple[Array, Array]:
    """Smallest standard pipe whose bore is at least a diameter.

    Parameters
    ----------
    diameter : float or array, shape (points,)
        Inner diameter asked for [m].
    schedule : str
        Of steel pipe, see `sizes_of`.

    Returns
    -------
    inner, wall : arrays, each of shape (points,)
        Bore and wall of the pipe [m].

    Raises
    ------
    ParameterError
        If no pipe of the schedule is so large.

    Examples
    --------
    >>> inner, wall = standard_pipe(np.array([0.05, 0.21]))
    >>> inner.round(4).tolist(), wall.round(4).tolist()
    ([0.0525, 0.2545], [0.0039, 0.0093])
    """
    table = sizes_of(schedule)
    asked = np.asarray(diameter, float)
    at = np.searchsorted(table[:, 1], asked * (1.0 - 1e-12))
    if np.any(at >= len(table)):
        raise ParameterError("no standard pipe is so large", where=f"standard_pipe (schedule {schedule})",
                             got=f"{np.max(asked):.3g} m", allowed=f"to {table[-1, 1]:.3g} m",
                             hint="several pipes side by side, or a thinner schedule")
    return table[at, 1], table[at, 3]


@dataclass(frozen=True)
class SteppedHeader:
    """A header in standard sizes, the smallest first: what to order, and what it does to the flow."""

    nominal: Array
    """Nominal sizes [inches, -]."""
    inner: Array
    """Bores [m]."""
    wall: Array
    """Walls [m]."""
    length: Array
    """Length of each size [m]."""
    shares: Array
    """Flow in the first and the last piece of each size over that at the large end, shape (sizes, 2) [-]."""

    def drop(self, flow: float, density: float, viscosity: float) -> float:
        """Friction pressure drop [Pa] at a flow [kg/s] at the large end, of a medium [kg/m3], [Pa s]."""
        pitch = self.shares[0, 0]  # of the flow, from piece to piece
        pieces = np.diff(self.shares, axis=1) / pitch + 1.0
        middle = self.shares.mean(axis=1, keepdims=True)
        apart = np.sqrt(np.maximum(pieces**2 - 1.0, 0.0) / 12.0) * pitch  # the two-point rule of Gauss, for a sum
        share = middle + apart * np.array([-1.0, 1.0])
        return float(np.sum(pressure_drop(flow * share, density, viscosity, self.inner[:, None],
                                          self.length[:, None] / 2.0)))

    def velocity(self, flow: float, density: float) -> Array:
        """Velocity [m/s] in the first and last piece of each size at a flow [kg/s] of a density [kg/m3]; (sizes, 2)."""
        return np.asarray(flow * self.shares / (density * pi / 4.0 * self.inner[:, None] ** 2))

    def to_frame(self) -> Any:
        """One row for each size: nominal, inner, wall, length, in inches, mm, mm and m."""
        import pandas as pd

        return pd.DataFrame({"size [in]": self.nominal, "bore [mm]": self.inner * 1e3, "wall [mm]": self.wall * 1e3,
                             "length [m]": self.length})


def stepped_header(flow: float, density: float, velocity: float, length: float, taps: float,
                   schedule: str = "40") -> SteppedHeader:
    """Step a header through standard sizes, so that no piece is faster than a velocity.

    Parameters
    ----------
    flow : float
        Mass flow at the large end [kg/s].
    density : float
        Of the medium [kg/m3].
    velocity : float
        Highest velocity [m/s].
    length : float
        Of the header [m].
    taps : float
        Equal branches, which stand at equal distances [-].
    schedule : str
        Of steel pipe, see `sizes_of`.

    Returns
    -------
    SteppedHeader

    Raises
    ------
    ParameterError
        If no pipe of the schedule carries the flow.

    Notes
    -----
    Each size takes the pieces whose flow it carries and the size below does not: counted, not looped, so that a header
    of a million branches is as quick as one of ten.

    Examples
    --------
    >>> header = stepped_header(100.0, 770.0, 2.2, 500.0, 40)
    >>> header.nominal[-4:].tolist(), header.length[-4:].tolist(), round(header.drop(100.0, 770.0, 2e-4) / 1e3)
    ([6.0, 8.0, 10.0, 12.0], [50.0, 112.5, 162.5, 75.0], 59)
    """
    standard_pipe(np.sqrt(4.0 * flow / (density * velocity * pi)), schedule)  # refuses what is too large
    table = sizes_of(schedule)
    most = density * velocity * pi / 4.0 * table[:, 1] ** 2 / flow  # share of the flow that a size carries
    last = np.floor(np.minimum(most, 1.0) * taps * (1.0 + 1e-12))
    first = np.concatenate([[0.0], last[:-1]])
    used = last > first
    ends = np.stack([first[used] + 1.0, last[used]], axis=1) / taps
    return SteppedHeader(table[used, 0], table[used, 1], table[used, 3], (last - first)[used] * length / taps, ends)
