"""Heat of starts: what warms a circuit after a pause, and what starts a turbine."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import expm1

import numpy as np

from loopnet.solve import Sized

__all__ = ["start_heat", "warming"]


def warming(sized: Sized, components: Iterable[str], margin: float) -> Callable[[float, float], float]:
    """Heat [J] that warms some components after a pause [s] at an ambient temperature [K].

    Parameters
    ----------
    sized : Sized
    components : names
        Those that have a `warm_up` count.
    margin : float
        Distance from the freezing point of the medium at which a component is held [K].

    Returns
    -------
    callable
        (pause [s], ambient [K]) -> heat [J].
    """
    known = {name: sized.plant.components[name] for name in components}
    pieces = []
    for name, component in known.items():
        if hasattr(component, "warm_up"):
            v = sized.view(name)
            freezing = v.main.medium.limits.freezing
            held = 0.0 if freezing is None or not hasattr(component, "hold") else freezing + margin
            pieces.append((*component.warm_up(v), held))

    def heat(pause: float, ambient: float) -> float:
        return sum(content * min(-expm1(-pause / max(time, 1.0)), (working - max(held, ambient)) / (working - ambient))
                   for content, time, working, held in pieces)

    return heat


def start_heat(sized: Sized, cycle: str) -> float:
    """Heat of one start of a turbine or user [J]: its time of a start at the design heat input.

    Parameters
    ----------
    sized : Sized
    cycle : str
        Name of the turbine or user.

    Returns
    -------
    float
        Heat [J].
    """
    component, v = sized.plant.components[cycle], sized.view(cycle)
    taken = -sum(float(np.squeeze(getattr(v, side).heat)) for side in type(component).sides)
    return getattr(component, "start_hours", 0.0) * taken
