"""A knob: one number that a cost depends on, found by its path, with its unit, its value now and its allowed range.

Paths: a price key (``collector.drive``), the life of a price (``collector.drive.life``), ``finance.rate``, a design
value (``store_hours`` or ``design.store_hours``), a component's parameter (``field.outlet``,
``field.collector.soiling.rate``), ``weather.sun`` (factor on the direct sun), ``mirrors`` (all collector prices
together, for each square metre of aperture).
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, fields, is_dataclass, replace
from difflib import get_close_matches
from math import inf
from typing import Any

from loopnet.errors import ParameterError
from loopnet.study.case import Case
from loopnet.units import Quantity, show, to_si

__all__ = ["Knob", "knob"]

COMMON = ("price", "price life", "finance", "weather")
"""Kinds that are the same for every plant of a comparison; the others belong to one plant."""
MIRRORS = "collector."
"""Price keys of what concentrates and tracks."""


@dataclass(frozen=True, kw_only=True)
class Knob:
    """One number of a case.

    Parameters
    ----------
    path : str
        Where it is.
    kind : str
        ``"price"``, ``"price life"``, ``"finance"``, ``"design"``, ``"component"``, ``"weather"`` or ``"mirrors"``.
    unit : str
        Its unit: that of the price book for a price, SI else.
    now : float or None
        Its value [`unit`]; None where the plant leaves it to be sized.
    low, high : float
        Allowed range [`unit`].
    whole : bool
        Whether only whole numbers are allowed.
    base : str
        Key of the price, or name of the component.
    """

    path: str
    kind: str
    unit: str
    now: float | None
    low: float = -inf
    high: float = inf
    whole: bool = False
    base: str = ""

    @property
    def common(self) -> bool:
        """Whether it is the same for every plant of a comparison."""
        return self.kind in COMMON

    @property
    def physical(self) -> bool:
        """Whether sizing and year change with it."""
        return self.kind in ("design", "component", "weather")

    def read(self, value: Quantity) -> float:
        """A value as a user writes it, as a number [`unit`]."""
        if self.kind in ("price", "price life", "mirrors") and isinstance(value, str):
            number, _, unit = value.strip().partition(" ")
            if unit.replace("^", "") in ("", self.unit):
                return float(to_si(number, ""))
        return to_si(value, self.unit if self.kind not in ("price", "price life") else "")

    def show(self, value: float) -> str:
        """The value in the unit people use."""
        if self.unit == "1/year":
            return f"{100 * value:.5g} % a year"
        return show(value, "K difference" if self.unit == "K" and self.low < 150.0 else self.unit, 5)

    def turn(self, case: Case, value: float) -> Case:
        """A copy of a case in which this number has another value.

        Raises
        ------
        LoopnetError
            Where the value is out of range or does not go with the rest of the plant.
        """
        if self.kind == "price":
            return case.with_prices({self.base: value})
        if self.kind == "price life":
            old = case.book[self.base]
            return case.with_money(book=replace(case.book, prices={**case.book.prices,
                                                                   self.base: replace(old, life=value)}))
        if self.kind == "mirrors":
            used = {line.price.key: line.price.value for line in _mirror_lines(case)}
            factor = value / (self.now or 1.0)
            return case.with_prices({key: price * factor for key, price in used.items()})
        if self.kind == "finance":
            change: dict[str, Any] = {self.path.split(".")[1]: value}
            return case.with_money(finance=replace(case.finance, **change))
        if self.kind == "weather":
            return case.with_sun(value)
        if self.kind == "design":
            return case.with_plant(case.plant.with_design(**{self.path.split(".")[-1]: value}))
        _, first, *rest = self.path.split(".")
        component = case.plant.components[self.base]
        number: Any = round(value) if self.whole else value
        new = _put(getattr(component, first), rest, number) if rest else number
        return case.with_plant(case.plant.with_component(self.base, **{first: new}))


def knob(case: Case, path: str) -> Knob:
    """Find a number of a case by its path.

    Parameters
    ----------
    case : Case
    path : str
        See the module.

    Returns
    -------
    Knob

    Raises
    ------
    ParameterError
        If nothing is there, or no number.

    Examples
    --------
    >>> from loopnet.plants import find_plant
    >>> from loopnet.site import tamarisk_basin
    >>> case = Case(plant=find_plant("sand_silo"), weather=tamarisk_basin())
    >>> [knob(case, path).unit for path in ("collector.drive", "finance.rate", "store_hours", "field.outlet")]
    ['USD/m2', '1/year', 's', 'K']
    """
    if path in case.book:
        price = case.book[path]
        return Knob(path=path, kind="price", unit=price.unit, now=price.value, low=0.0, high=1e12, base=path)
    if path == "mirrors":
        return _mirrors(case)
    if path == "weather.sun":
        return Knob(path=path, kind="weather", unit="-", now=1.0, low=0.1, high=2.0)
    head, _, last = path.rpartition(".")
    if last == "life" and head in case.book:
        return Knob(path=path, kind="price life", unit="year", now=case.book[head].life, low=0.05, high=200.0,
                    base=head)
    design = last if head in ("", "design") else ""
    places: tuple[tuple[str, Any, str], ...] = (("design", case.plant.design, design),
                                                ("finance", case.finance, last if head == "finance" else ""))
    for kind, values, name in places:
        if name and any(item.name == name for item in fields(values)):
            return _field(path, kind, values, name, "")
    name, _, inner = path.partition(".")
    if inner and name in case.plant.components:
        holder: Any = case.plant.components[name]
        *steps, attribute = inner.split(".")
        for step in steps:
            holder = getattr(holder, step, None)
        if is_dataclass(holder) and any(item.name == attribute for item in fields(holder)):
            return _field(path, "component", holder, attribute, name)
    raise ParameterError("nothing of this name to vary", where=f"plant {case.name!r}", got=repr(path),
                         allowed="a price key, finance.NAME, a design value, COMPONENT.PARAMETER, weather.sun, mirrors",
                         hint=" or ".join(_near(case, path)) or "field.outlet")


def _field(path: str, kind: str, holder: Any, name: str, base: str) -> Knob:
    item = next(item for item in fields(holder) if item.name == name)
    value = getattr(holder, name)
    if isinstance(value, bool) or not (value is None or isinstance(value, (int, float))):
        raise ParameterError("this is no number", where=path, got=repr(value)[:60], allowed="a number",
                             hint="one of its own parameters, such as " + ", ".join(
                                 f"{path}.{f.name}" for f in fields(value)[:3]) if is_dataclass(value) else "")
    whole = isinstance(value, int) or (kind == "finance" and name in ("life", "construction_years"))
    meta = item.metadata
    return Knob(path=path, kind=kind, unit=meta.get("unit", "-"), now=None if value is None else float(value),
                low=meta.get("low", 0.0 if whole else -inf), high=meta.get("high", inf), whole=whole, base=base)


def _mirror_lines(case: Case) -> list[Any]:
    return [line for line in case.assessment.bill if line.price.key.startswith(MIRRORS) and line.kind == "capital"]


def _mirrors(case: Case) -> Knob:
    lines = _mirror_lines(case)
    if not lines:
        raise ParameterError("the bill has no prices of collectors", where=f"plant {case.name!r}", got="none",
                             allowed=f"prices whose key begins with {MIRRORS}", hint="a price key of the bill")
    now = sum(line.usd for line in lines) / case.assessment.aperture
    return Knob(path="mirrors", kind="mirrors", unit="USD/m2", now=now, low=0.0, high=1e6)


def _put(holder: Any, steps: list[str], value: float) -> Any:
    """A copy of nested parameter sets with one number changed."""
    first, *rest = steps
    return replace(holder, **{first: _put(getattr(holder, first), rest, value) if rest else value})


def _near(case: Case, path: str) -> list[str]:
    own = [f"{name}.{item.name}" for name, part in case.plant.components.items() for item in fields(part)]
    known = [*case.book, *own, *(f"finance.{item.name}" for item in fields(case.finance)),
             *(item.name for item in fields(case.plant.design))]
    with suppress(TypeError, AttributeError, KeyError, ValueError):  # a path that leads nowhere has no neighbours
        known += [f"{path.rpartition('.')[0]}.{item.name}" for item in fields(_holder(case, path))]
    return get_close_matches(path, known, n=3, cutoff=0.6)


def _holder(case: Case, path: str) -> Any:
    name, *steps, _ = path.split(".")
    holder: Any = case.plant.components[name]
    for step in steps:
        holder = getattr(holder, step)
    return holder
