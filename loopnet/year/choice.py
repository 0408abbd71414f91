"""Rules by a word, as on the command line: "evening=17-23", "prices=FILE"."""

from __future__ import annotations

import re
from collections.abc import Callable

from loopnet.errors import ParameterError
from loopnet.year.demand import LoadProfile, PriceSeries
from loopnet.year.dispatch import EveningWindow, FollowTheSun, RoundTheClock, Rule
from loopnet.year.plan import OptimalPlan

__all__ = ["RULES", "rule_of"]

RULES = {
    "round-the-clock": "day and night as long as there is heat",
    "sun": "while the sun shines",
    "evening=17-23": "full load between two hours of the day",
    "demand=FILE": "a demand hour by hour, as a share of the design delivery",
    "prices=FILE": "the dearest hours first, sun taken to be as yesterday's",
    "plan=FILE": "the best plan for prices, sun taken to be as yesterday's",
    "plan-perfect=FILE": "the best plan for prices, sun known beforehand",
}
"""How rules are written, and what they do."""
_WINDOW = re.compile(r"\s*(\d+(?:\.\d+)?)\s*-\s*(\d+(?:\.\d+)?)\s*")


def _evening(text: str) -> Rule:
    found = _WINDOW.fullmatch(text)
    if found is None:
        raise ParameterError("cannot read this window", where="dispatch rule evening", got=repr(text),
                             allowed="two hours of the day", hint="evening=17-23")
    return EveningWindow(start=f"{found[1]} hour", end=f"{found[2]} hour")


_MADE: dict[str, Callable[[str], Rule]] = {
    "evening": _evening,
    "demand": lambda path: LoadProfile(demand=path),
    "prices": lambda path: PriceSeries(prices=path),
    "plan": lambda path: OptimalPlan(prices=path),
    "plan-perfect": lambda path: OptimalPlan(prices=path, foresight="perfect"),
}


def rule_of(text: str) -> Rule:
    """The rule that a text names.

    Parameters
    ----------
    text : str
        One of `RULES`.

    Returns
    -------
    Rule

    Raises
    ------
    ParameterError
        If there is no such rule, or what it needs is missing.
    DataError
        If its file cannot be used.

    Examples
    --------
    >>> print(rule_of("evening=18-22.5"))
    evening window, 18 to 22.5 h
    """
    kind, equals, value = text.strip().partition("=")
    if kind in ("round-the-clock", "sun") and not equals:
        return RoundTheClock() if kind == "round-the-clock" else FollowTheSun()
    if kind not in _MADE or not value:
        raise ParameterError("no such dispatch rule", where="--dispatch", got=repr(text), allowed=", ".join(RULES),
                             hint="one of these words, with the path of your file in place of FILE")
    return _MADE[kind](value)
