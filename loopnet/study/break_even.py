"""Break-even: the value of one number at which a plant meets a target cost, or ties with another plant.
The full model is evaluated at every value; where no value does it, the answer says so, and why."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from math import copysign, inf, isfinite, isinf
from typing import Any

from scipy.optimize import brentq, minimize_scalar

from loopnet.errors import LoopnetError, ParameterError
from loopnet.study.case import Case
from loopnet.study.knob import Knob, knob
from loopnet.units import Quantity

__all__ = ["COMMON_TARGETS", "BreakEven", "break_even"]

COMMON_TARGETS = {"heat": 0.005, "electricity": 0.05}
"""USD/kWh at which heat costs about a tenth of heat from gas, and electricity five cents: goals that are often named;
common practice, no source."""
CLOSE = 1e-7
"""Relative gap to the goal at which the search ends [-]; what is promised is 1e-6."""
STEP = 1e-3
"""A year counts whole starts and stops, so a cost may step over the goal; steps up to this share of it are told and
taken for an answer, larger ones are not [-]."""
DIP = 12
"""Most values tried beside the best one, where none of the others met the goal [-]."""
RINGS = (0.03, 0.08, 0.17, 0.33, 0.6, 1.0, 1.8, 3.5)
"""Growth of a number, ring by ring outwards from its value now, in the search for a change of sign [-]; downwards it is
divided by as much."""
GIFT = "even as a gift it would not do: the other terms alone cost more"
SPANS = (5.0, 12.0, 25.0, 45.0, 75.0, 120.0, 190.0, 300.0)
"""The same for a temperature [K]."""


@dataclass(frozen=True, kw_only=True)
class BreakEven:
    """What it would take.

    Parameters
    ----------
    plant, product : str
        Whose cost, and of what.
    vary : Knob
        The number that was varied.
    goal : float
        Cost that was to be met: the target, or the other plant's cost now [USD/kWh].
    rival : str
        The other plant of a tie; empty for a target.
    value : float or None
        The value that does it [unit of `vary`]; None where there is none.
    cost : float or None
        Cost of the full model at that value [USD/kWh]; the goal to 1e-6, but for what `step` says.
    goal_there : float or None
        Goal at that value, which for a tie may differ from `goal` [USD/kWh].
    step : float
        By how much the cost steps over the goal at the value, because a year counts whole starts and stops [USD/kWh]; 0
        where it goes through the goal.
    why : str
        A sentence: what was found, or why there is no such value.
    tried : tuple of (float, float)
        Every value tried and the gap to the goal there [unit of `vary`, USD/kWh], in order of value.
    """

    plant: str
    product: str
    vary: Knob
    goal: float
    rival: str = ""
    value: float | None
    cost: float | None
    goal_there: float | None
    step: float = 0.0
    why: str
    tried: tuple[tuple[float, float], ...]

    @property
    def reached(self) -> bool:
        """Whether there is such a value."""
        return self.value is not None

    @property
    def searched(self) -> tuple[float, float]:
        """Ends of the range that was searched [unit of `vary`]."""
        return self.tried[0][0], self.tried[-1][0]

    def sentence(self) -> str:
        """The answer, to be read aloud."""
        return self.why

    def to_frame(self) -> Any:
        """Every value tried, with the cost less the goal [USD/kWh]."""
        import pandas as pd

        return pd.DataFrame(self.tried, columns=[f"{self.vary.path} [{self.vary.unit}]", "cost less goal [USD/kWh]"])

    def to_dict(self) -> dict[str, Any]:
        """Plain dict; `value` in `unit`."""
        return {"plant": self.plant, "product": self.product, "vary": self.vary.path, "value": self.value,
                "unit": self.vary.unit, "reached": self.reached, "now": self.vary.now, "goal_usd_per_kwh": self.goal,
                "tie_with": self.rival or None, "usd_per_kwh": self.cost,
                "step_usd_per_kwh": self.step, "why": self.why,
                "searched": list(self.searched), "tried": [list(pair) for pair in self.tried]}

    def __repr__(self) -> str:
        found = "no such value" if self.value is None else self.vary.show(self.value)
        goal = f"tie with {self.rival}" if self.rival else f"{100 * self.goal:.4g} ct/kWh"
        return f"<BreakEven {self.plant}, {self.vary.path} for {goal}: {found}>"

    def _repr_html_(self) -> str:
        from html import escape

        return f"<p>{escape(self.why)}</p>{self.to_frame().to_html(index=False)}"


def break_even(case: Case, vary: str, *, target: Quantity | None = None, tie: Case | None = None,
               within: tuple[Quantity, Quantity] | None = None,
               progress: Callable[[str, float], None] | None = None) -> BreakEven:
    """Find the value of a number at which a plant's cost meets a target, or that of another plant.

    Parameters
    ----------
    case : Case
        The plant and what it is judged under.
    vary : str
        Path of the number; see `knob`.
    target : float or str, optional
        Cost to be met [USD/kWh]; one of `COMMON_TARGETS` by product where neither this nor `tie` is given.
    tie : Case, optional
        The plant to tie with. Prices, lives of prices, finance and the sun change for both; design values, parameters
        of components and ``mirrors`` belong to the first plant alone.
    within : pair, optional
        Range to search [unit of the number]; outwards from its value now, if left out, up to 4.5 times and down to
        1/4.5 of it, for temperatures 300 K to either side, and never past what the model allows.
    progress : callable, optional
        Called with what is being tried and the share of the longest search that is done [-].

    Returns
    -------
    BreakEven
        With the value nearest to the present one; put back, it gives the goal to 1e-6, or the side of a small step that
        meets it.

    Raises
    ------
    ParameterError
        If there is no such number, both or no goals are given, or the plants sell different goods.

    Notes
    -----
    Costs are linear in the prices, so a price is found in closed form and then put through the full model. Everything
    else is bracketed and found by Brent's method over sizing, year and bill. Where only whole numbers are allowed, the
    answer is the nearest whole number that is at or below the goal.

    References
    ----------
    R. P. Brent, Algorithms for Minimization without Derivatives, Prentice-Hall (1973), chapter 4.
    """
    number = knob(case, vary)
    goal, rival = _goal(case, target, tie)
    search = _Search(case, number, tie, goal, progress)
    if within is not None:
        low, high = sorted(number.read(value) for value in within)
        if not number.low <= low < high <= number.high:
            raise ParameterError("this range cannot be searched", where=f"break_even.within, {vary}",
                                 got=f"{number.show(low)} to {number.show(high)}",
                                 allowed=f"{number.show(number.low)} to {number.show(number.high)}",
                                 hint="two different values inside")
        sides = [[low + (high - low) * k / 8 for k in range(9)]]
    elif number.now is None:
        raise ParameterError("this number has no value now, so the search does not know where to begin",
                             where=vary, got="none", allowed="a range", hint="within=(low, high)")
    elif number.kind == "price":
        return search.answer(search.price(), rival)
    else:
        sides = _rings(number, number.now)
    return search.answer(search.outward(sides), rival)


def _goal(case: Case, target: Quantity | None, tie: Case | None) -> tuple[float, str]:
    from loopnet.units import to_si

    product = case.assessment.cost.product
    if target is not None and tie is not None:
        raise ParameterError("two goals fight", where="break_even", got="target and tie", allowed="one of them",
                             hint="leave out one")
    if tie is not None:
        if tie.assessment.cost.product != product:
            raise ParameterError("these plants sell different goods", where="break_even.tie",
                                 got=f"{product} and {tie.assessment.cost.product}", allowed="the same product",
                                 hint="a target in USD/kWh")
        return tie.cost, tie.name
    goal = COMMON_TARGETS[product] if target is None else to_si(target, "USD/kWh")
    if not isfinite(goal) or goal <= 0:
        raise ParameterError("a target is a cost above zero", where="break_even.target", got=f"{goal:g} USD/kWh",
                             allowed="more than 0 USD/kWh", hint="0.05 for five cents")
    return goal, ""


def _rings(number: Knob, now: float) -> list[list[float]]:
    """Values outwards from now, upwards and downwards, inside what is allowed."""
    if number.unit == "K" and number.low >= 150.0:
        up, down = [now + s for s in SPANS], [now - s for s in SPANS]
    elif now > 0.0:
        up, down = [now * (1.0 + r) for r in RINGS], [now / (1.0 + r) for r in RINGS]
    else:
        top = number.high if isfinite(number.high) else 1.0
        up, down = [now + top * share for share in (0.01, 0.03, 0.1, 0.2, 0.4, 0.7, 1.0)], []
    if number.low == 0.0 and now > 0.0:
        down.append(0.0)
    sides = []
    for side, limit, inside in ((up, number.high, min), (down, number.low, max)):
        kept = [inside(value, limit) for value in side]
        if number.whole:
            kept = [float(round(value)) for value in kept]
        sides.append([value for value in dict.fromkeys(kept) if value != now])
    return sides


class _Passed(Exception):
    """The goal lies between two values."""

    def __init__(self, value: float) -> None:
        self.value = value


class _Search:
    """Values tried so far, and the gap between cost and goal at each."""

    def __init__(self, case: Case, number: Knob, tie: Case | None, goal: float,
                 progress: Callable[[str, float], None] | None) -> None:
        self.case, self.number, self.tie, self.goal, self.progress = case, number, tie, goal, progress
        self.gaps: dict[float, float] = {}
        self.costs: dict[float, tuple[float, float]] = {}
        self.ends: list[str] = []
        self.step = 0.0

    def gap(self, value: float) -> float:
        """Cost less goal at a value [USD/kWh], by the full model."""
        if value not in self.gaps:
            if self.progress:
                self.progress(f"{self.number.path} = {self.number.show(value)}", min(len(self.gaps) / 20, 1.0))
            same = value == self.number.now
            cost = (self.case if same else self.number.turn(self.case, value)).cost
            both = self.tie is not None and self.number.common and not same
            goal = self._of_rival(value) if both else self.goal
            self.costs[value] = cost, goal
            self.gaps[value] = cost - goal
        return self.gaps[value]

    def _of_rival(self, value: float) -> float:
        assert self.tie is not None
        return self.number.turn(self.tie, value).cost

    def _met(self, value: float) -> bool:
        return abs(self.gap(value)) <= CLOSE * self.costs[value][1]

    # -- a price: linear, so known at once -------------------------------------------------------------------------

    def price(self) -> float | None:
        key, now = self.number.base, self.number.now or 0.0
        slope = self.case.assessment.cost.slopes.get(key, 0.0)
        if self.tie is not None:
            slope -= self.tie.assessment.cost.slopes.get(key, 0.0)
        gap = self.gap(now)
        if slope == 0.0:
            self.ends.append("the cost does not depend on this price" if self.tie is None
                             else "both costs move alike with this price")
            return None
        value = now - gap / slope
        if value < 0.0:
            self.gap(0.0)
            self.gap(2.0 * max(now, self.case.book[key].high))
            self.ends.append(GIFT if gap > 0.0 and self.tie is None else "the gap between the two is a straight line "
                             "in this price, and closes at none above zero")
            return None
        return value if self._met(value) else self.outward(_rings(self.number, now))

    # -- all else: bracket, then Brent -----------------------------------------------------------------------------

    def outward(self, sides: list[list[float]]) -> float | None:
        """Search each side, the promising one first; the first change of sign is pinned down."""
        if len(sides) == 1:
            return self._nearest(sides[0])
        now = self.number.now
        assert now is not None
        if self._met(now):
            return now
        begun = {k: self._try(side[0]) for k, side in enumerate(sides) if side}
        for k in sorted(begun, key=lambda k: inf if begun[k] is None else abs(begun[k] or 0.0)):
            last = now
            for value in sides[k]:
                if self._try(value) is None:
                    break
                if self.gap(last) * self.gap(value) <= 0.0:
                    return self._pin(last, value)
                last = value
        return self._dip()

    def _nearest(self, grid: list[float]) -> float | None:
        """The change of sign on a grid that lies nearest to the value now."""
        known = [value for value in grid if self._try(value) is not None]
        pairs = [(a, b) for a, b in pairwise(known) if self.gap(a) * self.gap(b) <= 0.0]
        now = self.number.now if self.number.now is not None else grid[0]
        for a, b in sorted(pairs, key=lambda pair: abs(0.5 * (pair[0] + pair[1]) - now))[:1]:
            return self._pin(a, b)
        return self._dip()

    def _dip(self) -> float | None:
        """Where no two values tried lie on different sides of the goal, the goal may still be met between them, beside
        the best one: go down there, and stop when the goal is passed."""
        order = sorted(self.gaps)
        place = min(range(len(order)), key=lambda k: abs(self.gaps[order[k]]))
        if self.number.whole or not 0 < place < len(order) - 1:
            return None
        low, best, high = order[place - 1:place + 2]

        def gap(value: float) -> float:
            if self.gap(value) * self.gap(best) <= 0.0:
                raise _Passed(value)
            return abs(self.gap(value))

        try:
            minimize_scalar(gap, bounds=(low, high), method="bounded", options={"maxiter": DIP, "xatol": 1e-3 * high})
        except _Passed as passed:
            return self._pin(best, passed.value)
        except LoopnetError as why:
            self.ends.append(f"near {self.number.show(best)} the plant cannot be computed everywhere ({why.what})")
        return None

    def _try(self, value: float) -> float | None:
        try:
            return self.gap(value)
        except LoopnetError as why:
            self.ends.append(f"at {self.number.show(value)} the plant cannot be computed ({why.what})")
            return None

    def _pin(self, one: float, two: float) -> float | None:
        if self.number.whole:
            return self._whole(int(one), int(two))
        for end in (one, two):
            if self._met(end):
                return end

        def gap(value: float) -> float:
            return 0.0 if self._met(value) else self.gap(value)

        try:
            value = float(brentq(gap, one, two, xtol=1e-8 * max(abs(one), abs(two)), rtol=1e-12, maxiter=60))
        except LoopnetError as why:
            self.ends.append(f"between {self.number.show(one)} and {self.number.show(two)} the plant cannot be "
                             f"computed everywhere ({why.what})")
            return None
        return value if abs(self.gap(value)) <= 10 * CLOSE * self.costs[value][1] else self._stepped(value)

    def _stepped(self, value: float) -> float | None:
        """The side of a step at which the goal is met, if the step is small."""
        met = min((v for v, gap in self.gaps.items() if gap <= 0.0), key=lambda v: abs(v - value))
        missed = min((v for v, gap in self.gaps.items() if gap > 0.0), key=lambda v: abs(v - value))
        step = self.gap(missed) - self.gap(met)
        if step <= STEP * self.costs[met][1]:
            self.step = step
            return met
        self.ends.append(f"near {self.number.show(value)} the cost jumps over the goal, from "
                         f"{_cents(self.costs[missed][0])} to {_cents(self.costs[met][0])}")
        return None

    def _whole(self, one: int, two: int) -> float:
        """The whole number next to a change of sign at which the goal is met."""
        while abs(two - one) > 1:
            middle = (one + two) // 2
            if copysign(1.0, self.gap(float(middle))) == copysign(1.0, self.gap(float(one))):
                one = middle
            else:
                two = middle
        return float(min((one, two), key=lambda end: (self.gap(float(end)) > 0.0, abs(self.gap(float(end))))))

    # -- words -----------------------------------------------------------------------------------------------------

    def answer(self, value: float | None, rival: str) -> BreakEven:
        tried = tuple(sorted(self.gaps.items()))
        cost, there = self.costs[value] if value is not None else (None, None)
        why = self._found(value, rival) if value is not None else self._none(tried, rival)
        return BreakEven(plant=self.case.name, product=self.case.assessment.cost.product, vary=self.number,
                         goal=self.goal, rival=rival, value=value, cost=cost, goal_there=there, step=self.step, why=why,
                         tried=tried)

    def _what(self, rival: str) -> str:
        return (f"tie with {rival} (now {_cents(self.goal)})" if rival
                else f"reach {_cents(self.goal)} of {self.case.assessment.cost.product}")

    def _found(self, value: float, rival: str) -> str:
        number, cost = self.number, self.costs[value]
        now = "" if number.now is None else f" in place of {number.show(number.now)}"
        text = (f"{self.case.name} would {self._what(rival)} with {number.path} at {number.show(value)}{now}; the full "
                f"model there gives {_cents(cost[0])}")
        if rival and number.common:
            text += f" for {self.case.name} and {_cents(cost[1])} for {rival}"
        if self.step:
            return (f"{text}. The year counts whole starts and stops, so the cost steps over the goal there by "
                    f"{_cents(self.step)}.")
        return text + (", and only whole numbers are allowed." if number.whole else ".")

    def _none(self, tried: tuple[tuple[float, float], ...], rival: str) -> str:
        number, name = self.number, self.case.name
        low, high = tried[0][0], tried[-1][0]
        best = min(tried, key=lambda pair: abs(pair[1]))[0]

        def at(value: float) -> str:
            cost, goal = self.costs[value]
            other = f" and {rival} {_cents(goal)}" if rival and number.common else ""
            return f"at {number.show(value)} it costs {_cents(cost)}{other}"

        text = f"No such value: {name} does not {self._what(rival)} for any {number.path} that was searched"
        text += f", {number.show(low)} to {number.show(high)}: {at(low)}, {at(high)}" if low != high else f": {at(low)}"
        if best not in (low, high):
            text += f"; it comes nearest {at(best)}"
        reasons = [end for end in dict.fromkeys(self.ends) if end]
        return text + (f". {'; '.join(reasons).capitalize()}." if reasons == [GIFT] else
                       f". Why: {'; '.join(reasons)}." if reasons else ".")


def _cents(usd: float) -> str:
    return "no end" if isinf(usd) else f"{100 * usd:.4g} ct/kWh"
