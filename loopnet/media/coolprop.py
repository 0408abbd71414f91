"""The one module that touches CoolProp: low-level states, read in loops, with its errors wrapped.

CoolProp 8 takes some 2.5 s to load its fluids; nothing here loads it before a state is asked for that does not ship."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from loopnet.errors import PropertyRangeError
from loopnet.media.shipped import key_of, note, recorded
from loopnet.media.tables import Array

__all__ = ["computed", "saturation", "sweep"]

_PHASES = {"liquid": "iphase_liquid", "gas": "iphase_gas"}


@lru_cache(maxsize=64)
def _state(backend: str, fluid: str, phase: str) -> Any:
    from CoolProp import CoolProp

    state = CoolProp.AbstractState(backend, fluid)
    if phase:
        state.specify_phase(getattr(CoolProp, _PHASES[phase]))
    return state


@lru_cache(maxsize=16)
def _input(pair: str) -> Any:
    from CoolProp import CoolProp

    return getattr(CoolProp, f"{pair}_INPUTS")


def sweep(backend: str, fluid: str, pair: str, first: Array, second: Array, outputs: tuple[str, ...],
          phase: str = "") -> Array:
    """Properties at many states, one after the other.

    Parameters
    ----------
    backend, fluid : str
        For example ``"HEOS"`` and ``"Water"``.
    pair : str
        CoolProp's name of the inputs, for example ``"PT"`` or ``"HmassP"``.
    first, second : ndarray, shape (n,)
        The inputs, in the order of the name of the pair [SI].
    outputs : tuple of str
        Methods of the low-level state, for example ``("hmass", "rhomass")``.
    phase : str
        "liquid" or "gas" to skip the search for the phase; the state must lie there.

    Returns
    -------
    ndarray, shape (outputs, n)
        The properties [SI].

    Raises
    ------
    PropertyRangeError
        If CoolProp refuses a state.
    """
    key = key_of(backend, fluid, pair, outputs, phase, first, second) if first.size else ""
    known = recorded(key, first, second) if first.size else None
    if known is not None:
        return known
    out = computed(backend, fluid, pair, first, second, outputs, phase)
    note(key, first, second, out)
    return out


def computed(backend: str, fluid: str, pair: str, first: Array, second: Array, outputs: tuple[str, ...],
             phase: str = "") -> Array:
    """As `sweep`, always from CoolProp itself."""
    state, inputs = _state(backend, fluid, phase), _input(pair)
    read = [getattr(state, name) for name in outputs]
    out = np.empty((first.size, len(outputs)))
    a = b = float("nan")
    try:
        for i, (a, b) in enumerate(zip(first.tolist(), second.tolist(), strict=True)):
            state.update(inputs, a, b)
            out[i] = [f() for f in read]
    except ValueError as why:
        raise PropertyRangeError(f"CoolProp has no state here ({str(why).strip()[:120]})", where=f"{backend}::{fluid}",
                                 got=f"{pair} = {a:g}, {b:g}", allowed="the range of its equation",
                                 hint="stay within the medium's limits") from None
    return out.T


def saturation(backend: str, fluid: str, temperature: Array) -> Array:
    """Vapour pressure [Pa] at temperatures [K], shape (n,); also for CoolProp's incompressible fluids."""
    key = key_of(backend, fluid, "saturation", ("p",), "", temperature, temperature)
    if (known := recorded(key, temperature, temperature)) is not None:
        return known[0]
    from CoolProp import CoolProp

    name = f"{backend}::{fluid}"
    try:
        out = np.array([CoolProp.PropsSI("P", "T", t, "Q", 0.0, name) for t in temperature.tolist()])
    except ValueError as why:
        raise PropertyRangeError(f"CoolProp has no vapour pressure here ({str(why).strip()[:120]})", where=name,
                                 allowed="the range of its equation", hint="stay within the medium's limits") from None
    note(key, temperature, temperature, out[None, :])
    return out
