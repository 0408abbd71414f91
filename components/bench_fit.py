"""From a bench test to a collector: the builder's measurements give optical efficiency and losses, with intervals."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from components.bench_data import COLUMNS, FACTS, BenchData, read_bench
from components.bench_heat import GivenLiquid, Heat, liquid
from components.bench_judge import judged, told_apart
from components.bench_regress import Estimate, Trial, choose_terms, combined, find_outliers, weighted_fit
from components.bench_result import Coefficient, CollectorFit
from components.bench_screen import LeftOut, Points, Steadiness, averaged, steady_rows
from components.bench_terms import DEFAULT, TERMS, Instruments, balance, conditions, instrument_effects
from components.incidence import IncidenceModifier
from loopnet.errors import ParameterError
from loopnet.params import check_range
from loopnet.site.place import standard_pressure
from loopnet.site.source import row_text
from loopnet.units import Quantity, to_si

__all__ = ["fit_collector"]

Array = NDArray[np.float64]
LIGHT = ("Concentrated sunlight blinds and burns in an instant, also where you do not expect its spot: cover or turn "
         "away the mirrors before anyone steps in, wear filter glasses, keep what can burn away.")
STEAM = ("Boiling water and steam scald: never close the vessel, keep the vent open and away from faces, stay back "
         "when it spits.")
HOT = "Pipes burn long after the sun is gone; if the pump stops under focus, the tube boils or bursts at once."
LEAST_SPARE = 3
"""Points that a fit needs beyond its terms."""


def fit_collector(source: str | os.PathLike[str] | pd.DataFrame | BenchData, *, aperture: Quantity | None = None,
                  medium: str | None = None, heat_capacity: Quantity | None = None, density: Quantity | None = None,
                  altitude: Quantity | None = None, pressure: Quantity | None = None, content: Quantity | None = None,
                  terms: Sequence[str] | None = None, modifier: IncidenceModifier | None = None,
                  instruments: Instruments | None = None, steadiness: Steadiness | None = None, dynamic: bool = False,
                  average: bool = True, outliers: float = 4.0, significance: float = 0.05, confidence: float = 0.95,
                  ) -> CollectorFit:
    """Optical efficiency and heat losses of a collector from its builder's own measurements.

    You need a table: the time, the direct sun, the air's temperature, and what the collector delivered. That last is
    either the flow with inlet and outlet temperature, or the water that a kettle in the focus boiled away. The fit
    finds the numbers with which, per square metre of mirror opening,

        useful heat = eta0 x sun - a1 x d - a2 x d^2

    comes closest to all points, d being how much hotter the liquid (mean of inlet and outlet) is than the air. eta0 is
    what share of the sun the mirrors bring into the receiver; a1 and a2 are what it loses again. Measure at four or
    more inlet temperatures from near the air's to the hottest you will use, near noon or with tracking, each held for
    half an hour: at one temperature nobody can tell a bad mirror from a leaky receiver.

    Parameters
    ----------
    source : path, DataFrame or BenchData
        Measurements with units in the headings, see `read_bench`; lines ``# aperture: 12 m2`` above the table may give
        what the arguments below give. Arguments go before lines.
    aperture : float or str, optional
        Opening of the mirrors, facing the sun [m2].
    medium : str, optional
        What flows: a name of `media_names()`, or any with `heat_capacity`; water if left out.
    heat_capacity, density : float or str, optional
        Of an oil [J/kg/K], [kg/m3]: one number, or as ``"1.9 kJ/kg/K at 20 degC, 2.6 kJ/kg/K at 250 degC"``.
    altitude, pressure : float or str, optional
        Height above the sea [m], or the absolute pressure over the water [Pa]; sea level if left out.
    content : float or str, optional
        Liquid in the collector [m3], for the time that it takes to pass.
    terms : sequence of str, optional
        Terms to fit, names of TERMS; then none is dropped. Left out: eta0, a1, a2, a3 where wind varies, k1 and k2
        where incidence does, a5 where `dynamic`.
    modifier : IncidenceModifier, optional
        What is known about incidence; else `incidence` in the table is fitted.
    instruments, steadiness : optional
        What the instruments may have wrong; what counts as steady.
    dynamic : bool
        Keep rows that are not steady, and fit the heat that warms the collector itself (a5).
    average : bool
        Whether neighbouring rows are averaged over a window; False only where their errors are independent.
    outliers : float
        Robust standard deviations beyond which a point is left out [-]; `inf` keeps all.
    significance : float
        Chance of keeping a term that is zero [-].
    confidence : float
        That the intervals hold the truth [-].

    Returns
    -------
    CollectorFit

    Raises
    ------
    DataError
        If the table cannot be used, holds too few steady rows, or the terms asked for cannot be told apart.
    ParameterError
        If a term or a fact is not known.

    Notes
    -----
    The steady-state and quasi-dynamic methods of ISO 9806 for concentrating collectors, from memory: the terms of
    `TERMS`, weighted least squares, t-statistics. Rows that are not steady by the rule of `Steadiness` are left out
    and named. Neighbours are averaged over one window. Points are weighted by 1/u^2, u being what the instruments may
    move their balance. Outliers are found by a robust fit (`find_outliers`) and named. Of the default terms, losses
    that come out negative are dropped, then the least certain one while its t is below that of `significance`
    (Student, two sides); every one is named. Intervals join scatter (type A) and instruments that are off in all rows
    alike (type B), and take the terms that are left as true. Valid within the temperatures measured; a receiver made
    of it warns beyond.

    Examples
    --------
    >>> import numpy as np, pandas as pd
    >>> sun, over = np.tile([850.0, 900, 950], 4), np.repeat([10.0, 60, 110, 160], 3)
    >>> made = pd.DataFrame({"time [h]": np.arange(12), "dni [W/m2]": sun, "ambient [degC]": 20.0,
    ...                      "inlet [degC]": 15 + over, "outlet [degC]": 25 + over,
    ...                      "efficiency [%]": 100 * (0.7 - (0.4 * over + 0.002 * over**2) / sun)})
    >>> fit = fit_collector(made)
    >>> {c.name: round(c.value, 6) for c in fit.coefficients}
    {'eta0': 0.7, 'a1': 0.4, 'a2': 0.002}
    """
    data = read_bench(source)
    instruments, steadiness = instruments or Instruments(), steadiness or Steadiness()
    given = {"aperture": aperture, "medium": medium, "heat capacity": heat_capacity, "density": density,
             "altitude": altitude, "pressure": pressure, "content": content}
    heat, held = _heat(data, given)
    _known_terms(terms)
    check_range(confidence, where="fit_collector.confidence", unit="-", low=0.5, high=0.9999)
    check_range(significance, where="fit_collector.significance", unit="-", low=1e-6, high=0.5)
    heat.check(data.columns, data.name)
    about = _density(heat, data)
    steady, left_out, window, was_judged = steady_rows(data, steadiness, held, about)
    if dynamic:
        steady, left_out = np.ones(len(data), bool), ()
    if not steady.any():
        raise data.error("no row is steady", rows=left_out[0].rows, got=left_out[0].reason,
                         allowed="a stretch longer than one window in which nothing changes more than its limit",
                         hint="hold each temperature for half an hour, or dynamic=True with a wider spread of the sun")
    points = averaged(data, steady, window, average and was_judged)
    candidates, untried = _candidates(points, heat, modifier, dynamic) if terms is None else (tuple(terms), ())
    if len(points) < min(len(candidates), 2 if terms is None else 99) + LEAST_SPARE:
        raise data.error("too few points", got=f"{len(points)} points from {int(steady.sum())} steady rows of "
                         f"{len(data)}", allowed=f"{LEAST_SPARE} more than terms ({', '.join(candidates)})",
                         hint="a longer test, or fewer terms")
    from scipy.stats import t as student

    fixed = ("eta0",) if terms is None else candidates
    chosen, dropped, keep, u = _regress(data, points, heat, modifier, instruments, candidates, fixed, outliers,
                                        lambda freedom: float(student.ppf(1 - significance / 2, freedom)))
    q, X = balance(points.columns, heat, points.rate, modifier, chosen)
    estimate = weighted_fit(X[keep], q[keep], u[keep])
    told_apart(data, points, X[keep] / u[keep, None], chosen, conditions(
        points.columns, heat, points.rate, modifier)["over"][keep])
    effects = instrument_effects(instruments, points.columns, heat, points.rate, modifier, chosen, estimate.beta)
    covariance, freedom = combined(estimate, [e[keep] for e in effects.values()])
    half = student.ppf(0.5 + confidence / 2, freedom) * np.sqrt(np.diag(covariance))
    coefficients = tuple(
        Coefficient(name, TERMS[name].unit, float(b), float(np.sqrt(c)), float(np.sqrt(a)),
                    float(np.sqrt(max(c - a, 0.0))), float(b - h), float(b + h), float(t), float(f), TERMS[name].words)
        for name, b, c, a, h, t, f in zip(chosen, estimate.beta, np.diag(covariance), np.diag(estimate.covariance),
                                          half, estimate.t, freedom, strict=True))
    frame = _frame(points, heat, modifier, q, X @ estimate.beta, keep)
    scatter = float(np.sqrt(np.sum(estimate.residual**2) / max(estimate.freedom, 1)))
    left_out = (*left_out, *(LeftOut(tuple(int(r) for r in points.rows[i]), "outlier", _off(frame, i, scatter))
                             for i in map(int, np.flatnonzero(~keep))))
    used = frame[frame["used"]]
    tested = {key: (float(used[key].min()), float(used[key].max())) for key in ("middle", "outlet", "over", "dni",
                                                                                        "wind")}
    warnings, notes = judged(data, used, heat, coefficients, covariance, keep, was_judged, dynamic, left_out)
    return CollectorFit(
        name=data.facts.get("collector") or data.name, method=heat.kind, aperture=heat.aperture,
        liquid=heat.liquid.name,
        coefficients=coefficients, covariance=_frozen(covariance), confidence=confidence, points=frame,
        scatter=scatter, tested=tested,
        left_out=left_out, dropped=(*untried, *dropped), warnings=warnings, notes=(*data.notes, *notes),
        cautions=(LIGHT, STEAM if heat.kind == "boil-off" else HOT, *heat.liquid.cautions), known_modifier=modifier)


def _frozen(array: Array) -> Array:
    array.setflags(write=False)
    return array


def _heat(data: BenchData, given: dict[str, Any]) -> tuple[Heat, float | None]:
    """How heat is found, and the liquid that the collector holds [m3]."""
    facts: dict[str, Any] = {**data.facts, **{key: value for key, value in given.items() if value is not None}}
    have = set(data.columns)
    for key in ("dni", "ambient"):
        if key not in have:
            raise data.error(f"there is no column of {key}", got=", ".join(data.columns) or "no other columns",
                             allowed=f"a heading such as {COLUMNS[key].example!r}", hint="measure it, or name it so")
    kinds = {"boil-off": have & {"boiled", "boiled volume"}, "flow": have & {"flow", "flow volume"},
             "efficiency": have & {"efficiency"}}
    found = [kind for kind, columns in kinds.items() if columns]
    if len(found) != 1:
        raise data.error("heat must be measured in one way", got=" and ".join(found) or "no column of it",
                         allowed="flow, or water boiled away, or efficiency", hint="headings flow [L/min], inlet "
                         "[degC], outlet [degC]; or boiled [kg/h]")
    needed = () if found[0] == "boil-off" else ("inlet", "outlet")
    for key in needed:
        if key not in have:
            raise data.error(f"there is no column of {key}", got=", ".join(data.columns),
                             allowed=f"a heading such as {COLUMNS[key].example!r}", hint="measure it, or name it so")

    def read(key: str, unit: str, low: float, high: float) -> float | None:
        if key not in facts:
            return None
        try:
            value = to_si(facts[key], unit)
        except ParameterError as why:
            raise data.error(f"cannot read the {key}", got=why.got, allowed=why.allowed,
                             hint=why.hint or f"a line such as '# {key}: 12 {unit}'") from None
        return check_range(value, where=f"{data.name}, {key}", unit=unit, low=low, high=high)

    aperture = read("aperture", "m^2", 1e-4, 1e6)
    if aperture is None and found[0] != "efficiency":
        raise data.error("the aperture is not known", got=f"facts: {', '.join(facts) or 'none'}",
                         allowed=f"facts {', '.join(FACTS)}",
                         hint="a line '# aperture: 12 m2' above the table, or --aperture '12 m2'")
    altitude, pressure = read("altitude", "m", -500.0, 9000.0), read("pressure", "Pa", 1e3, 2e7)
    fluid = liquid("water" if found[0] == "boil-off" else facts.get("medium"), None if found[0] == "boil-off"
                   else facts.get("heat capacity"), facts.get("density"))
    return Heat(found[0], 1.0 if aperture is None else aperture, fluid, standard_pressure(altitude or 0.0)
                if pressure is None else pressure), read("content", "m^3", 0.0, 1e3)


def _density(heat: Heat, data: BenchData) -> float:
    if heat.kind != "flow" or (isinstance(heat.liquid, GivenLiquid) and not heat.liquid.density):
        return 1000.0
    return float(np.median(heat.liquid.rho(data.columns["inlet"], heat.pressure)))


def _known_terms(terms: Sequence[str] | None) -> None:
    for name in terms or ():
        if name not in TERMS:
            raise ParameterError("no such term", where="terms", got=repr(name), allowed=", ".join(TERMS),
                                 hint="terms=('eta0', 'a1', 'a2')")
    if terms is not None and ("eta0" not in terms or len(set(terms)) < len(terms)):
        raise ParameterError("terms must hold eta0 and each name once", where="terms", got=", ".join(terms) or "none",
                             allowed="eta0 and others", hint="terms=('eta0', 'a1', 'a2')")


def _candidates(points: Points, heat: Heat, modifier: IncidenceModifier | None, dynamic: bool,
                ) -> tuple[tuple[str, ...], tuple[Trial, ...]]:
    """Default terms that this test could tell at all, and why not the others."""
    at = conditions(points.columns, heat, points.rate, modifier)
    spread, angles = float(np.ptp(at["over"])), float(np.ptp(at["angle"]))
    flat = {"a2": spread < 30.0 and f"temperatures span only {spread:.0f} K, 30 K needed",
            "a3": float(np.std(at["wind"])) < 0.5 and ("wind hardly varies" if "wind" in points.columns else "no wind "
                                                       "was measured"),
            "k1": angles < 10.0 and "incidence hardly varies" or modifier is not None and "a modifier is given",
            "a5": not dynamic and "only steady rows are used"}
    flat["k2"] = flat["k1"]
    return tuple(t for t in DEFAULT if not flat.get(t)), tuple(Trial(t, str(why)) for t in DEFAULT
                                                               if (why := flat.get(t)))


def _regress(data: BenchData, points: Points, heat: Heat, modifier: IncidenceModifier | None, instruments: Instruments,
             candidates: Sequence[str], fixed: Sequence[str], threshold: float, limit: Any,
             ) -> tuple[tuple[str, ...], tuple[Trial, ...], NDArray[np.bool_], Array]:
    """Terms, dropped terms, points that stay, and their weights, in turn until nothing changes."""
    keep, u = np.ones(len(points), bool), np.ones(len(points))
    q, whole = balance(points.columns, heat, points.rate, modifier, candidates)
    place = {name: i for i, name in enumerate(candidates)}
    losses = [name for name in candidates if TERMS[name].loss]
    terms, dropped = tuple(candidates), tuple[Trial, ...]()
    for turn in range(8):
        def fit(names: Sequence[str], rows: NDArray[np.bool_] = keep, weight: Array = u) -> Estimate:
            return weighted_fit(whole[:, [place[n] for n in names]][rows], q[rows], weight[rows])

        before = (terms, keep.copy())
        terms, dropped = choose_terms(fit, candidates, losses, fixed, limit)
        X = whole[:, [place[n] for n in terms]]
        effects = instrument_effects(instruments, points.columns, heat, points.rate, modifier, terms, fit(terms).beta)
        u = np.sqrt(sum((e**2 for name, e in effects.items() if name not in ("aperture", "heat_capacity")),
                        np.zeros(len(points))))
        u = np.maximum(u, 1e-3 * max(float(u.max()), 1e-9))
        keep = ~find_outliers(X, q, u, threshold)
        if keep.mean() < 0.75:
            rows = [int(r) for i in np.flatnonzero(~keep) for r in points.rows[i]]
            raise data.error("too many points do not fit", rows=rows, got=f"{(~keep).sum()} of {len(keep)} points",
                             allowed="one in four at most", hint="look at the picture of all rows: a sensor that came "
                             "loose, another medium, a term that is missing; outliers=inf keeps them")
        if turn > 1 and terms == before[0] and np.array_equal(keep, before[1]):
            break
    return terms, dropped, keep, u


def _frame(points: Points, heat: Heat, modifier: IncidenceModifier | None, q: Array, fitted: Array,
           keep: NDArray[np.bool_]) -> pd.DataFrame:
    at = conditions(points.columns, heat, points.rate, modifier)
    return pd.DataFrame({"time": points.time, "rows": [tuple(int(r) for r in rows) for rows in points.rows],
                         "dni": points.columns["dni"], "beam": at["beam"], "ambient": at["ambient"],
                         "middle": at["middle"], "over": at["over"],
                         "outlet": points.columns.get("outlet", at["middle"]), "wind": at["wind"],
                         "angle": at["angle"],
                         "measured": q, "fitted": fitted, "residual": q - fitted, "used": keep})


def _off(frame: pd.DataFrame, i: int, scatter: float) -> str:
    off = float(frame["residual"].iloc[i])
    return (f"{row_text(frame['rows'].iloc[i])}: {abs(off):.0f} W/m2 {'above' if off > 0 else 'below'} the fit, about "
            f"which the others scatter by {scatter:.1f} W/m2")
