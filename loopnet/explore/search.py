"""Explore a space of circuits: what is tried is run, kept, and refined where it matters."""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from loopnet.errors import ParameterError
from loopnet.explore.candidate import Candidate
from loopnet.explore.designs import Design, factorial, hypercube
from loopnet.explore.exploration import Exploration, best_rows, by_product
from loopnet.explore.identity import model_fingerprint
from loopnet.explore.judge import Judge, Setting
from loopnet.explore.optimise import optimise
from loopnet.explore.pareto import Criterion, criteria_of
from loopnet.explore.pool import Crew
from loopnet.explore.results import Results, Row
from loopnet.explore.runner import Runner, Tell
from loopnet.explore.space import DEMO, Space
from loopnet.money import Finance, PriceBook, price_book
from loopnet.site import Weather, read_weather, tamarisk_basin
from loopnet.year import Operation, Rule

__all__ = ["POINTS", "SEARCHES", "explore", "weathers_of"]

SEARCHES = ("factorial", "hypercube", "optimise")
POINTS = {"factorial": 3, "hypercube": 200, "optimise": 30}
"""Points where a user gives none: values of each range, candidates in all, candidates tried for each circuit [-]."""


def weathers_of(space: Space) -> dict[str, Weather]:
    """The weather of each site of a space, read from its file.

    Raises
    ------
    DataError
        If a file cannot be read as weather.
    """
    return {site: tamarisk_basin() if site == DEMO else read_weather(site) for site in space.sites}


def explore(space: Space, *, search: str = "factorial", points: int | None = None, goal: str = "cost", best: int = 20,
            refine: int = 5, results: str | Path | Results | None = None,
            weather: Weather | Mapping[str, Weather] | None = None, book: PriceBook | None = None,
            finance: Finance | None = None, dispatch: Rule | None = None, operation: Operation | None = None,
            exact: bool = False, seed: int = 1, executor: Any = None, jobs: int | None = None, retry: bool = False,
            progress: Tell | None = None, model: str | None = None) -> Exploration:
    """Try the circuits of a space, and keep every result.

    Parameters
    ----------
    space : Space
    search : "factorial", "hypercube" or "optimise"
        All combinations; a Latin hypercube; or the best numbers of the best circuits: each circuit is run once as it
        begins, and the numbers of the `best` of them are searched.
    points : int, optional
        Values taken of each range; candidates in all; candidates tried for each circuit [-]. 3, 200 and 30 if left
        out.
    goal : str
        What is to be best, a name in `CRITERIA`; also what the front is drawn over beside firmness.
    best : int
        Circuits whose numbers are searched by ``"optimise"`` [-].
    refine : int
        Of the best circuits and of the front as the operating map sees them, how many are run hour by hour [-].
    results : str, Path or Results, optional
        File in which results are kept, and found when the run is resumed; in memory if left out.
    weather : Weather or mapping of str to Weather, optional
        The weather of all sites, or of each; read from the files that the space names if left out.
    book, finance, dispatch, operation : optional
        Prices, money, rule for the load and operation; the shipped defaults where none is given.
    exact : bool
        Whether every year is run hour by hour; else on the operating map.
    seed : int
        Start of the random numbers of a hypercube [-].
    executor : concurrent.futures.Executor or dask.distributed.Client, optional
        Where plants are computed; processes of this machine if left out.
    jobs : int, optional
        Processes, as many as there are processors if left out.
    retry : bool
        Whether candidates that failed before are tried anew.
    progress : callable, optional
        Called with a `Progress` after each row.
    model : str, optional
        Version of what computes, part of the key of each result; found out if left out.

    Returns
    -------
    Exploration

    Raises
    ------
    ParameterError, DataError
        For a search, a criterion or a file that cannot be.
    KeyboardInterrupt
        After what was at work has been written; the same call goes on from there.
    """
    if search not in SEARCHES:
        raise ParameterError("no such search", where="explore.search", got=repr(search), allowed=", ".join(SEARCHES),
                             hint="factorial")
    criterion, = criteria_of([goal], where="explore.goal")
    begin, points = time.perf_counter(), POINTS[search] if points is None else points
    setting = Setting(weathers=_sites(space, weather), book=book or price_book(), finance=finance or Finance(),
                      dispatch=dispatch, operation=operation, exact=exact,
                      model=model or model_fingerprint(type(space.grammar).__module__))
    design = {"factorial": lambda: factorial(space, points), "hypercube": lambda: hypercube(space, points, seed),
              "optimise": lambda: Design(tuple(space.feasible()), {})}[search]()
    with nullcontext(results) if isinstance(results, Results) else Results(results) as store:
        work = _Work(space, store, executor, jobs, progress, retry)
        with work.crew(setting, design.candidates) as crew:
            rows = work.run(crew, design.candidates, "every circuit" if search == "optimise" else search)
            if search == "optimise" and space.bounds():
                starts = [row.candidate for row in by_product(best_rows(rows, criterion), best)]
                rows |= work.optimise(crew, starts, criterion, points)
        found = Exploration(title=space.title, rows=tuple(rows.values()), pruning=space.pruning(),
                            refused=design.refused, search=search, goal=goal, setting=setting, path=store.path,
                            varied={n: space.grammar.numbers()[n].unit for n in (*space.bounds(), *space.levels())})
        chosen = [row.candidate for row in found.worth_refining(refine)]
        if chosen and not exact:
            with work.crew(replace(setting, exact=True), chosen) as crew:
                found = found.with_exact(work.run(crew, chosen, "hour by hour").values())
        counts = store.counts()
    return replace(found, computed=work.computed, seconds=time.perf_counter() - begin,
                   others=counts["done"] + counts["failed"] - len(found.rows) - len(found.exact))


def _sites(space: Space, weather: Weather | Mapping[str, Weather] | None) -> Mapping[str, Weather]:
    if weather is None:
        return weathers_of(space)
    return dict.fromkeys(space.sites, weather) if isinstance(weather, Weather) else weather


@dataclass
class _Work:
    """What the steps of an exploration share."""

    space: Space
    store: Results
    executor: Any
    jobs: int | None
    tell: Tell | None
    retry: bool
    computed: int = 0

    @contextmanager
    def crew(self, setting: Setting, candidates: Sequence[Candidate]) -> Iterator[Crew]:
        """Workers for a setting, warm for the first of the candidates; ended at once when something goes wrong."""
        judge = Judge(self.space, setting)
        if self.executor is None and candidates:
            judge.warm(candidates[0])
        crew = Crew(judge, self.executor, self.jobs)
        try:
            yield crew
        except BaseException:
            crew.close()
            raise
        crew.finish()

    def run(self, crew: Crew, candidates: Sequence[Candidate], what: str) -> dict[str, Row]:
        if self.retry:
            self.store.forget_failures([crew.judge.setting.key(c) for c in candidates])
        runner = Runner(crew, self.store, self.tell, what)
        try:
            return runner.run(candidates)
        finally:
            self.computed += runner.computed

    def optimise(self, crew: Crew, starts: Sequence[Candidate], criterion: Criterion, points: int) -> dict[str, Row]:
        runner = Runner(crew, self.store, self.tell, "best numbers")
        try:
            return optimise(runner, self.space, starts, criterion, points)
        finally:
            self.computed += runner.computed
