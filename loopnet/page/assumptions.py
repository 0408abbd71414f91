"""Every number that a plant is made of, with what is known of it: read from the parameters themselves.
A number of the catalogue brings its source from there, if the catalogue is at hand."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import MISSING, dataclass, fields, is_dataclass
from functools import lru_cache
from importlib import import_module
from math import inf, isfinite
from typing import Any

from loopnet.errors import LoopnetError
from loopnet.params import Parameters
from loopnet.plant import Plant
from loopnet.units import show, to_si

__all__ = ["SET", "Assumption", "amount", "assumptions", "known_as", "of_parameters"]

SET = "chosen"
"""Known as: by whoever drew the plant or asked the question."""
_KNOWN = (("assum", "assumption"), ("common practice", "common practice"), ("memory", "from memory"),
          ("second-hand", "second-hand"), ("seen", "seen"), ("invented", "invented"), ("user", SET))
"""Words of a source, and what they say of it; the first that is met counts."""


@dataclass(frozen=True, kw_only=True)
class Assumption:
    """One number or choice.

    Parameters
    ----------
    where : str
        What it belongs to: a component, or a part of one.
    name : str
        Its name in the plant file.
    value : str
        Its value in the unit people use.
    allowed : str
        Range that is accepted.
    status, source : str
        How it is known, and from where.
    meaning : str
        What it is.
    """

    where: str
    name: str
    value: str
    allowed: str
    status: str
    source: str
    meaning: str


def known_as(source: str) -> str:
    """How well something is known, by the words of its source.

    >>> known_as("common practice, no source"), known_as("NREL/TP-550-45633 (2009), memory"), known_as("user")
    ('common practice', 'from memory', 'chosen')
    >>> known_as("start value for the solver only")
    'stated'
    """
    return next((status for word, status in _KNOWN if word in source.lower()), "stated")


def amount(value: Any, unit: str, low: float = -inf) -> str:
    """A value in the unit people use; `low` is the low end of its range, which tells differences of temperature.

    >>> amount(668.15, "K", 300.0), amount(10.0, "K", 0.5), amount(0.07, "1/year"), amount(14.0, "m^2")
    ('395 °C', '10 K', '7 % a year', '14 m²')
    >>> amount(None, "m"), amount(True, ""), amount("store heat", "")
    ('not set', 'yes', 'store heat')
    >>> amount(25.0, "year"), amount(1.0, "day")
    ('25 years', '1 day')
    """
    if value is None:
        return "not set"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (tuple, list)):
        return ", ".join(amount(part, unit, low) for part in value) or "none"
    if not isinstance(value, (int, float)):
        return str(value) or "none"
    if unit in ("1/year", "1/day"):
        return f"{100 * value:.4g} % a {unit[2:]}"
    if unit == "rad":
        return f"{57.29577951308232 * value:.4g}°"
    if unit in ("year", "day"):
        return f"{value:g} {unit}{'s' * (value != 1)}"
    text = show(float(value), "K difference" if unit == "K" and low < 150.0 else unit)
    number, _, word = text.partition(" ")
    return f"{number} {_pretty(word)}".strip()


def _pretty(unit: str) -> str:
    """A unit as it is printed.

    >>> _pretty("W/m**2/K"), _pretty("degC"), _pretty("kg/m^3")
    ('W/m²/K', '°C', 'kg/m³')
    """
    unit = unit.replace("degC", "°C").replace("USD/W/year", "USD/W a year").replace("**", "^")
    return re.sub(r"\^(-?\d)", lambda power: power[1].translate(str.maketrans("-1234", "⁻¹²³⁴")),
                  unit).replace("*", " ")


def assumptions(plant: Plant) -> tuple[Assumption, ...]:
    """Design point, media and components of a plant; a part that is met twice is told once.

    Parameters
    ----------
    plant : Plant

    Returns
    -------
    tuple of Assumption

    Examples
    --------
    >>> from loopnet.plants import find_plant
    >>> found = assumptions(find_plant("sand_silo"))
    >>> next(a.value for a in found if (a.where, a.name) == ("design point", "store_hours"))
    '18 h'
    """
    found = list(of_parameters(plant.design, "design point"))
    for loop in plant.loops.values():
        limits, where = loop.medium.limits, f"loop {loop.name}"
        found.append(Assumption(where=where, name="medium", value=loop.medium.name, allowed="", status=SET, source=SET,
                                meaning=f"what flows; pressure level {show(loop.pressure, 'Pa')}"))
        for name in ("freezing", "low", "bulk", "film"):
            if (limit := getattr(limits, name)) is not None:
                source = limits.sources.get(name, "not named")
                found.append(Assumption(where=where, name=f"{name} limit", value=amount(limit, "K", 200.0), allowed="",
                                        status=known_as(source), source=source, meaning=_LIMITS[name]))
    told: dict[Any, str] = {}
    for name, component in plant.components.items():
        found += _part(component, name, told)
    return tuple(found)


_LIMITS = {"freezing": "where it solidifies", "low": "lowest allowed", "bulk": "highest allowed in the stream",
           "film": "highest allowed at a heated wall"}


def of_parameters(part: Parameters, where: str) -> Iterator[Assumption]:
    """The numbers of one set of parameters, those of its parts not counted."""
    catalogue = _catalogue(part)
    for item in fields(part):
        value, meta = getattr(part, item.name), item.metadata
        if is_dataclass(value) or (not meta and value in ("", None, ())):
            continue
        unit = meta.get("unit", "")
        low, high = meta.get("low", -inf), meta.get("high", inf)
        ends = _range(low, high, unit)
        status, source = catalogue.get(item.name) or _told(value, item, unit)
        yield Assumption(where=where, name=item.name, value=amount(value, unit, low), status=status,
                         source=source.replace("`", ""),
                         allowed=ends if meta else "", meaning=meta.get("doc", "").replace("`", ""))


def _part(part: Any, where: str, told: dict[Any, str]) -> Iterator[Assumption]:
    key = (type(part).__name__, repr(part))
    if key in told:
        yield Assumption(where=where, name="all", value=f"as {told[key]}", allowed="", status="", source="",
                         meaning=f"the same {_words(type(part).__name__)} as there")
        return
    told[key] = where
    yield from of_parameters(part, where)
    for item in fields(part):
        if is_dataclass(getattr(part, item.name)):
            yield from _part(getattr(part, item.name), f"{where}.{item.name}", told)


def _range(low: float, high: float, unit: str) -> str:
    """Both ends of a range, the unit once.

    >>> _range(0.0, 400.0, "m"), _range(300.0, 1600.0, "K"), _range(0.1, float("inf"), "-")
    ('0 to 400 m', '26.85 to 1327 °C', '0.1 to any')
    """
    ends = [amount(end, unit, low) if isfinite(end) else "any" for end in (low, high)]
    if set(ends) == {"any"}:
        return ""
    first, second = (end.partition(" ") for end in ends)
    return f"{first[0]} to {ends[1]}" if first[2].rstrip("s") == second[2].rstrip("s") else " to ".join(ends)


def _words(name: str) -> str:
    return re.sub(r"(?<!^)(?=[A-Z])", " ", name).lower()


def _told(value: Any, item: Any, unit: str) -> tuple[str, str]:
    """Status and source of a number that no catalogue holds."""
    source = str(item.metadata.get("source", "user"))
    status = known_as(source)
    if item.default is MISSING or status == SET:
        return (SET, SET) if value is not None else ("", "")
    try:
        usual = item.default if isinstance(value, (bool, str)) or item.default is None else to_si(item.default, unit)
    except LoopnetError:
        usual = item.default
    if value == usual:
        return status, source
    return SET, f"{SET}; if left out {amount(usual, unit, item.metadata.get('low', -inf))} ({source})"


# -- figures of the catalogue ------------------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def _entries() -> tuple[Any, ...]:
    try:  # found at run time, as plants are
        catalogue = import_module("components.catalogue")
    except ImportError:
        return ()
    return (*(catalogue.entry("collector", name) for name in catalogue.collectors()),
            *(catalogue.entry("receiver", name) for name in catalogue.receivers()))


def _catalogue(part: Any) -> dict[str, tuple[str, str]]:
    """Status and source by field, from the entry of the catalogue that the part is a copy of."""
    best: tuple[int, dict[str, tuple[str, str]]] = (0, {})
    for entry in _entries():
        pairs = [("", entry.made), *((item.name, getattr(entry.made, item.name)) for item in fields(entry.made))]
        for inside, made in pairs:
            if type(made) is not type(part):
                continue
            start = f"{inside}." if inside else ""
            named = {f.name.removeprefix(start): f for f in entry.figures if f.name.startswith(start)}
            same = {name: (f.status, f"{f.source} (catalogue: {entry.name})") for name, f in named.items()
                    if "." not in name and getattr(made, name, None) == getattr(part, name, MISSING)}
            if len(same) > best[0] and 2 * len(same) > sum("." not in name for name in named):
                best = len(same), same
    return best[1]
