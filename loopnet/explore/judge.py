"""Judge a candidate: draw it, size it, run its year, bill it. What comes back is an outcome, be it a failure."""

from __future__ import annotations

import time
from collections import OrderedDict
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from loopnet.errors import LoopnetError, ParameterError, SpecificationError
from loopnet.explore.candidate import SITE, Candidate
from loopnet.explore.figures import BillLine, bill_lines, figures_of, money_figures
from loopnet.explore.identity import fingerprint, model_fingerprint
from loopnet.explore.space import Space
from loopnet.money import Finance, PriceBook, price_book
from loopnet.site import Weather
from loopnet.solve import Sized, size
from loopnet.study.assess import settle
from loopnet.year import Operation, Rule, run_year

__all__ = ["Judge", "Outcome", "Setting"]

KEPT = 16
"""Sized plants that a judge remembers, for the same circuit at another site."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Setting:
    """All that a figure depends on beside the candidate.

    Parameters
    ----------
    weathers : mapping of str to Weather
        The weather of each site of the space, under the site's word.
    book, finance : PriceBook, Finance
        Prices, and what money costs.
    dispatch, operation : optional
        Rule for the load and manner of operation; those of `run_year` if None.
    exact : bool
        Whether each year is computed hour by hour, or on the operating map.
    model : str
        Version of what computes; found out if left out.
    """

    weathers: Mapping[str, Weather] = field(repr=False)
    book: PriceBook = field(default_factory=price_book, repr=False)
    finance: Finance = field(default_factory=Finance, repr=False)
    dispatch: Rule | None = None
    operation: Operation | None = None
    exact: bool = False
    model: str = field(default_factory=model_fingerprint)

    @property
    def mode(self) -> str:
        """``"exact"`` or ``"map"``."""
        return "exact" if self.exact else "map"

    @cached_property
    def _common(self) -> str:
        # a thing that is free leaves no line on a bill: which things are free is part of what was bought
        free = sorted(key for key in self.book if self.book[key].value == 0.0)
        return fingerprint(self.dispatch, self.operation, self.mode, self.model, free)

    @cached_property
    def money(self) -> str:
        """Short hash of prices and finance."""
        notes = {"notes": self.book.notes, "title": self.book.title}
        return fingerprint({k: v for k, v in vars(self.book).items() if k not in notes}, self.finance)

    def weather(self, candidate: Candidate) -> Weather:
        """The weather of a candidate's site.

        Raises
        ------
        ParameterError
            If there is none.
        """
        site = str(candidate.to_dict().get(SITE, next(iter(self.weathers))))
        if site not in self.weathers:
            raise ParameterError("no weather for this site", where="Setting.weathers", got=repr(site),
                                 allowed=", ".join(self.weathers), hint="weathers={site: read_weather(...)}")
        return self.weathers[site]

    def physics(self, candidate: Candidate) -> str:
        """Short hash of all that physics depend on beside the candidate's own choices: weather, rule, mode, version."""
        return fingerprint(self.weather(candidate).fingerprint, self._common)

    def key(self, candidate: Candidate) -> str:
        """What the same work is known by, whatever the site is called and whatever things cost."""
        return f"{unsited(candidate).key}.{self.physics(candidate)}"

    def describe(self, candidate: Candidate) -> dict[str, Any]:
        """The setting of a candidate for people."""
        weather = self.weather(candidate)
        return {"weather": weather.name, "weather_fingerprint": weather.fingerprint, "invented": weather.invented,
                "dispatch": str(self.dispatch or "as run_year has it"), "operation": repr(self.operation),
                "mode": self.mode, "model": self.model}


def unsited(candidate: Candidate) -> Candidate:
    """The candidate without its site: what is built is the same, whatever the weather."""
    return Candidate(tuple(pair for pair in candidate.choices if pair[0] != SITE))


@dataclass(frozen=True)
class Outcome:
    """What became of a candidate: figures and bill, or the error that ended it."""

    candidate: Candidate
    key: str
    figures: dict[str, Any] = field(default_factory=dict, repr=False)
    bill: list[BillLine] = field(default_factory=list, repr=False)
    money: dict[str, Any] = field(default_factory=dict, repr=False)
    error: str = ""
    reason: str = ""
    """What was wrong, without the names and numbers of this plant."""
    message: str = ""
    seconds: float = 0.0

    @property
    def failed(self) -> bool:
        """Whether it ended in an error."""
        return bool(self.error)


class Judge:
    """Judges candidates of a space one by one, and remembers sized plants; one for each process.

    Parameters
    ----------
    space : Space
    setting : Setting
    """

    def __init__(self, space: Space, setting: Setting) -> None:
        self.space, self.setting = space, setting
        self._sized: OrderedDict[str, Sized] = OrderedDict()

    def __call__(self, candidate: Candidate) -> Outcome:
        """The outcome for a candidate; never an error, but where the user interrupts."""
        begin, key = time.perf_counter(), self.setting.key(candidate)
        try:
            found = self._judged(candidate)
        except Exception as why:
            said = why.what if isinstance(why, LoopnetError) else f"not foreseen: {why}".rstrip(": ")
            return Outcome(candidate, key, error=type(why).__name__, reason=said or "no reason given",
                           message=str(why), seconds=time.perf_counter() - begin)
        return Outcome(candidate, key, *found, seconds=time.perf_counter() - begin)

    def warm(self, candidate: Candidate) -> Judge:
        """The judge itself, with imports and tables made that processes forked from this one then share."""
        with suppress(Exception):  # what is wrong with the candidate is told when it is judged
            sized = self.sized(candidate)
            run_year(sized, self.setting.weather(candidate).slice(0, 24), exact=self.setting.exact)
        return self

    def _judged(self, candidate: Candidate) -> tuple[dict[str, Any], list[BillLine], dict[str, Any]]:
        setting = self.setting
        weather = setting.weather(candidate)
        sized = self.sized(candidate)
        year = run_year(sized, weather, dispatch=setting.dispatch, operation=setting.operation,
                        exact=setting.exact)
        a = settle(sized, year, weather, book=setting.book, finance=setting.finance)
        return figures_of(a), bill_lines(a.bill), money_figures(a.cost)

    def sized(self, candidate: Candidate) -> Sized:
        """The candidate's plant at its design point, from memory where it was sized before."""
        name = unsited(candidate).key
        if name not in self._sized:
            found = size(self.space.build(candidate))
            if doubt := self.space.doubt(found):
                raise SpecificationError(doubt, where=f"plant {found.plant.name!r}",
                                         hint="another circuit, or other numbers")
            self._sized[name] = found
            while len(self._sized) > KEPT:
                self._sized.popitem(last=False)
        self._sized.move_to_end(name)
        return self._sized[name]
