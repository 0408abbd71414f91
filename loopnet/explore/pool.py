"""Who does the work: processes of this machine, any executor of `concurrent.futures`, or a Dask cluster."""

from __future__ import annotations

import io
import multiprocessing
import os
import pickle
import signal
import sys
import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from loopnet.errors import ParameterError
from loopnet.explore.candidate import Candidate
from loopnet.explore.judge import Judge, Outcome

__all__ = ["Crew", "free_processors"]

AHEAD = 2
"""Pieces of work that are handed out for each worker, so that none waits for the next."""

_turn = threading.Lock()
_judge: Judge | None = None
"""The judge of a worker process of our own."""


def free_processors() -> int:
    """Processors that this process may use [-]."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


# -- in a worker -------------------------------------------------------------------------------------------------------


def _begin(judge: Judge) -> None:
    """Make a worker ready: the judge shared once, the keyboard left to the parent, no life without it."""
    global _judge
    _judge = judge
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_outlive, args=(parent,), daemon=True).start()


def _outlive(parent: Any) -> None:
    parent.join()
    os._exit(1)


def _work(candidates: Sequence[Candidate]) -> list[Outcome]:
    assert _judge is not None
    return [_judge(candidate) for candidate in candidates]


def _rest() -> None:
    time.sleep(0.01)


@lru_cache(maxsize=2)
def _unpacked(packed: bytes) -> Judge:
    judge: Judge = pickle.loads(packed)
    return judge


def _work_anywhere(packed: bytes, candidates: Sequence[Candidate]) -> list[Outcome]:
    """What a worker does that was not started by us: the judge comes along, and is unpacked once. Threads of a worker
    take turns: states of media are not made for two at a time."""
    with _turn:
        judge = _unpacked(packed)
        return [judge(candidate) for candidate in candidates]


def _packed(judge: Judge) -> bytes:
    """A judge as bytes that any `pickle` reads; read-only views of mappings are packed as mappings."""
    stream = io.BytesIO()
    pickler = pickle.Pickler(stream, protocol=pickle.HIGHEST_PROTOCOL)
    pickler.dispatch_table = {MappingProxyType: lambda view: (MappingProxyType, (dict(view),))}
    pickler.dump(judge)
    return stream.getvalue()


# -- in the process that hands out ---------------------------------------------------------------------------------


class _Here(Executor):
    """Does the work at once, in this process."""

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        future: Future[Any] = Future()
        future.set_result(fn(*args, **kwargs))
        return future


class Crew:
    """Hands work to an executor, and mends a pool of our own when one of its processes dies.

    Parameters
    ----------
    judge : Judge
    executor : concurrent.futures.Executor or dask.distributed.Client, optional
        Where the work is done; it stays open. Processes of this machine if left out.
    jobs : int, optional
        Processes, or how many workers an executor has; as many as there are processors if left out. 1 without an
        executor stays in this process.

    Raises
    ------
    ParameterError
        If `jobs` is less than 1, or the executor is none.
    """

    def __init__(self, judge: Judge, executor: Any = None, jobs: int | None = None) -> None:
        if jobs is not None and jobs < 1:
            raise ParameterError("no workers", where="jobs", got=str(jobs), allowed="1 or more",
                                 hint="left out: as many as there are processors")
        self.judge, self._own = judge, executor is None
        self.jobs = jobs or free_processors()
        self._client = executor if hasattr(executor, "scatter") and hasattr(executor, "get_executor") else None
        if self._client is not None:
            self.jobs = jobs or sum(self._client.nthreads().values()) or 1
            self._packed: Any = self._client.scatter(_packed(judge), broadcast=True)
        elif self._own:
            self._pool = self._started()
        elif isinstance(executor, Executor):
            self._pool, self._packed = executor, _packed(judge)
        else:
            raise ParameterError("this is no executor", where="executor", got=type(executor).__name__,
                                 allowed="an Executor of concurrent.futures, or a Client of dask.distributed",
                                 hint="left out: processes of this machine")

    @property
    def window(self) -> int:
        """Pieces of work that may be handed out and not yet back [-]."""
        return 1 if self._own and self.jobs == 1 else AHEAD * self.jobs

    def _started(self) -> Executor:
        if self.jobs == 1:
            return _Here()
        # workers that import numpy anew read this: their threads would only stand in each other's way
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
        context = multiprocessing.get_context("fork" if sys.platform == "linux" else "spawn")
        judge: Any = self.judge
        pool = ProcessPoolExecutor(self.jobs, mp_context=context, initializer=_begin, initargs=(judge,))
        for future in [pool.submit(_rest) for _ in range(self.jobs)]:  # all processes now, before any thread
            future.result()
        return pool

    def submit(self, candidates: Sequence[Candidate]) -> Future[list[Outcome]]:
        """Hand out some candidates, to be judged one after the other."""
        if self._client is not None:
            handed: Any = self._client.submit(_work_anywhere, self._packed, candidates, pure=False)
            return handed  # has the part of a Future that is used here
        if not self._own:
            return self._pool.submit(_work_anywhere, self._packed, candidates)
        if isinstance(self._pool, _Here):
            return self._pool.submit(lambda: [self.judge(candidate) for candidate in candidates])
        return self._pool.submit(_work, candidates)

    def mend(self, why: BaseException) -> bool:
        """After an error that came from a future: whether a pool of our own had broken, and is whole again."""
        if not self._own or not isinstance(why, BrokenProcessPool):
            return False
        self._pool.shutdown(wait=False)
        self._pool = self._started()
        return True

    def close(self) -> None:
        """End processes of our own, at once; what they were at is lost."""
        if not self._own:
            return
        processes = list((getattr(self._pool, "_processes", None) or {}).values())
        self._pool.shutdown(wait=False, cancel_futures=True)
        for process in processes:
            process.terminate()

    def finish(self) -> None:
        """End processes of our own when they have nothing left to do."""
        if self._own:
            self._pool.shutdown(wait=True, cancel_futures=True)
