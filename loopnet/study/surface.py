"""A response surface: every slope of a cost (its price factors) as a smooth function of uncertain physics and finance.

Prices enter a cost linearly, so only the slopes need a surface. It is fitted to full-model runs spread over the ranges,
and checked by leaving out one run after the other and predicting its cost from the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.errors import LoopnetError, ParameterError
from loopnet.study.case import Case
from loopnet.study.knob import knob
from loopnet.study.uncertain import Uncertain

__all__ = ["Surface", "fit_surface", "spread"]

Array = NDArray[np.float64]
FINANCE_POINTS = 6
"""Points of finance at which each run's cost is reckoned; they take no run of their own."""


def spread(count: int, dimensions: int, seed: int = 1) -> Array:
    """Points of an optimised Latin hypercube, with the centre as the first.

    Parameters
    ----------
    count, dimensions : int
        How many points, in how many directions [-].
    seed : int
        Start of the random numbers [-].

    Returns
    -------
    array, shape (count, dimensions)
        Between -1 and 1 [-].

    References
    ----------
    M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21 (1979) 239-245; from memory.
    """
    if dimensions == 0 or count <= 1:
        return np.zeros((max(count, 1), dimensions))
    from scipy.stats import qmc  # a slow import

    # the outermost cells reach the ends of the ranges, so that hardly anything is extrapolated
    cells = qmc.LatinHypercube(dimensions, scramble=False, optimization="random-cd", rng=seed).random(count - 1)
    points = 2.0 * cells - 1.0
    return np.vstack([np.zeros(dimensions), points * ((count - 1) / max(count - 2, 1))])


@dataclass(frozen=True, kw_only=True)
class Surface:
    """Slopes of one plant's cost over its uncertain physics and finance.

    Parameters
    ----------
    plant, product : str
        Whose cost, of what.
    inputs : tuple of Uncertain
        What it depends on, in the order of its coordinates.
    keys : tuple of str
        Price keys; the last output is what is no price.
    logarithmic : array of bool, shape (outputs,)
        Whether an output is fitted by its logarithm.
    coefficients : array, shape (terms, outputs)
        Of 1, z, z^2 and the products of pairs if there are any [-, or USD/kWh per price unit].
    pairs : bool
        Whether products of pairs are among the terms.
    runs : int
        Runs of the full model behind it [-].
    error_rms, error_worst : float
        Relative error of the cost at likely prices, each run predicted without itself [-].
    likely : float
        Cost of the full model at all likely values [USD/kWh].
    notes : tuple of str
        Runs that could not be computed, and the like.
    """

    plant: str
    product: str
    inputs: tuple[Uncertain, ...]
    keys: tuple[str, ...]
    logarithmic: NDArray[np.bool_]
    coefficients: Array
    pairs: bool
    runs: int
    error_rms: float
    error_worst: float
    likely: float
    notes: tuple[str, ...] = ()

    def slopes(self, values: Mapping[str, Any]) -> Array:
        """Slopes and, last, the part that is no price.

        Parameters
        ----------
        values : mapping of str to array, shape (n,)
            Values of the inputs by name [each in its unit].

        Returns
        -------
        array, shape (n, outputs)
            USD/kWh for each unit of a price; the last column in USD/kWh.
        """
        columns = [_scaled(np.asarray(values[u.name], float), u) for u in self.inputs]
        z = np.stack(columns, axis=-1) if columns else np.zeros((1, 0))
        out = _terms(z, self.pairs) @ self.coefficients
        out[:, self.logarithmic] = np.exp(out[:, self.logarithmic])
        return out

    def cost(self, values: Mapping[str, Any], prices: Mapping[str, Any]) -> Array:
        """Cost at values of the inputs and prices, both by name.

        Parameters
        ----------
        values : mapping of str to array, shape (n,)
            Inputs [each in its unit].
        prices : mapping of str to float or array, shape (n,)
            Every price of `keys` [each in its unit].

        Returns
        -------
        array, shape (n,)
            Levelised cost [USD/kWh].
        """
        slopes = self.slopes(values)
        total = slopes[:, -1]
        for k, key in enumerate(self.keys):
            total = total + slopes[:, k] * prices[key]
        return np.asarray(total, float)

    def to_dict(self) -> dict[str, Any]:
        """How good it is, and what it depends on."""
        return {"plant": self.plant, "runs": self.runs, "error_rms": self.error_rms, "error_worst": self.error_worst,
                "likely_usd_per_kwh": self.likely, "pairs": self.pairs, "inputs": [u.to_dict() for u in self.inputs],
                "notes": list(self.notes)}

    def to_frame(self) -> Any:
        """Its inputs."""
        import pandas as pd

        return pd.DataFrame([u.to_dict() for u in self.inputs])

    def __repr__(self) -> str:
        return (f"<Surface {self.plant}: {len(self.inputs)} inputs, {self.runs} runs, error "
                f"{100 * self.error_rms:.2g} % rms, {100 * self.error_worst:.2g} % at worst>")

    def _repr_html_(self) -> str:
        from html import escape

        return f"<p>{escape(repr(self)[1:-1])}</p>{self.to_frame().to_html(index=False)}"


def _scaled(values: Array, u: Uncertain) -> Array:
    return (values - 0.5 * (u.low + u.high)) / (0.5 * (u.high - u.low))


def _terms(z: Array, pairs: bool) -> Array:
    columns = [np.ones(len(z)), *z.T, *(z * z).T]
    if pairs:
        columns += [z[:, a] * z[:, b] for a, b in combinations(range(z.shape[1]), 2)]
    return np.stack(columns, axis=-1)


