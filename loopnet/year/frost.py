"""Freeze protection: what keeps field and pipes above the freezing point of their medium while nothing flows."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from loopnet.solve import Sized
from loopnet.solve.view import Frame

__all__ = ["frost_heat", "pauses"]


def pauses(runs: np.ndarray, dt: float) -> np.ndarray:
    """How long nothing has flowed at the start of each step.

    Parameters
    ----------
    runs : array of bool, shape (steps,)
        Steps in which the medium flows.
    dt : float
        Length of a step [s].

    Returns
    -------
    array, shape (steps,)
        Time since the end of the last step with flow [s]; infinite before the first.

    Examples
    --------
    >>> pauses(np.array([False, True, False, False]), 3600.0)
    array([  inf,    0.,    0., 3600.])
    """
    steps = np.arange(len(runs))
    last = np.maximum.accumulate(np.where(runs, steps, -1))
    return np.where(runs, 0.0, np.where(last < 0, np.inf, (steps - last - 1) * dt))


def frost_heat(sized: Sized, rated: Frame, components: Iterable[str], runs: np.ndarray, dt: float,
               margin: float) -> np.ndarray:
    """Heat that holds some components above freezing.

    A component cools from its working temperature with its own time constant; from when it has reached the freezing
    point and the margin, its loss at that temperature is made good.

    Parameters
    ----------
    sized : Sized
    rated : Frame
        The sized plant under the weather of all steps.
    components : names
        Those that have `warm_up` and `hold`, and a medium that freezes, count.
    runs : array of bool, shape (steps,)
        Steps in which the medium flows.
    dt : float
        Length of a step [s].
    margin : float
        Distance from the freezing point [K].

    Returns
    -------
    array, shape (steps,)
        Heat [W].
    """
    total, pause, ambient = np.zeros(len(runs)), pauses(runs, dt), rated.condition("ambient")
    for name in components:
        component, v = sized.plant.components[name], sized.view(name)
        freezing = v.main.medium.limits.freezing if hasattr(component, "hold") else None
        if freezing is None:
            continue
        held = freezing + margin
        _, time, working = component.warm_up(v)  # type: ignore[attr-defined]
        cold = ambient < held
        with np.errstate(invalid="ignore", divide="ignore"):
            reached = time * np.log(np.maximum(working - ambient, 1e-9) / np.where(cold, held - ambient, np.nan))
        loss = np.maximum(component.hold(rated.view(name), held), 0.0)  # type: ignore[attr-defined]
        total += np.where(~runs & cold & (pause >= reached), loss, 0.0)
    return total
