"""Temperatures along a store, step by step: what one sees of a front that moves through a bed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

__all__ = ["Profiles", "Recorder"]


@dataclass(frozen=True)
class Profiles:
    """Temperatures along a store at the end of each step.

    Attributes
    ----------
    places : array, shape (places,)
        Distance from the end at which heat comes in [m].
    kelvin : array, shape (steps, places)
        Temperature [K].
    """

    places: np.ndarray
    kelvin: np.ndarray


class Recorder:
    """Looks at the store of a march after each step; a store without a profile is not looked at.

    Parameters
    ----------
    model : StoreMarch
        With `profile(state)` [K] and `places()` [m], or without.
    steps : int
        Length of the march [-].
    """

    def __init__(self, model: Any, steps: int) -> None:
        self._profile = getattr(model, "profile", None)
        self.look: Callable[[int, Any], None] | None = None
        self.profiles: Profiles | None = None
        if self._profile is None:
            return
        places = np.asarray(model.places(), dtype=float)
        self.profiles = Profiles(places, np.zeros((steps, len(places)), dtype=np.float32))
        self.look = self._look

    def _look(self, step: int, state: Any) -> None:
        if self.profiles is not None and self._profile is not None:
            self.profiles.kelvin[step] = self._profile(state)