def fit_surface(case: Case, inputs: Sequence[Uncertain], *, runs: int | None = None, seed: int = 1,
                progress: Callable[[str, float], None] | None = None) -> Surface:
    """Run the full model over the ranges of some inputs and fit the slopes of its cost.

    Parameters
    ----------
    case : Case
    inputs : sequence of Uncertain
        Physics and finance, not prices.
    runs : int, optional
        Runs of the full model [-]; two for each physical input and three more, if left out.
    seed : int
        Of the spread of points [-].
    progress : callable, optional
        Called with what is being done and the share that is done [-].

    Returns
    -------
    Surface

    Raises
    ------
    ParameterError
        If there are fewer runs than the surface has terms, or too many of them cannot be computed.

    Notes
    -----
    Quadratic in the logarithms of the slopes: where one input multiplies the effect of another, as efficiencies do,
    the logarithm needs no products of pairs; with many runs they are fitted too. Slopes that are zero somewhere are
    fitted as they are. Finance does not change the physics, so each run is reckoned at several points of finance.
    """
    knobs = {u.name: knob(case, u.path) for u in inputs}
    physical = [u for u in inputs if knobs[u.name].physical]
    money = [u for u in inputs if not knobs[u.name].physical]
    size = 1 + 2 * len(physical)
    wanted = (1 if not physical else 2 * len(physical) + 3) if runs is None else runs
    if wanted < size + bool(physical):
        raise ParameterError("too few runs for a surface", where="fit_surface.runs", got=str(wanted),
                             allowed=f"{size + 1} or more for {len(physical)} inputs",
                             hint="fewer inputs, or more runs")
    points, notes, rows, costs, group = spread(wanted, len(physical), seed), [], [], [], []
    finance = spread(FINANCE_POINTS * len(money) + 1 if money else 1, len(money), seed + 1)
    likely = case.assessment.cost
    keys = tuple(likely.slopes)
    for number, point in enumerate(points):
        if progress:
            progress("physics of what is uncertain", number / len(points))
        values = {u.name: 0.5 * (u.low + u.high) + 0.5 * (u.high - u.low) * z for u, z in zip(
            physical, point, strict=True)}
        try:
            moved = case
            for u in physical:
                if values[u.name] != u.likely:
                    moved = knobs[u.name].turn(moved, values[u.name])
            found = [_at_finance(moved, money, place, knobs) for place in finance]
        except LoopnetError as why:
            notes.append(f"{case.name}: a run of the spread could not be computed and is left out ({why})")
            continue
        for place, cost in zip(finance, found, strict=True):
            rows.append([*point, *place])
            costs.append([*(cost.slopes.get(key, 0.0) for key in keys), cost.given])
            group.append(number)
    if len(set(group)) < size + bool(physical):
        raise ParameterError("too many runs of the spread could not be computed", where=f"plant {case.name!r}",
                             got=f"{len(set(group))} of {len(points)}", allowed=f"{size + 1} or more",
                             hint=notes[0] if notes else "narrower ranges")
    surface = _fit(np.array(rows), np.array(costs), np.array(group), len(physical))
    prices = np.array([*(case.book[key].value for key in keys), 1.0])
    rms, worst = _cross(surface, np.array(rows), np.array(costs), np.array(group), prices)
    return Surface(plant=case.name, product=likely.product, inputs=(*physical, *money), keys=keys,
                   logarithmic=surface[1], coefficients=surface[0], pairs=surface[2], runs=len(set(group)),
                   error_rms=rms, error_worst=worst, likely=likely.usd_per_kwh,
                   notes=(*notes, *(u.note for u in inputs if u.note)))


def _at_finance(case: Case, money: Sequence[Uncertain], place: Array, knobs: Mapping[str, Any]) -> Any:
    for u, z in zip(money, place, strict=True):
        case = knobs[u.name].turn(case, 0.5 * (u.low + u.high) + 0.5 * (u.high - u.low) * float(z))
    return case.assessment.cost


def _fit(z: Array, y: Array, group: NDArray[Any], physical: int) -> tuple[Array, NDArray[np.bool_], bool]:
    logarithmic: NDArray[np.bool_] = np.asarray((y > 0.0).all(axis=0))
    shaped = y.copy()
    shaped[:, logarithmic] = np.log(y[:, logarithmic])
    full = 1 + 2 * physical + physical * (physical - 1) // 2
    pairs = len(set(group.tolist())) >= 1.4 * full and physical > 1
    coefficients: Array = np.asarray(np.linalg.lstsq(_terms(z, pairs), shaped, rcond=None)[0], float)
    return coefficients, logarithmic, pairs


def _predict(fit: tuple[Array, NDArray[np.bool_], bool], z: Array) -> Array:
    out = _terms(z, fit[2]) @ fit[0]
    out[:, fit[1]] = np.exp(out[:, fit[1]])
    return out


def _cross(fit: tuple[Array, NDArray[np.bool_], bool], z: Array, y: Array, group: NDArray[Any],
           prices: Array) -> tuple[float, float]:
    """Relative error of the cost, root of mean square and worst: each run predicted from all others; where there is a
    single run, each of its points of finance from the others."""
    folds = group if len(set(group.tolist())) > 1 else np.arange(len(group))
    if len(folds) < 2:
        return 0.0, 0.0
    errors = []
    for fold in sorted(set(folds.tolist())):
        out = folds == fold
        shaped = y[~out].copy()
        shaped[:, fit[1]] = np.log(shaped[:, fit[1]])
        part = np.linalg.lstsq(_terms(z[~out], fit[2]), shaped, rcond=None)[0]
        errors += list(_predict((part, fit[1], fit[2]), z[out]) @ prices / (y[out] @ prices) - 1.0)
    return float(np.sqrt(np.mean(np.square(errors)))), float(np.max(np.abs(errors)))
