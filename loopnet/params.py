"""Parameters: one numeric field with unit, range and source; checked and converted when a component is made."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, is_dataclass
from math import inf, isfinite
from typing import Any

from loopnet.errors import ParameterError
from loopnet.units import show, to_si

__all__ = ["Parameters", "check_range", "param"]

_REQUIRED = object()


def param(default: Any = _REQUIRED, *, unit: str, low: float = -inf, high: float = inf, source: str,
          optional: bool = False, doc: str = "") -> Any:
    """Declare a numeric parameter of a `Parameters` dataclass.

    Parameters
    ----------
    default : float or str
        Default value, in SI [in `unit`] or as text with a unit; none makes the field required.
    unit : str
        SI unit; ``"-"`` for none.
    low, high : float
        Allowed range [in `unit`], ends included.
    source : str
        Where default and range come from: a citation, "common practice, no source", "assumption", or "user".
    optional : bool
        Whether None is allowed (the quantity is then sized or left free).
    doc : str
        One line for people.
    """
    metadata = {"unit": unit, "low": low, "high": high, "source": source, "optional": optional, "doc": doc}
    if default is _REQUIRED:
        return field(metadata=metadata)
    return field(default=default, metadata=metadata)


def check_range(value: float, *, where: str, unit: str, low: float = -inf, high: float = inf, hint: str = "") -> float:
    """Refuse a value that is not finite or lies outside [low, high], always in the same words.

    A range in kelvin that begins below 150 K is one of temperature differences, and shown as such: nothing here is
    that cold.

    >>> check_range(0.5, where="field.reflectance", unit="-", low=0, high=1)
    0.5
    """
    if not isfinite(value) or not low <= value <= high:
        shown = "K difference" if unit == "K" and low < 150.0 else unit
        ends = [limit for limit in (low, high) if isfinite(limit)]
        digits = next((d for d in (4, 7, 10) if show(value, shown, d) not in [show(e, shown, d) for e in ends]), 17)
        limits = " to ".join(show(x, shown, digits) if isfinite(x) else "any" for x in (low, high))
        raise ParameterError("out of range", where=where, got=show(value, shown, digits),
                             allowed=limits if ends else "a finite number",
                             hint=hint or "a value within the allowed range")
    return value


@dataclass(frozen=True, kw_only=True)
class Parameters:
    """Base of every parameter set: numeric fields are converted to SI and checked when the object is made."""

    def __post_init__(self) -> None:
        for item in fields(self):
            if "unit" not in item.metadata:
                continue
            value, meta = getattr(self, item.name), item.metadata
            if value is None and meta["optional"]:
                continue
            where = f"{type(self).__name__}.{item.name}"
            try:
                number = to_si(value, meta["unit"])
            except ParameterError as why:
                raise ParameterError(why.what, where=where, got=why.got, allowed=why.allowed,
                                     hint=why.hint or f"{item.name}=<number in {meta['unit']}>") from None
            check_range(number, where=where, unit=meta["unit"], low=meta["low"], high=meta["high"])
            object.__setattr__(self, item.name, number)

    def to_dict(self) -> dict[str, Any]:
        """Plain dict of all fields, nested parameter sets included; `type(self)(**d)` makes an equal object
        where no field is itself a parameter set."""
        out: dict[str, Any] = {}
        for item in fields(self):
            value = getattr(self, item.name)
            out[item.name] = value.to_dict() if is_dataclass(value) and hasattr(value, "to_dict") else value
        return out
