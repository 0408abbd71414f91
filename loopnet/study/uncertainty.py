"""How sure a ranking is: ten thousand draws of prices, physics and finance, the same for all plants, and who is first.
Prices enter exactly, for the cost is linear in them; physics and finance by a response surface whose error is told."""

from __future__ import annotations

import multiprocessing
import os
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.errors import ParameterError
from loopnet.shown import shown
from loopnet.study.case import Case
from loopnet.study.chance import draw, moving_together
from loopnet.study.sensitivity import first_order, share_first
from loopnet.study.surface import Surface, fit_surface
from loopnet.study.uncertain import Uncertain, price_ranges, uncertainties

__all__ = ["Uncertainty", "fit_surfaces", "uncertainty"]

Array = NDArray[np.float64]
LEAST = 100
"""Fewest draws that say anything about a share of per cents [-]."""


@dataclass(frozen=True, kw_only=True)
class Uncertainty:
    """Costs of several plants under the same draws.

    Parameters
    ----------
    product : str
        What all of them deliver.
    surfaces : tuple of Surface
        One for each plant.
    costs : array, shape (plants, samples)
        Levelised costs [USD/kWh].
    draws : dict
        Name -> values, shape (samples,) [each in its unit].
    ranges : dict
        Name -> what it is, with its range and source.
    shape : str
        ``"pert"`` or ``"triangular"``.
    seed : int
        Start of the random numbers [-].
    seconds : float
        Time that drawing and reckoning took, surfaces not counted [s].
    """

    product: str
    surfaces: tuple[Surface, ...]
    costs: Array = field(repr=False)
    draws: dict[str, Array] = field(repr=False)
    ranges: dict[str, Uncertain] = field(repr=False)
    shape: str
    seed: int
    seconds: float

    @property
    def plants(self) -> tuple[str, ...]:
        """Names of the plants."""
        return tuple(surface.plant for surface in self.surfaces)

    @property
    def samples(self) -> int:
        """How many draws [-]."""
        return int(self.costs.shape[1])

    @cached_property
    def probability_first(self) -> dict[str, float]:
        """How often each plant is the cheapest [-]."""
        return self._first(self.costs)

    def _first(self, costs: Array) -> dict[str, float]:
        count = np.bincount(np.argmin(costs, axis=0), minlength=len(self.plants))
        return {name: float(n / costs.shape[1]) for name, n in zip(self.plants, count, strict=True)}

    @property
    def standard_error(self) -> dict[str, float]:
        """Standard error of those probabilities, sqrt(p (1 - p) / samples) [-]; where a plant is never or always first,
        3 / samples, the bound that holds in 95 of 100 cases."""
        return {name: 3.0 / self.samples if p in (0.0, 1.0) else float(np.sqrt(p * (1.0 - p) / self.samples))
                for name, p in self.probability_first.items()}

    @cached_property
    def surface_effect(self) -> float:
        """Largest change of any of those probabilities when the error of the surfaces is drawn as well, each plant's
        on its own [-]."""
        noise = np.random.default_rng(self.seed + 1).standard_normal(self.costs.shape)
        again = self._first(self.costs * (1.0 + noise * np.array([[s.error_rms] for s in self.surfaces])))
        return max(abs(again[name] - p) for name, p in self.probability_first.items())

    @property
    def cheaper(self) -> Any:
        """How often the plant of the row is cheaper than that of the column [-]."""
        import pandas as pd

        table = [[float((a < b).mean()) for b in self.costs] for a in self.costs]
        return pd.DataFrame(table, index=list(self.plants), columns=list(self.plants))

    @property
    def contenders(self) -> tuple[str, ...]:
        """The two plants that are first most often, of plants that never are the one with the lowest mean; fewer where
        there are fewer plants."""
        order = sorted(self.plants, key=lambda n: (-self.probability_first[n], self.costs[self.plants.index(n)].mean()))
        return tuple(order[:2])

    def deciders(self, first: str | None = None, second: str | None = None) -> Any:
        """Which uncertainty decides the order of two plants.

        Parameters
        ----------
        first, second : str, optional
            Names of plants; the two contenders if left out.

        Returns
        -------
        DataFrame
            By name: the share of the variance of the difference in cost that it explains alone [-], and how often the
            first plant is cheaper where it is in its lowest and in its highest fifth [-]; most important first.
        """
        import pandas as pd

        one, two = (self.costs[self._place(name)] for name in (
            (first, second) if first and second else self.contenders))
        gap = two - one
        rows = {name: (first_order(values, gap), *share_first(values, gap > 0.0))
                for name, values in self.draws.items()}
        frame = pd.DataFrame.from_dict(rows, orient="index", columns=["share", "first if low", "first if high"])
        return frame.sort_values("share", ascending=False)

    def _place(self, name: str) -> int:
        if name not in self.plants:
            raise ParameterError("no such plant among these", where="uncertainty", got=repr(name),
                                 allowed=", ".join(self.plants), hint=self.plants[0])
        return self.plants.index(name)

    def sentences(self) -> list[str]:
        """What it says, to be read aloud."""
        best, chances = self.contenders[0], self.probability_first
        low, middle, high = np.percentile(self.costs[self.plants.index(best)], (10, 50, 90))
        out = [f"In {self.samples:,} draws, {best} is first in {_share(chances[best])} (standard error "
               f"{_share(self.standard_error[best], 2)}); a kWh of {self.product} from it costs {100 * middle:.1f} US "
               f"cents, and in eight of ten draws {100 * low:.1f} to {100 * high:.1f}."]
        if len(self.plants) > 1:
            one, two = self.contenders
            top = self.deciders()
            name, row = str(top.index[0]), top.iloc[0]
            out.append(f"What decides between {one} and {two} is above all {name} ({_share(row['share'], 0)} of the "
                       f"variance of their difference): {one} is the cheaper of the two in "
                       f"{_share(row['first if low'])} of the draws where it is low, in "
                       f"{_share(row['first if high'])} where it is high.")
        return out

    def checks(self) -> str:
        """How far the numbers can be trusted, in a line."""
        worst = max(self.surfaces, key=lambda s: s.error_rms)
        surface = (f"surfaces of {sum(s.runs for s in self.surfaces)} full-model runs, error by leaving out run after "
                   f"run {100 * worst.error_rms:.2g} % rms and {100 * max(s.error_worst for s in self.surfaces):.2g} % "
                   f"at worst ({worst.plant} the largest rms); drawing that error too moves the probabilities by up to "
                   f"{_share(self.surface_effect, 2)}" if any(s.inputs for s in self.surfaces)
                   else "prices alone, which enter exactly")
        return (f"{self.samples:,} draws in {self.seconds:.2f} s, the same for all plants; standard error of the "
                f"probabilities at most {_share(max(self.standard_error.values()), 2)}; {surface}")

    def to_frame(self) -> Any:
        """One row per plant, most often first on top [US ct/kWh; shares]."""
        import pandas as pd

        rows = {}
        for surface, costs in zip(self.surfaces, 100 * self.costs, strict=True):
            name, (low, middle, high) = surface.plant, np.percentile(costs, (10, 50, 90))
            rows[name] = {"first": self.probability_first[name], "standard error": self.standard_error[name],
                          "likely": 100 * surface.likely, "mean": costs.mean(), "10 %": low, "50 %": middle,
                          "90 %": high}
        return pd.DataFrame.from_dict(rows, orient="index").sort_values(["first", "mean"], ascending=[False, True])

    def to_dict(self) -> dict[str, Any]:
        """Plain dict of numbers and text."""
        table = self.to_frame()
        return {"product": self.product, "samples": self.samples, "seed": self.seed, "shape": self.shape,
                "seconds": self.seconds, "probability_first": dict(self.probability_first),
                "standard_error": dict(self.standard_error), "surface_effect": self.surface_effect,
                "usd_per_kwh": {str(name): {key: float(row[key]) / 100 for key in ("likely", "mean", "10 %", "50 %",
                                                                                  "90 %")}
                                for name, row in table.iterrows()},
                "surfaces": [surface.to_dict() for surface in self.surfaces],
                "deciders": self.deciders().head(10).to_dict("index") if len(self.plants) > 1 else {}}

    def __repr__(self) -> str:
        chances = sorted(self.probability_first.items(), key=lambda pair: -pair[1])
        return (f"<Uncertainty of {self.product}, {self.samples:,} draws; first: "
                + ", ".join(f"{name} {_share(p)}" for name, p in chances) + ">")

    def _repr_html_(self) -> str:
        return shown(self)


