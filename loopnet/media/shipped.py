"""States that ship with the package: sweeps of CoolProp that every plant needs, so that it need not be loaded for them.

``python tests/ship_states.py`` makes the file anew; a test reads every state of it from CoolProp again."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import as_file, files
from typing import Any

import numpy as np

from loopnet.media.tables import Array

__all__ = ["FILE", "key_of", "note", "recorded"]

FILE = "coolprop.npz"
CLOSE = 1e-12
"""Largest relative difference of inputs that are taken for the same: logarithms differ by a last digit."""

_recorder: dict[str, tuple[Array, Array, Array]] | None = None  # a dict while the file is being made


def key_of(backend: str, fluid: str, pair: str, outputs: tuple[str, ...], phase: str, first: Array,
           second: Array) -> str:
    """Name of a sweep in the file: what was asked, how often, and of which inputs."""
    ends = ",".join(f"{x:.12g}" for x in (first[0], first[-1], first.sum(), second[0], second[-1], second.sum()))
    return f"{backend}:{fluid}:{pair}:{'+'.join(outputs)}:{phase}:{first.size}:{ends}"


@lru_cache(maxsize=1)
def _store() -> Any:
    """The file, or nothing where it is not there."""
    source = files("loopnet") / "data" / FILE
    if not source.is_file():
        return {}
    with as_file(source) as path, np.load(path) as data:
        return {name: data[name] for name in data.files}


def recorded(key: str, first: Array, second: Array) -> Array | None:
    """Outputs of a sweep that ships, shape (outputs, n); None where it does not, or for other inputs [SI]."""
    if _recorder is not None:
        return None
    found = _store().get(key)
    if found is None or found.shape[1] != first.size:
        return None
    for asked, known in ((first, found[0]), (second, found[1])):
        if not np.all(np.abs(asked - known) <= CLOSE * np.abs(known)):
            return None
    return found[2:]


def note(key: str, first: Array, second: Array, out: Array) -> None:
    """Keep a sweep while the file is being made."""
    if _recorder is not None:
        _recorder[key] = (first, second, out)
