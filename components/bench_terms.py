"""Terms of a collector's heat balance, each linear in its coefficient, and what instruments may have wrong."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from components.bench_heat import Heat
from components.incidence import IncidenceModifier
from loopnet.media import Water
from loopnet.params import Parameters, param

__all__ = ["TERMS", "Instruments", "Term", "balance", "conditions", "instrument_effects"]

Array = NDArray[np.float64]
Conditions = Mapping[str, Array]
STEFAN_BOLTZMANN = 5.670374419e-8
"""CODATA 2018 [W/m2K4]."""
WATER_KNOWN = 1e-3
"""How well the heat capacity of water is known [-]: IAPWS R6-95 states 0.1 % for the liquid (from memory)."""


class Term(NamedTuple):
    """Unit of the coefficient, whether it is a loss (never negative), what it multiplies, and words for people."""

    unit: str
    loss: bool
    of: Callable[[Conditions], Array]
    words: str


TERMS: dict[str, Term] = {
    "eta0": Term("-", False, lambda c: c["beam"], "share of the direct sun that becomes heat, when the receiver is as "
                                                  "cold as the air (optical efficiency)"),
    "k1": Term("1/deg", False, lambda c: c["beam"] * c["angle"], "eta0 changes by this with each degree of incidence"),
    "k2": Term("1/deg^2", False, lambda c: c["beam"] * c["angle"] ** 2, "and by this with each degree squared"),
    "eta1": Term("1/K", True, lambda c: -c["beam"] * c["over"], "optical efficiency lost with each kelvin above the "
                                                                "air"),
    "a1": Term("W/m^2/K", True, lambda c: -c["over"], "heat lost with each kelvin above the air"),
    "a2": Term("W/m^2/K^2", True, lambda c: -c["over"] ** 2, "more loss with each kelvin squared"),
    "a3": Term("J/m^3/K", True, lambda c: -c["wind"] * c["over"], "more loss with each kelvin and each m/s of wind"),
    "a5": Term("J/m^2/K", True, lambda c: -c["rate"], "heat that warms the collector itself, with each kelvin "
                                                      "(effective heat capacity)"),
    "a6": Term("s/m", True, lambda c: -c["wind"] * c["beam"], "optical efficiency lost with each m/s of wind"),
    "a8": Term("W/m^2/K^4", True, lambda c: -c["over"] ** 4, "more loss with the fourth power of the kelvins above "
                                                             "the air"),
    "radiation": Term("-", True, lambda c: -STEFAN_BOLTZMANN * (c["middle"] ** 4 - c["ambient"] ** 4),
                      "heat radiated: effective emittance times radiating surface, over aperture"),
}
"""q = sum of coefficient x what it multiplies [W/m2 of aperture]. Letters as in ISO 9806 (from memory); `eta1` is the
second term of SAND94-1884 (1994), k1 and k2 the polynomial of incidence, `radiation` the law of Stefan and Boltzmann.
Diffuse light is not a term: a concentrator takes in about one part of it in its concentration."""

DEFAULT = ("eta0", "k1", "k2", "a1", "a2", "a3", "a5")


@dataclass(frozen=True, kw_only=True)
class Instruments(Parameters):
    """What the instruments may have wrong in all rows alike: standard uncertainties, about two chances in three that
    the error is smaller. A data sheet that promises "+/- limit" without more means about limit / 1.73.

    The defaults are those of careful field work without a calibration laboratory: common practice, no source.
    """

    dni: Any = param(0.02, unit="-", low=0.0, high=0.5, source="common practice, no source", doc="over the reading")
    temperature: Any = param(0.5, unit="K", low=0.0, high=20.0, source="common practice, no source",
                             doc="inlet and outlet together")
    rise: Any = param(0.1, unit="K", low=0.0, high=20.0, source="common practice, no source",
                      doc="outlet less inlet: compare both sensors in one bath to keep this small")
    ambient: Any = param(0.5, unit="K", low=0.0, high=20.0, source="common practice, no source")
    wind: Any = param(0.5, unit="m/s", low=0.0, high=10.0, source="common practice, no source")
    flow: Any = param(0.01, unit="-", low=0.0, high=0.5, source="common practice, no source", doc="over the reading")
    heat_capacity: Any = param(0.01, unit="-", low=0.0, high=0.5, source="common practice, no source",
                               doc="of an oil; that of water is known to 0.1 %")
    boiled: Any = param(0.02, unit="-", low=0.0, high=0.5, source="common practice, no source",
                        doc="water weighed, drops and reflux included")
    efficiency: Any = param(0.02, unit="-", low=0.0, high=0.5, source="common practice, no source",
                            doc="where efficiencies are given as such; over the value")
    aperture: Any = param(0.005, unit="-", low=0.0, high=0.5, source="common practice, no source", doc="over its area")


def conditions(columns: Mapping[str, Array], heat: Heat, rate: Array, modifier: IncidenceModifier | None) -> Conditions:
    """What the terms are made of, shape (points,).

    Parameters
    ----------
    columns : mapping of array
        Measured columns [SI].
    heat : Heat
        How heat is found.
    rate : array, shape (points,)
        Change of the mean temperature [K/s].
    modifier : IncidenceModifier, optional
        What is known about incidence; then k1 and k2 are not needed.

    Returns
    -------
    mapping of array
        beam [W/m2 of aperture], angle [deg], middle, ambient, over [K], wind [m/s], rate [K/s].
    """
    theta = columns.get("incidence", np.zeros_like(columns["dni"]))
    known = np.ones_like(theta) if modifier is None else modifier(theta)
    middle = heat.middle(columns)
    return {"beam": columns["dni"] * np.cos(theta) * known, "angle": np.degrees(theta), "middle": middle,
            "ambient": columns["ambient"], "over": middle - columns["ambient"], "rate": rate,
            "wind": columns.get("wind", np.zeros_like(theta))}


def balance(columns: Mapping[str, Array], heat: Heat, rate: Array, modifier: IncidenceModifier | None,
            terms: Sequence[str]) -> tuple[Array, Array]:
    """Useful heat and what each coefficient multiplies.

    Parameters
    ----------
    columns : mapping of array
        Measured columns, shape (points,) [SI].
    heat : Heat
        How heat is found.
    rate : array, shape (points,)
        Change of the mean temperature [K/s].
    modifier : IncidenceModifier, optional
        What is known about incidence.
    terms : sequence of str
        Names in TERMS.

    Returns
    -------
    q : array, shape (points,)
        Useful heat per aperture [W/m2].
    X : array, shape (points, terms)
        What the coefficients multiply [each in W/m2 over the unit of its coefficient].
    """
    at = conditions(columns, heat, rate, modifier)
    return heat.useful(columns), np.column_stack([TERMS[name].of(at) for name in terms])


def instrument_effects(instruments: Instruments, columns: Mapping[str, Array], heat: Heat, rate: Array,
                       modifier: IncidenceModifier | None, terms: Sequence[str], beta: Array) -> dict[str, Array]:
    """How much the balance of each point moves when one instrument is off by its standard uncertainty in all rows.

    Parameters
    ----------
    instruments : Instruments
        Standard uncertainties.
    columns : mapping of array
        Measured columns, shape (points,) [SI].
    heat : Heat
        How heat is found.
    rate : array, shape (points,)
        Change of the mean temperature [K/s].
    modifier : IncidenceModifier, optional
        What is known about incidence.
    terms : sequence of str
        Names in TERMS.
    beta : array, shape (terms,)
        Coefficients [in the units of TERMS].

    Returns
    -------
    dict of array
        Instrument -> change of (measured less fitted) useful heat, shape (points,) [W/m2].
    """
    def left(given: Mapping[str, Array]) -> Array:
        q, X = balance(given, heat, rate, modifier, terms)
        return q - X @ beta

    q0 = heat.useful(columns)
    here = left(columns)

    def moved(**by: Any) -> Array:
        return left({**columns, **{k: columns[k] + step for k, step in by.items() if k in columns}}) - here

    i = instruments
    wet = heat.kind == "flow"
    out = {"dni": moved(dni=i.dni * columns["dni"]), "ambient": moved(ambient=i.ambient),
           "wind": moved(wind=i.wind), "aperture": i.aperture * q0}
    if {"inlet", "outlet"} <= set(columns) and heat.kind != "boil-off":
        out["temperature"] = moved(inlet=i.temperature, outlet=i.temperature)
        out["rise"] = moved(inlet=-i.rise / 2, outlet=i.rise / 2)
    known = min(i.heat_capacity, WATER_KNOWN) if isinstance(heat.liquid, Water) else i.heat_capacity
    scaled = {"flow": i.flow, "heat_capacity": known} if wet else {
        "boiled": i.boiled} if heat.kind == "boil-off" else {"efficiency": i.efficiency}
    return {**out, **{name: share * q0 for name, share in scaled.items()}}