def _share(value: float, digits: int = 1) -> str:
    return f"{100 * value:.{digits}f} %"


def fit_surfaces(cases: Sequence[Case], *, only: tuple[str, ...] | None = None, runs: int | None = None,
                 jobs: int | None = None, progress: Callable[[str, str, float], None] | None = None
                 ) -> tuple[Surface, ...]:
    """Surfaces of several plants over what the shipped list says is uncertain, side by side in processes.

    Parameters
    ----------
    cases : sequence of Case
    only : tuple of str, optional
        Entries of the list; all if left out, none if empty: prices alone, for which no run is needed.
    runs : int, optional
        Runs of the full model for each plant [-]; as `fit_surface` chooses if left out.
    jobs : int, optional
        Processes [-]; as many as there are processors if left out.
    progress : callable, optional
        Called with plant, step and the share that is done [-].

    Returns
    -------
    tuple of Surface
        In the order of the cases.
    """
    tell = progress or (lambda plant, what, share: None)
    for case in cases:
        case.solved()
    inputs = [uncertainties(case, only=only) for case in cases]
    free = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    count = min(jobs or free, len(cases))
    if count <= 1 or not any(inputs):
        return tuple(fit_surface(case, own, runs=runs, progress=lambda what, share, name=case.name: tell(  # type: ignore[misc]
            name, what, share)) for case, own in zip(cases, inputs, strict=True))
    context = multiprocessing.get_context("fork" if sys.platform == "linux" else "spawn")
    with ProcessPoolExecutor(count, mp_context=context) as pool:
        futures = {pool.submit(fit_surface, case, own, runs=runs): case.name
                   for case, own in zip(cases, inputs, strict=True)}
        for name in futures.values():
            tell(name, "physics of what is uncertain", 0.0)
        for future in as_completed(futures):
            tell(futures[future], "physics of what is uncertain", 1.0)
        return tuple(future.result() for future in futures)


