"""What is uncertain beside prices: numbers with a range and a reason, found in a plant by what it is made of."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.resources import files
from typing import Any

from loopnet.errors import ParameterError
from loopnet.solve import size
from loopnet.study.case import Case
from loopnet.study.knob import Knob, knob

__all__ = ["Uncertain", "price_ranges", "uncertainties"]


@dataclass(frozen=True, kw_only=True)
class Uncertain:
    """A number of one plant that is not known for sure.

    Parameters
    ----------
    name : str
        What it is; numbers of the same name, in whichever plant, get one common draw.
    path : str
        Where it is in this plant; see `knob`.
    unit : str
        Its unit.
    low, likely, high : float
        Range and best guess [`unit`].
    status, source : str
        How that is known, and from where.
    note : str
        Anything to be told, such as an end cut off at the allowed range.
    """

    name: str
    path: str
    unit: str
    low: float
    likely: float
    high: float
    status: str = "user"
    source: str = "user"
    note: str = ""

    def __post_init__(self) -> None:
        if not self.low <= self.likely <= self.high:
            raise ParameterError("the best guess does not lie within the range", where=f"uncertain {self.name}",
                                 got=f"{self.likely:g}", allowed=f"{self.low:g} to {self.high:g}",
                                 hint="low <= likely <= high")

    @property
    def certain(self) -> bool:
        """Whether the range is a point."""
        return self.low == self.high

    def to_dict(self) -> dict[str, Any]:
        """Plain dict."""
        return {"name": self.name, "path": self.path, "unit": self.unit, "low": self.low, "likely": self.likely,
                "high": self.high, "status": self.status, "source": self.source, "note": self.note}

    def __repr__(self) -> str:
        return f"<Uncertain {self.name}: {self.likely:.4g} ({self.low:.4g} to {self.high:.4g}) {self.unit}>"


@lru_cache(maxsize=1)
def _shipped() -> dict[str, dict[str, Any]]:
    return tomllib.loads((files("loopnet") / "data" / "uncertain.toml").read_text(encoding="utf-8"))


def uncertainties(case: Case, *, only: tuple[str, ...] | None = None) -> tuple[Uncertain, ...]:
    """Physical and financial numbers of a plant that are uncertain, as the shipped list says.

    Parameters
    ----------
    case : Case
    only : tuple of str, optional
        Entries of the list to take: sun, optics, dust, receiver, tube, cycle, rate.

    Returns
    -------
    tuple of Uncertain
        Those that this plant has.

    Raises
    ------
    ParameterError
        If the list has no such entry.

    Examples
    --------
    >>> from loopnet.plants import find_plant
    >>> from loopnet.site import tamarisk_basin
    >>> case = Case(plant=find_plant("sand_silo"), weather=tamarisk_basin())
    >>> [u.name for u in uncertainties(case, only=("optics", "rate"))]
    ['intercept of the mirrors (point)', 'discount rate']
    """
    table = _shipped()
    unknown = sorted(set(only or ()) - set(table))
    if unknown:
        raise ParameterError("not in the list of what is uncertain", where="uncertainties.only",
                             got=", ".join(unknown), allowed=", ".join(table), hint="an entry of the list")
    found: list[Uncertain] = []
    for word, entry in table.items():
        if only is None or word in only:
            found += _of_entry(case, entry)
    return tuple(u for u in found if not u.certain)


def _of_entry(case: Case, entry: Mapping[str, Any]) -> Iterator[Uncertain]:
    places = ([(entry["path"], None)] if "family" not in entry else
              [(f"{name}.{entry['path']}", case.plant.components[name]) for name in case.plant.of_family(
                  entry["family"])])
    for path, component in places:
        try:
            number = knob(case, path)
        except ParameterError:  # this plant has no such number
            continue
        if number.now is None:  # what is not given may follow from the size of the plant
            sized = case.operated[0] if "operated" in case.__dict__ else size(case.plant)
            if (found := sized.values.get(path)) is None:
                continue
            number = replace(number, now=float(found))
        kind: Any = component
        for step in entry.get("alike", "").split(".") if "alike" in entry else ():
            kind = getattr(kind, step, "")
        name = f"{entry['title']} ({kind})" if "alike" in entry else entry["title"]
        yield _bounded(name, number, entry)


def _bounded(name: str, number: Knob, entry: Mapping[str, Any]) -> Uncertain:
    now = number.now or 0.0
    low, high = (entry[end] * (now if entry["relative"] else 1.0) for end in ("low", "high"))
    kept = max(low, number.low), min(high, number.high)
    note = "" if kept == (low, high) else (
        f"{name}: range {number.show(low)} to {number.show(high)} cut to the allowed {number.show(kept[0])} to "
        f"{number.show(kept[1])}")
    return Uncertain(name=name, path=number.path, unit=number.unit, low=min(kept[0], now), likely=now,
                     high=max(kept[1], now), status=entry["status"], source=entry["source"], note=note)


def price_ranges(case: Case) -> tuple[Uncertain, ...]:
    """Prices in a plant's bill and operation that have a range, each once, by the price book."""
    used = {line.price.key: case.book[line.price.key]
            for line in (*case.assessment.bill, *case.assessment.cost.operation_lines)}
    return tuple(Uncertain(name=key, path=key, unit=p.unit, low=p.low, likely=p.value, high=p.high, status=p.status,
                           source=p.source) for key, p in used.items() if p.low < p.high)
