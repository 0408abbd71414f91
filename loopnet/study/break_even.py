"""Break-even: the value of one number at which a plant meets a target cost, or ties with another plant.
The full model is evaluated at every value; where no value does it, the answer says so, and why."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite
from typing import Any

from loopnet.errors import ParameterError
from loopnet.shown import shown
from loopnet.study.bracketing import GIFT, Search, in_cents, rings
from loopnet.study.case import Case
from loopnet.study.knob import Knob, knob
from loopnet.units import Quantity

__all__ = ["COMMON_TARGETS", "BreakEven", "break_even"]

COMMON_TARGETS = {"heat": 0.005, "electricity": 0.05}
"""USD/kWh at which heat costs about a tenth of heat from gas, and electricity five cents: goals that are often named;
common practice, no source."""


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
        return shown(self)


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
        If there is no such number, two goals are given, the plants sell different goods, or the plant can be computed
        nowhere in the range.

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
    search = Search(case, number, tie, goal, progress)
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
        return _answer(search, search.price(), rival)
    else:
        sides = rings(number, number.now)
    return _answer(search, search.outward(sides), rival)


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


def _answer(search: Search, value: float | None, rival: str) -> BreakEven:
    tried = tuple(sorted(search.gaps.items()))
    if not tried:
        raise ParameterError("the plant can be computed nowhere in this range", where=search.number.path,
                             got="; ".join(dict.fromkeys(search.ends)), allowed="a range in which it can be built",
                             hint="another range, nearer to the value now")
    cost, there = search.costs[value] if value is not None else (None, None)
    why = _found(search, value, rival) if value is not None else _none(search, tried, rival)
    return BreakEven(plant=search.case.name, product=search.case.assessment.cost.product, vary=search.number,
                     goal=search.goal, rival=rival, value=value, cost=cost, goal_there=there, step=search.step, why=why,
                     tried=tried)


def _what(search: Search, rival: str) -> str:
    return (f"tie with {rival} (now {in_cents(search.goal)})" if rival
            else f"reach {in_cents(search.goal)} of {search.case.assessment.cost.product}")


def _found(search: Search, value: float, rival: str) -> str:
    number, cost = search.number, search.costs[value]
    now = "" if number.now is None else f" in place of {number.show(number.now)}"
    text = (f"{search.case.name} would {_what(search, rival)} with {number.path} at {number.show(value)}{now}; the "
            f"full model there gives {in_cents(cost[0])}")
    if rival and number.common:
        text += f" for {search.case.name} and {in_cents(cost[1])} for {rival}"
    if search.step:
        return (f"{text}. The year counts whole starts and stops, so the cost steps over the goal there by "
                f"{in_cents(search.step)}.")
    return text + (", and only whole numbers are allowed." if number.whole else ".")


def _none(search: Search, tried: tuple[tuple[float, float], ...], rival: str) -> str:
    number, name = search.number, search.case.name
    low, high = tried[0][0], tried[-1][0]
    best = min(tried, key=lambda pair: abs(pair[1]))[0]

    def at(value: float) -> str:
        cost, goal = search.costs[value]
        other = f" and {rival} {in_cents(goal)}" if rival and number.common else ""
        return f"at {number.show(value)} it costs {in_cents(cost)}{other}"

    text = f"No such value: {name} does not {_what(search, rival)} for any {number.path} that was searched"
    text += f", {number.show(low)} to {number.show(high)}: {at(low)}, {at(high)}" if low != high else f": {at(low)}"
    if best not in (low, high):
        text += f"; it comes nearest {at(best)}"
    reasons = [end for end in dict.fromkeys(search.ends) if end]
    return text + (f". {'; '.join(reasons).capitalize()}." if reasons == [GIFT] else
                   f". Why: {'; '.join(reasons)}." if reasons else ".")
