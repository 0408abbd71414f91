"""An optimal plan by linear programming: which load in which hour earns most, or meets most of a demand.

The plan is linear: outlets of the store stay at their design temperatures, what it loses is a share of what it holds,
and a step may be run in part. The exact march then executes it, and a plan made with perfect foresight that would earn
less there than the greedy rule is given up for it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple

import numpy as np

from loopnet.errors import ConvergenceError, ParameterError
from loopnet.params import param
from loopnet.year.demand import (
    FORESIGHT,
    LoadProfile,
    PriceSeries,
    demand_series,
    foresight_of,
    price_series,
    unmet,
    wanted_columns,
)
from loopnet.year.dispatch import Rule
from loopnet.year.outlook import Loads, Outlook

__all__ = ["OptimalPlan", "Planned", "Stretch", "solve_plan"]


class Stretch(NamedTuple):
    """Hours to be planned; heat is counted in steps of full load.

    Attributes
    ----------
    brought : array, shape (hours,)
        Heat that comes, over that of full load [-].
    drawn : array, shape (levels, hours)
        Heat that each level draws, over that of full load [-].
    gain : array, shape (levels, hours)
        What a level delivers, in units of the worth [-].
    worth : array, shape (hours,)
        Worth of what is delivered; only ratios matter [-].
    wanted : array, shape (hours,) or None
        Most that is worth anything, in the unit of `gain`; None for no limit [-].
    capacity, held : float
        Heat in a full store, and what it holds at the beginning, in steps of full load [-].
    leak : float
        Share of what is held that is lost in a step [-].
    start : float
        Heat of a start, in steps of full load [-].
    ready : float
        Share of a step for which the turbine is in order [-].
    running : bool
        Whether the turbine runs at the beginning.
    """

    brought: np.ndarray
    drawn: np.ndarray
    gain: np.ndarray
    worth: np.ndarray
    wanted: np.ndarray | None
    capacity: float
    held: float
    leak: float
    start: float
    ready: float
    running: bool


class Planned(NamedTuple):
    """A plan: `shares` of each step for which each level runs, shape (levels, hours); `store` at the end of each step,
    in steps of full load, shape (hours,); `worth` of what it delivers, as in the stretch."""

    shares: np.ndarray
    store: np.ndarray
    worth: float


def solve_plan(stretch: Stretch) -> Planned:
    """The plan that is worth most, by linear programming.

    maximise sum_t w_t d_t, where d_t = sum_k g_kt x_kt, or no more than what is wanted, with
    S_t = (1 - leak) S_(t-1) + c_t - sum_k q_kt x_kt - start s_t, 0 <= S_t <= capacity, 0 <= c_t <= brought_t,
    sum_k x_kt <= ready, s_t >= sum_k (x_kt - x_k,t-1).

    Parameters
    ----------
    stretch : Stretch

    Returns
    -------
    Planned

    Raises
    ------
    ConvergenceError
        If no plan is found.

    Notes
    -----
    Solved by HiGHS: Huangfu and Hall, Mathematical Programming Computation 10 (2018) 119, from memory.

    Examples
    --------
    Heat for one step of full load, two prices: it is kept for the dearer one.

    >>> one = np.ones((1, 2))
    >>> made = solve_plan(Stretch(np.array([1.0, 0.0]), one, one, np.array([2.0, 3.0]), None, 5.0, 0.0, 0.0, 0.0, 1.0,
    ...                           True))
    >>> (made.shares.round(6) + 0.0).tolist(), round(made.worth, 6)
    ([[0.0, 1.0]], 3.0)
    """
    from scipy import sparse
    from scipy.optimize import linprog  # slow to import, and few plans are made

    levels, n = stretch.drawn.shape
    size = max(float(np.abs(stretch.gain).max()), 1e-30)  # so that all numbers are near one
    money = max(float(np.abs(stretch.worth).max()), 1e-30)
    gain, worth = stretch.gain / size, stretch.worth / money
    eye, zero = sparse.identity(n, format="csr"), sparse.csr_matrix((n, n))
    first = np.eye(1, n).ravel()
    # unknowns: x of each level, heat taken c, store S, starts s; where delivery is limited, delivery d
    columns = [*(sparse.diags(row) for row in stretch.drawn), -eye, eye - (1 - stretch.leak) * sparse.eye(n, k=-1),
               stretch.start * eye]
    once = [*[eye] * levels, zero, zero, zero]
    begins = [*[eye - sparse.eye(n, k=-1)] * levels, zero, zero, -eye]
    most = [np.ones(n * levels), np.maximum(stretch.brought, 0.0), np.full(n, stretch.capacity), np.ones(n)]
    least, limits = np.zeros(n * (levels + 3)), [np.full(n, stretch.ready), first * stretch.running]
    value, rows = np.concatenate([(gain * worth).ravel(), np.zeros(3 * n)]), [once, begins]
    if stretch.wanted is not None:
        columns, rows = [*columns, zero], [[*row, zero] for row in rows]
        rows.append([*(-sparse.diags(row) for row in gain), zero, zero, zero, eye])
        limits.append(np.zeros(n))
        most.append(stretch.wanted / size)
        least, value = np.zeros(n * (levels + 4)), np.concatenate([np.zeros(n * (levels + 3)), worth])
    found = linprog(-value, A_ub=sparse.bmat(rows).tocsc(), b_ub=np.concatenate(limits),
                    A_eq=sparse.hstack(columns).tocsc(), b_eq=first * (1 - stretch.leak) * stretch.held,
                    bounds=np.stack([least, np.concatenate(most)], axis=1), method="highs")
    if found.x is None or found.status != 0:
        raise ConvergenceError("no plan was found", where="solve_plan", got=found.message, allowed="an optimum",
                               hint="a shorter horizon, or report this with the stretch of weather")
    shares, _, store = np.split(found.x[:n * (levels + 2)], np.cumsum([n * levels, n]))
    return Planned(shares.reshape(levels, n), store, -float(found.fun) * money * size)


@dataclass(frozen=True, kw_only=True)
class OptimalPlan(Rule):
    """Plan ahead by linear programming, for prices, for a demand, or for a demand at prices.

    With `foresight` "yesterday" the coming `horizon` is planned anew at the beginning of every day, and when the store
    holds more or less than planned by `surprise`, the sun taken to be as yesterday's. With "perfect" the whole stretch
    is planned at once, which no operator can do: an upper bound. If that plan earns less than the greedy rule on the
    exact march, the greedy rule runs, and the result says so. `prices` [USD/J] and `demand` (share of the delivery at
    the design point) are 24 or 8760 values each, or paths of files with them.

    >>> print(OptimalPlan(prices=[5e-8] * 12 + [9e-8] * 12, foresight="perfect"))
    optimal plan (prices: given values, sun known beforehand)
    """

    title: ClassVar[str] = "optimal plan"

    prices: Any = None
    demand: Any = None
    foresight: str = "yesterday"
    horizon: Any = param("48 hour", unit="s", low=3600.0, high=1.3e6, source="assumption",
                         doc="time over which is planned, unless foresight is perfect")
    surprise: Any = param("4 hour", unit="s", low=900.0, high=1.3e6, source="assumption",
                          doc="heat off the plan, as time of full load, at which it is made anew")

    def __post_init__(self) -> None:
        super().__post_init__()
        foresight_of(self.foresight, "OptimalPlan.foresight")
        if self.prices is None and self.demand is None:
            raise ParameterError("nothing to plan for", where="OptimalPlan", got="neither prices nor demand",
                                 allowed="prices, demand, or both", hint='prices="prices.csv"')
        if self.prices is not None:
            object.__setattr__(self, "prices", price_series(self.prices, "OptimalPlan.prices"))
        if self.demand is not None:
            object.__setattr__(self, "demand", demand_series(self.demand, "OptimalPlan.demand"))

    def __str__(self) -> str:
        wanted = [f"{what}: {series.name}" for what, series in (("prices", self.prices), ("demand", self.demand))
                  if series is not None]
        ahead = "" if self.foresight == "perfect" else f", {self.horizon / 3600:g} h ahead"
        return f"{self.title} ({', '.join(wanted)}{ahead}, {FORESIGHT[self.foresight]})"

    def for_year(self, outlook: Outlook) -> Loads:
        columns = wanted_columns(self, outlook.hour, outlook.rated)
        worth, wanted = columns.get("price", np.ones(len(outlook))), columns.get("demand")
        if self.foresight != "perfect":
            return Loads(_replanned(self, outlook, worth, wanted))
        made = solve_plan(_stretch(outlook, worth, wanted, slice(0, len(outlook)), outlook.brought, 0.0, False))
        plan = Loads(_executed(rounded(made, outlook.levels)))
        if self.demand is None:
            rival = PriceSeries(prices=self.prices, foresight="perfect")
            greedy, name = rival.greedy(outlook, worth), rival.title
        else:
            greedy, name = LoadProfile(demand=self.demand).for_year(outlook).ask, LoadProfile.title
        ours, theirs = (self.earned(outlook.trial(loads), worth, wanted) for loads in (plan, Loads(greedy)))
        if ours >= theirs:
            return plan
        lead = f" by {100 * (theirs / ours - 1):.2g} %" if ours > 0.0 else ""
        return Loads(greedy, (f"the linear plan earned less than the greedy rule ({name}) on the exact march{lead}, so "
                              "the greedy rule ran",))

    @staticmethod
    def earned(delivered: np.ndarray, worth: np.ndarray, wanted: np.ndarray | None) -> float:
        """Sum of worth times delivery, of which only what is wanted counts.

        Parameters
        ----------
        delivered, worth : array, shape (hours,)
            What leaves the gate [W], and its worth [USD/J or -].
        wanted : array, shape (hours,), or None
            Demand [W].

        Returns
        -------
        float
            Worth in a second of each step [USD/s or W].
        """
        met = delivered if wanted is None else wanted - unmet(wanted, delivered)
        return float(np.sum(worth * met))


def rounded(made: Planned, levels: tuple[float, ...]) -> np.ndarray:
    """Loads to ask for in each step: a level or nothing, from shares that may be parts.

    A step that is run in part is run at the level nearest to its mean. Where the plan empties the store anyway, any
    part is asked for, since the turbine then stops by itself when the heat ends; else half a step or more.

    Parameters
    ----------
    made : Planned
    levels : tuple of float
        Loads that may be asked for, ascending [-].

    Returns
    -------
    array, shape (hours,)
        0 or one of the levels [-].

    Examples
    --------
    >>> rounded(Planned(np.array([[0.2, 0.2, 0.0], [0.6, 0.0, 0.0]]), np.array([3.0, 2.0, 2.0]), 0.0), (0.5, 1.0))
    array([1., 0., 0.])
    """
    share = made.shares.sum(axis=0)
    mean = np.array(levels) @ made.shares / np.maximum(share, 1e-9)
    nearest = np.array(levels)[np.abs(mean[:, None] - np.array(levels)).argmin(axis=1)]
    return np.where(share >= np.where(made.store < 1e-6, 0.02, 0.5), nearest, 0.0)


def _stretch(outlook: Outlook, worth: np.ndarray, wanted: np.ndarray | None, hours: slice, brought: np.ndarray,
             held: float, running: bool) -> Stretch:
    step = outlook.full * outlook.dt
    return Stretch(brought * outlook.ready / outlook.full, outlook.drawn[:, hours] / outlook.full,
                   outlook.delivered[:, hours], worth[hours], None if wanted is None else wanted[hours],
                   outlook.capacity / step, min(held / outlook.dt, outlook.capacity / step), outlook.leak,
                   outlook.start / step, outlook.ready, running)


def _executed(asked: np.ndarray) -> Callable[[int, float, bool, bool], float]:
    loads = asked.tolist()

    def ask(hour: int, held: float, sunny: bool, running: bool) -> float:
        return loads[hour] if held > 0.0 or sunny else 0.0

    return ask


def _replanned(rule: OptimalPlan, outlook: Outlook, worth: np.ndarray,
               wanted: np.ndarray | None) -> Callable[[int, float, bool, bool], float]:
    """A plan that is made anew at every midnight and after every surprise, from what the store then holds and what can
    be expected; full load rather than mirrors turned away by a full store."""
    ahead = max(1, round(rule.horizon / outlook.dt))
    asked, content = np.zeros(len(outlook)), np.zeros(len(outlook) + 1)
    most = outlook.capacity / outlook.full

    def ask(hour: int, held: float, sunny: bool, running: bool) -> float:
        if hour % outlook.day == 0 or abs(held / outlook.dt - content[hour]) > rule.surprise / outlook.dt:
            hours = slice(hour, min(len(outlook), hour + ahead))
            expected = outlook.heat_to_come(rule.foresight, hour, ahead)
            made = solve_plan(_stretch(outlook, worth, wanted, hours, expected, held, running))
            asked[hours] = rounded(made, outlook.levels)
            content[hour], content[hour + 1:hours.stop + 1] = held / outlook.dt, made.store
        if held + outlook.brought[hour] / outlook.full * outlook.dt > most and worth[hour] > 0.0:
            return 1.0
        return float(asked[hour]) if held > 0.0 or sunny else 0.0

    return ask
