"""Assess many plants at once, each in a process of its own, and tell how far they are."""

from __future__ import annotations

import multiprocessing
import os
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor, wait
from functools import partial
from typing import Any

from loopnet.plant import Plant
from loopnet.site import Weather
from loopnet.study.assess import Assessment, assess

__all__ = ["assess_all"]

Tell = Callable[[str, str, float], None]
_news: Any = None


def _listen(queue: Any) -> None:
    global _news
    _news = queue


def _work(plant: Plant, weather: Weather, options: dict[str, Any]) -> Assessment:
    return assess(plant, weather, progress=lambda what, share: _news.put((plant.name, what, share)), **options)


def assess_all(plants: Sequence[Plant], weather: Weather, *, progress: Tell | None = None, jobs: int | None = None,
               **options: Any) -> list[Assessment]:
    """Assess plants side by side.

    Parameters
    ----------
    plants : sequence of Plant
    weather : Weather
    progress : callable, optional
        Called with plant, step and the share of the plant's work that is done [-].
    jobs : int, optional
        Processes [-]; as many as there are processors, and no more than plants, if left out. 1 stays in this process.
    **options
        Passed on to `assess`.

    Returns
    -------
    list of Assessment
        In the order of the plants.
    """
    tell = progress or (lambda plant, what, share: None)
    free = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    jobs = min(jobs or free, len(plants))
    if jobs <= 1:
        return [assess(p, weather, progress=partial(tell, p.name), **options) for p in plants]
    context = multiprocessing.get_context("fork" if sys.platform == "linux" else "spawn")
    queue = context.SimpleQueue()
    with ProcessPoolExecutor(jobs, mp_context=context, initializer=_listen, initargs=(queue,)) as pool:
        futures = [pool.submit(_work, plant, weather, options) for plant in plants]
        left: Any = set(futures)
        while left:
            left = wait(left, timeout=0.1).not_done
            while not queue.empty():
                tell(*queue.get())
        return [future.result() for future in futures]
