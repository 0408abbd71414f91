"""The search behind a break-even: values of one number, the gap between cost and goal at each, and where it closes.
Prices in closed form, all else bracketed and found by Brent's method over the full model."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import copysign, inf, isfinite, isinf

from scipy.optimize import brentq, minimize_scalar

from loopnet.errors import LoopnetError
from loopnet.study.case import Case
from loopnet.study.knob import Knob

__all__ = ["GIFT", "Search", "in_cents", "rings"]

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
SPANS = (5.0, 12.0, 25.0, 45.0, 75.0, 120.0, 190.0, 300.0)
"""The same for a temperature [K]."""
GIFT = "even as a gift it would not do: the other terms alone cost more"


def rings(number: Knob, now: float) -> list[list[float]]:
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


class Search:
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
        """The price at which the gap closes, or None."""
        key, now = self.number.base, self.number.now or 0.0
        own = self.case.assessment.cost.slopes.get(key, 0.0)
        slope = own - (self.tie.assessment.cost.slopes.get(key, 0.0) if self.tie is not None else 0.0)
        gap = self.gap(now)
        if abs(slope) <= 1e-12 * own:
            self.ends.append("the cost does not depend on this price" if self.tie is None
                             else "both costs move alike with this price")
            return None
        value = now - gap / slope
        if not 0.0 <= value <= self.number.high:
            self.gap(0.0)
            self.gap(2.0 * max(now, self.case.book[key].high))
            self.ends.append(GIFT if gap > 0.0 and self.tie is None else "the gap between the two is a straight line "
                             "in this price, and closes at none that can be asked")
            return None
        return value if self._met(value) else self.outward(rings(self.number, now))

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
        if self.number.whole or len(self.gaps) < 3:
            return None
        order = sorted(self.gaps)
        place = min(range(len(order)), key=lambda k: abs(self.gaps[order[k]]))
        if not 0 < place < len(order) - 1:
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
        for end in (one, two):
            if self._met(end):
                return end

        def gap(value: float) -> float:
            return 0.0 if self._met(value) else self.gap(value)

        try:
            if self.number.whole:
                return self._whole(int(one), int(two))
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
                         f"{in_cents(self.costs[missed][0])} to {in_cents(self.costs[met][0])}")
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


def in_cents(usd: float) -> str:
    """A cost [USD/kWh] as people say it.

    >>> in_cents(0.0523)
    '5.23 ct/kWh'
    """
    return "no end" if isinf(usd) else f"{100 * usd:.4g} ct/kWh"
