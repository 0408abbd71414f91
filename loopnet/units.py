"""Units, at the border only: strings and pint quantities become SI floats here, once."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

from loopnet.errors import ParameterError

__all__ = ["Quantity", "show", "to_si"]

Quantity = Any
"""What a user may give for a number: an SI float, text with a unit (``"395 degC"``), or a pint quantity.
Once a component is made, the value is a float in SI."""

_NUMBER = r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)"
_FACTOR = r"\(?[A-Za-zµμΩ°%][A-Za-z_0-9]*[²³]?(?:\s*(?:\^|\*\*)\s*-?\d)?\)?"
_TEXT = re.compile(rf"\s*{_NUMBER}\s*((?:1\s*/\s*)?{_FACTOR}(?:(?:\s*[*/·]\s*|\s+){_FACTOR})*)?\s*")
_POWER = re.compile(r"(?<=[A-Za-z])([2-4])(?!\w)")  # m2 is m^2


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint  # a slow import, needed only where a unit is met

    registry: Any = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    registry.define("USD = [currency]")
    return registry


@lru_cache(maxsize=4096)
def _parse(text: str, unit: str) -> float:
    like = f"a number with a unit such as {unit}" if unit else "a number without a unit"
    parts = _TEXT.fullmatch(text)
    if parts is None:
        hint = "a decimal point in place of the comma" if "," in text else ""
        raise ParameterError("cannot read this as a quantity", got=repr(_short(text)), allowed=like, hint=hint)
    import pint

    try:
        quantity = _registry().Quantity(float(parts[1]), _POWER.sub(r"^\1", (parts[2] or "").replace("·", "*")))
        return float(quantity.to(unit or "dimensionless").magnitude)
    except pint.DimensionalityError:
        raise ParameterError("wrong unit", got=text, allowed=f"a quantity in {unit or 'no unit'}") from None
    except Exception as why:  # whatever pint makes of a text that only looks like a unit
        raise ParameterError(f"cannot read this as a quantity ({_short(str(why))})", got=repr(_short(text)),
                             allowed=like) from None


def _short(text: str, most: int = 60) -> str:
    return text if len(text) <= most else text[:most] + " ..."


def to_si(value: Quantity, unit: str) -> float:
    """Convert what a user wrote to an SI float.

    Parameters
    ----------
    value : float, str or pint quantity
        A plain number is taken to be one [in `unit`] already.
    unit : str
        The SI unit wanted, for example ``"K"``; ``""`` or ``"-"`` for none.

    Returns
    -------
    float
        The value [in `unit`].

    Raises
    ------
    ParameterError
        If the text cannot be read or has the wrong dimension.

    Examples
    --------
    >>> round(to_si("395 degC", "K"), 2)
    668.15
    >>> to_si("18 USD/m2", "USD/m^2"), to_si(3, "m")
    (18.0, 3.0)
    """
    wanted = "" if unit == "-" else unit
    if isinstance(value, str):
        return _parse(value, wanted)
    if hasattr(value, "to") and hasattr(value, "magnitude"):
        return _parse(f"{value.magnitude} {value.units}", wanted)
    try:
        truth = isinstance(value, bool) or str(getattr(value, "dtype", "")) == "bool"
        if truth or not hasattr(value, "__float__"):
            raise TypeError
        return float(value)
    except (TypeError, ValueError, OverflowError):
        raise ParameterError("not a number", got=_short(repr(value)),
                             allowed=f"a number in {wanted}, or text with a unit" if wanted
                             else "a number without a unit") from None


_SHOWN = {  # SI unit -> (factor, offset, what people read)
    "K": (1.0, -273.15, "degC"),
    "K difference": (1.0, 0.0, "K"),
    "Pa": (1e-5, 0.0, "bar"),
    "W": (1e-6, 0.0, "MW"),
    "J": (1 / 3.6e9, 0.0, "MWh"),
    "s": (1 / 3600, 0.0, "h"),
}


def show(value: float, unit: str, digits: int = 4) -> str:
    """Write an SI value in the unit people use; a difference of temperatures has the unit ``"K difference"``.

    >>> show(666.15, "K"), show(2.0e7, "W"), show(0.35, "-"), show(6.0, "K difference")
    ('393 degC', '20 MW', '0.35', '6 K')
    """
    factor, offset, name = _SHOWN.get(unit, (1.0, 0.0, "" if unit == "-" else unit))
    return f"{value * factor + offset:.{digits}g} {name}".strip()
