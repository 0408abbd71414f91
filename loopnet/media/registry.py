"""Media by name: `medium("air")` gives the one instance that everybody shares."""

from __future__ import annotations

from difflib import get_close_matches
from functools import lru_cache
from math import isfinite
from typing import Literal, overload

from loopnet.errors import ParameterError
from loopnet.media.base import Medium
from loopnet.media.fluids import Air, DiphenylOil, HotWater, NitrateSalt
from loopnet.media.solids import CrushedRock, Particles, QuartzSand
from loopnet.media.water import Water
from loopnet.units import Quantity, show, to_si

__all__ = ["media_names", "medium"]

_KINDS: dict[str, type[Medium]] = {kind.name: kind for kind in (
    DiphenylOil, NitrateSalt, Air, Water, HotWater, QuartzSand, CrushedRock)}


def media_names() -> tuple[str, ...]:
    """Names that `medium` knows.

    >>> media_names()
    ('diphenyl oil', 'nitrate salt', 'air', 'water', 'hot water', 'quartz sand', 'crushed rock')
    """
    return tuple(_KINDS)


@lru_cache(maxsize=256)
def _make(name: str, pressure: float | None, exact: bool) -> Medium:
    return _KINDS[name](pressure, exact)


@overload
def medium(name: Literal["water"], pressure: Quantity | None = None, exact: bool = False) -> Water: ...
@overload
def medium(name: Literal["quartz sand", "crushed rock"], pressure: Quantity | None = None,
           exact: bool = False) -> Particles: ...
@overload
def medium(name: str | Medium, pressure: Quantity | None = None, exact: bool = False) -> Medium: ...
def medium(name: str | Medium, pressure: Quantity | None = None, exact: bool = False) -> Medium:
    """The medium of that name; tables fill themselves when a property is first read.

    Parameters
    ----------
    name : str or Medium
        One of `media_names()`; a medium is given back as it is.
    pressure : float or str, optional
        Pressure level [Pa] at which a gas is tabulated, default 101325 Pa; other media do not depend on it.
    exact : bool
        Whether to call the equations on each evaluation instead of tables (slow; for tests and benchmarks).

    Returns
    -------
    Medium
        Shared, picklable, equal by name, pressure level and exactness.

    Raises
    ------
    ParameterError
        If the name is not known, or the pressure level is not positive.

    Examples
    --------
    >>> round(medium("nitrate salt").h(838.15) - medium("nitrate salt").h(563.15))
    417046
    """
    if isinstance(name, Medium):
        return name
    if name not in _KINDS:
        near = get_close_matches(str(name).lower(), _KINDS, n=3, cutoff=0.3)
        raise ParameterError("no such medium", where="medium", got=repr(name), allowed=", ".join(_KINDS),
                             hint=" or ".join(repr(n) for n in near) if near else "a name from media_names()")
    level = None
    if _KINDS[name].phase == "gas":
        level = Air.level if pressure is None else to_si(pressure, "Pa")
        if not (isfinite(level) and 1e3 <= level <= 5e6):
            raise ParameterError("pressure level is out of range", where=f"medium {name!r}", got=show(level, "Pa"),
                                 allowed="0.01 bar to 50 bar", hint="the absolute pressure of the loop")
    return _make(name, level, bool(exact))
