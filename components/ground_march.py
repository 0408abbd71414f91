"""The march of a seasonal store: when its ground gives and takes, how fast its pipes let it, and year upon year."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import exp
from typing import Any, NamedTuple

import numpy as np
from scipy.optimize import brentq

from components.ground_body import GroundBody
from components.packed_bed import BedMarch

__all__ = ["GroundMarch", "Season", "seasons"]


@dataclass(frozen=True)
class GroundMarch(BedMarch):
    """A `GroundBody` between two nodes, as a bed is: at the centre hot streams meet, at the edge cold ones."""

    bed: GroundBody  # type: ignore[assignment]
    initial: np.ndarray = field(default_factory=lambda: np.zeros(0), compare=False)

    def start(self) -> np.ndarray:
        """The state that was asked for: undisturbed ground, or ground that has been warm for years."""
        return self.initial

    def outlets(self, state: np.ndarray) -> tuple[float, float]:
        """Specific enthalpy of a stream at the temperature of the centre and of the edge [J/kg]."""
        warm, last = self.bed.temperatures(state), self.bed.shells - 1
        ends = np.interp((float(warm[0]), float(warm[last])), *self.bed._curve)
        return float(ends[0]), float(ends[1])

    def places(self) -> np.ndarray:
        """Distance from the centre of each shell of body and ground [m], shape (shells,)."""
        return 0.5 * (self.bed.faces[1:] + self.bed.faces[:-1])

    def _useful(self, state: np.ndarray) -> tuple[float, float]:
        """Heat of the body above the cold temperature while its centre is warm enough, and what it can take while its
        edge is cold enough [J]."""
        if self._known[0] is not state:
            body = self.bed.shells
            warm, capacity = self.bed.temperatures(state)[:body], self.bed.heat_capacity[:body]
            gives = warm[0] >= self.hot_least
            takes = warm[-1] <= self.cold_most
            self._known[:] = [state, float(np.sum(capacity * np.maximum(warm - self.cold0, 0.0))) if gives else 0.0,
                              float(np.sum(capacity * np.maximum(self.hot0 - warm, 0.0))) if takes else 0.0]
        return self._known[1], self._known[2]

    def shares(self, state: np.ndarray, charge: float, discharge: float, dt: float) -> tuple[float, float]:
        """Shares of the step for which the flows can run: as for any bed, and no faster than pipes pass the heat, so
        that what leaves is hot enough (or cold enough) to be of use."""
        if discharge < 0.0 or charge < 0.0:  # a path that was asked to work beyond its range
            return (1.0 if charge > 0.0 else 0.0), (1.0 if discharge > 0.0 else 0.0)
        taken, drawn = super().shares(state, charge, discharge, dt)
        net = taken * charge - drawn * discharge
        if net == 0.0:
            return taken, drawn
        most = self._passes(self.bed.temperatures(state)[:self.bed.shells], net)
        if most >= abs(net):
            return taken, drawn
        if net > 0.0:
            return (drawn * discharge + most) / charge, drawn
        return taken, (taken * charge + most) / discharge

    def _passes(self, warm: np.ndarray, net: float) -> float:
        """Largest flow [kg/s] in the direction of `net` whose outlet stays within the cut-off, at most `net`."""
        cp = self.span / (self.hot0 - self.cold0)
        enters, limit, along = ((self.hot0, self.cold_most, warm) if net > 0.0 else
                                (self.cold0, self.hot_least, warm[::-1]))
        shells = along.tolist()

        def beyond(m: float) -> float:
            kept, stream = exp(-self.bed.ua / len(shells) / (m * cp)), enters
            for solid in shells:
                stream = solid + kept * (stream - solid)
            return stream - limit if net > 0.0 else limit - stream

        most = abs(net)
        if beyond(most) <= 0.0:
            return most
        least = most
        for _ in range(16):  # a slower stream comes closer to the ground, in the end to where it leaves
            least /= 2.0
            if beyond(least) <= 0.0:
                return float(brentq(beyond, least, 2.0 * least, rtol=1e-12))
        return 0.0

    def settle(self, state: np.ndarray, joule: float) -> np.ndarray:
        """Give a little energy [J] to all shells of the body alike."""
        out, body = state.copy(), self.bed.shells
        out[:body] += joule / body
        return out


class Season(NamedTuple):
    """One year of a seasonal store [J]."""

    brought: float
    given: float
    lost: float
    kept: float

    @property
    def efficiency(self) -> float:
        """Heat given over heat brought [-]."""
        return self.given / self.brought


def seasons(march: Any, plan: Sequence[tuple[float, ...]], dt: float, years: int) -> list[Season]:
    """Repeat a year of given flows, so that the first year can be told from settled ones.

    Parameters
    ----------
    march : GroundMarch
        The store, from its own start.
    plan : sequence of tuple of float
        For each step: charging flow [kg/s] and its enthalpy [J/kg], discharging flow [kg/s] and its enthalpy [J/kg],
        ambient [K]. Flows run for the share of the step that the store allows.
    dt : float
        Length of a step [s].
    years : int
        How often the plan is walked.

    Returns
    -------
    list of Season
        One for each year.
    """
    state, out = march.start(), []
    for _ in range(years):
        brought = given = lost = 0.0
        before = march.energy(state)
        for m_in, h_hot, m_out, h_cold, ambient in plan:
            taken, drawn = march.shares(state, m_in, m_out, dt)
            step = march.step(state, (taken * m_in, h_hot), (drawn * m_out, h_cold), ambient, dt)
            brought += taken * m_in * (h_hot - step.cold) * dt if m_in else 0.0
            given += drawn * m_out * (step.hot - h_cold) * dt if m_out else 0.0
            lost += step.lost
            state = step.state
        out.append(Season(brought, given, lost, march.energy(state) - before))
    return out
