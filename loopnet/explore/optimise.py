"""The best numbers of a circuit: a derivative-free search over its ranges, one thread for each circuit."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress

import numpy as np
from scipy.optimize import Bounds, minimize

from loopnet.explore.candidate import Candidate
from loopnet.explore.designs import free_numbers
from loopnet.explore.pareto import Criterion
from loopnet.explore.results import Row
from loopnet.explore.runner import Runner, Stopped
from loopnet.explore.space import Space

__all__ = ["best_numbers", "optimise"]

FIRST_STEP, LAST_STEP = 0.25, 0.01
"""Radius of the region that is trusted at first and at last, as a share of each range [-]."""
WORSE = 3.0
"""How much worse than the start a candidate is taken for that cannot be, or fails [-]; of its own size."""


def best_numbers(judged: Callable[[Candidate], Row | None], start: Candidate,
                 bounds: Mapping[str, tuple[float, float]], criterion: Criterion, points: int = 30) -> Row | None:
    """Search the numbers of a circuit for the best of a criterion.

    Parameters
    ----------
    judged : callable
        Candidate -> row; None for one that cannot be.
    start : Candidate
        The circuit, with the numbers to begin with.
    bounds : mapping of str to (float, float)
        Ends of the numbers that may change [SI].
    criterion : Criterion
        What is to be small, or large.
    points : int
        Most candidates tried [-].

    Returns
    -------
    Row or None
        The best that was found; None where every candidate failed.

    Notes
    -----
    The year counts whole starts and stops of the turbine, so the cost has steps of a few parts in a thousand, and no
    slope. COBYQA fits quadratic models to the values themselves.

    References
    ----------
    T. M. Ragonneau, Z. Zhang, COBYQA; `scipy.optimize.minimize`.
    """
    names, sign = list(bounds), -1.0 if criterion.more else 1.0
    low, high = (np.array(ends) for ends in zip(*bounds.values(), strict=True)) if names else (np.zeros(0),) * 2
    best: Row | None = None
    scale: float | None = None

    def value(u: np.ndarray) -> float:
        nonlocal best, scale
        at = low + np.clip(u, 0.0, 1.0) * (high - low)
        row = judged(start.with_values(**{name: float(f"{x:.6g}") for name, x in zip(names, at, strict=True)}))
        found = None if row is None or row.failed else row.get(criterion.figure)
        if found is None:
            return WORSE if scale is None else 1.0 + WORSE
        scale = scale or abs(found) or 1.0
        if best is None or sign * found < sign * best[criterion.figure]:
            best = row
        return sign * float(found) / scale

    begin = np.array([(start[name] - a) / (b - a) for name, (a, b) in bounds.items()])  # type: ignore[operator]
    if not names or points < 2:
        value(begin)
        return best
    minimize(value, np.clip(begin, 0.0, 1.0), method="COBYQA", bounds=Bounds(np.zeros(len(names)), np.ones(len(names))),
             options={"maxfev": points, "initial_tr_radius": FIRST_STEP, "final_tr_radius": LAST_STEP})
    return best


def optimise(runner: Runner, space: Space, starts: Sequence[Candidate], criterion: Criterion,
             points: int = 30) -> dict[str, Row]:
    """Search the best numbers of several circuits, side by side; what is known already is not computed again.

    Parameters
    ----------
    runner : Runner
    space : Space
    starts : sequence of Candidate
        One for each circuit and site, with the numbers to begin with.
    criterion : Criterion
        What is to be small, or large.
    points : int
        Most candidates tried for each [-].

    Returns
    -------
    dict
        Finished rows by key.
    """
    bounds = space.bounds()

    def judged(candidate: Candidate) -> Row | None:
        return None if space.refuse(candidate) else runner.ask(candidate)

    def search(start: Candidate) -> None:
        free = free_numbers(space, start)
        with suppress(Stopped):
            best_numbers(judged, start, {n: ends for n, ends in bounds.items() if n in free}, criterion, points)

    threads = ThreadPoolExecutor(runner.crew.window, thread_name_prefix="optimise")
    searches = [threads.submit(search, start) for start in starts]
    for begun in searches:
        begun.add_done_callback(lambda done: runner.wake())
    try:
        rows = runner.run(going=lambda: not all(s.done() for s in searches))
    finally:
        threads.shutdown(wait=True, cancel_futures=True)
    for done in searches:
        done.result()
    return rows