def uncertainty(cases: Sequence[Case], surfaces: Sequence[Surface] | None = None, *, samples: int = 10_000,
                shape: str = "pert", market: float = 0.0, correlations: Mapping[tuple[str, str], float] | None = None,
                seed: int = 1, progress: Callable[[str, str, float], None] | None = None) -> Uncertainty:
    """Draw what is uncertain, and see how often each plant is the cheapest.

    Parameters
    ----------
    cases : sequence of Case
        Plants that deliver the same product, at the prices of one book.
    surfaces : sequence of Surface, optional
        As `fit_surfaces` makes them for these cases; made here if left out.
    samples : int
        Draws [-]; each holds one value of every price and of every other uncertain number, used for all plants.
    shape : str
        ``"pert"`` (smooth, most weight near the likely value) or ``"triangular"``, between low and high.
    market : float
        Correlation of all prices with each other [-], 0 to less than 1.
    correlations : mapping of pairs of names to float, optional
        Correlation of single pairs [-], prices by key, others by name.
    seed : int
        Start of the random numbers [-].
    progress : callable, optional
        Called with plant, step and the share that is done [-].

    Returns
    -------
    Uncertainty

    Raises
    ------
    ParameterError
        If the plants deliver different goods, are reckoned at different prices, or the draws are too few.

    Notes
    -----
    A price that several plants pay is one draw, so it moves them together; so is the sun, the dust and the rate.
    Correlations are those of normal scores (a Gaussian copula).
    """
    if samples < LEAST:
        raise ParameterError("too few draws", where="uncertainty.samples", got=str(samples),
                             allowed=f"{LEAST} or more", hint="10000")
    products = sorted({case.assessment.cost.product for case in cases})
    if len(products) != 1:
        raise ParameterError("plants that deliver different goods have no common order", where="uncertainty",
                             got=", ".join(products) or "no plant", allowed="plants of one product",
                             hint="one call for each product")
    prices: dict[str, Uncertain] = {}
    for case in cases:
        for u in price_ranges(case):
            if prices.setdefault(u.name, u) != u:
                raise ParameterError("the plants are reckoned at different prices", where="uncertainty", got=repr(u),
                                     allowed=repr(prices[u.name]), hint="one price book for all cases")
    fitted = tuple(surfaces) if surfaces is not None else fit_surfaces(cases, progress=progress)
    start = time.perf_counter()
    others = [u for surface in fitted for u in surface.inputs]
    ranges = {**prices, **{u.name: u for u in others}}
    shares = moving_together(list(ranges), samples, seed, market=market, market_of=list(prices),
                             correlations=correlations)
    made: dict[Any, Array] = {}

    def drawn(u: Uncertain) -> Array:
        """One share of the range for all plants that carry the name, each over a range of its own."""
        span = (u.low, u.likely, u.high)
        if (u.name, span) not in made:
            made[u.name, span] = draw({u.name: span}, shares, shape)[u.name]
        return made[u.name, span]

    costs = []
    for case, surface in zip(cases, fitted, strict=True):
        paid = {key: drawn(prices[key]) if key in prices else case.book[key].value for key in surface.keys}
        costs.append(np.broadcast_to(surface.cost({u.name: drawn(u) for u in surface.inputs}, paid), (samples,)))
    seen = {name: drawn(u) for name, u in ranges.items()}
    return Uncertainty(product=products[0], surfaces=fitted, costs=np.array(costs), draws=seen, ranges=ranges,
                       shape=shape, seed=seed, seconds=time.perf_counter() - start)
