"""Who is who: a hash of what a result depends on, the same on every machine and in every process."""

from __future__ import annotations

import hashlib
import json
import sys
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

__all__ = ["fingerprint", "model_fingerprint"]

LENGTH = 12
"""Hexadecimal digits that are kept: a chance of one in a million of two alike among 20 million."""
PHYSICS = ("loopnet/media", "loopnet/plant", "loopnet/solve", "loopnet/site", "loopnet/year", "loopnet/params.py",
           "loopnet/units.py", "loopnet/study/supply.py", "loopnet/explore/figures.py", "components", "architectures")
"""Files and folders that a figure depends on, prices and finance apart."""


def fingerprint(*things: Any) -> str:
    """A short hash of values, mappings, arrays and frozen dataclasses, by what they hold.

    >>> fingerprint(1.0, {"b": 2, "a": [np.arange(3)]}) == fingerprint(1.0, {"a": [np.arange(3)], "b": 2})
    True
    >>> fingerprint(1.0) == fingerprint(1.0000000001)
    False
    """
    text = json.dumps([_plain(thing) for thing in things], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:LENGTH]


def _plain(thing: Any) -> Any:
    if thing is None or isinstance(thing, (bool, int, str)):
        return thing
    if isinstance(thing, (float, np.number)):
        return repr(float(thing))
    if isinstance(thing, np.ndarray):
        data = np.ascontiguousarray(thing)
        return [str(data.dtype), list(data.shape), hashlib.sha256(data.tobytes()).hexdigest()]
    if isinstance(thing, Mapping):
        return {"mapping": sorted(([_plain(k), _plain(v)] for k, v in thing.items()), key=str)}
    if isinstance(thing, (list, tuple)):
        return [_plain(item) for item in thing]
    if isinstance(thing, (set, frozenset)):
        return sorted((_plain(item) for item in thing), key=str)
    kind = f"{type(thing).__module__}.{type(thing).__qualname__}"
    if is_dataclass(thing) and not isinstance(thing, type):
        return [kind, {item.name: _plain(getattr(thing, item.name)) for item in fields(thing)}]
    if isinstance(thing, type) or callable(thing):
        return f"{getattr(thing, '__module__', '')}.{getattr(thing, '__qualname__', repr(thing))}"
    held = getattr(thing, "__dict__", None)
    return [kind, _plain(held)] if held else [kind, repr(thing)]


@lru_cache(maxsize=8)
def model_fingerprint(*modules: str) -> str:
    """Version of loopnet and a hash of the source that physics depend on: with another, results are made anew.

    Parameters
    ----------
    *modules : str
        Names of more modules that results depend on, such as that of a grammar of one's own.

    Returns
    -------
    str
        Such as ``"0.1.0+6b1f0c2a9d3e"``.
    """
    digest = hashlib.sha256()
    for path in _sources(modules):
        digest.update(path.name.encode())
        digest.update(path.read_bytes())
    try:
        number = version("loopnet")
    except PackageNotFoundError:
        number = "source"
    return f"{number}+{digest.hexdigest()[:LENGTH]}"


def _sources(modules: tuple[str, ...]) -> list[Path]:
    found: list[Path] = []
    for place in PHYSICS:
        package, *rest = place.split("/")
        spec = find_spec(package)
        for root in (spec.submodule_search_locations or []) if spec else []:
            path = Path(root).joinpath(*rest)
            found += [path] if path.is_file() else sorted(p for p in path.rglob("*") if p.suffix in (".py", ".toml"))
    files = (getattr(sys.modules.get(name), "__file__", None) for name in modules)
    return found + [Path(file) for file in files if file and Path(file) not in found]
