"""The loop that hands out candidates, writes what comes back, and asks nobody to compute what is known already."""

from __future__ import annotations

import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from queue import Empty, SimpleQueue
from typing import Any

from loopnet.explore.candidate import Candidate
from loopnet.explore.figures import reckon
from loopnet.explore.judge import Outcome, Setting, unsited
from loopnet.explore.pool import Crew
from loopnet.explore.results import Results, Row

__all__ = ["Progress", "Runner", "Stopped", "Tell"]

BEAT = 20.0
"""Time between two signs of life [s]."""
LOOK = 0.25
"""Time between two looks at what another run is computing [s]."""
GRACE = 20.0
"""Time that workers get to finish what they are at when the user interrupts [s]."""
TOGETHER = 8
"""Most candidates that are handed out in one piece."""


@dataclass(frozen=True)
class Progress:
    """How far a run is.

    Attributes
    ----------
    what : str
        What is being done.
    wanted, done, known, failed : int
        Candidates in all so far, finished, finished before this run began or by another, failed among those finished.
    seconds : float
        Since the run began [s].
    row : Row, optional
        The row that was just finished.
    """

    what: str
    wanted: int
    done: int
    known: int
    failed: int
    seconds: float
    row: Row | None = None

    @property
    def rate(self) -> float:
        """Plants computed in a second [1/s]."""
        return (self.done - self.known) / self.seconds if self.seconds > 0 else 0.0

    @property
    def left(self) -> float | None:
        """Time left at this rate [s]; None before the first is computed."""
        return (self.wanted - self.done) / self.rate if self.rate > 0 else None


Tell = Callable[[Progress], None]


class Stopped(Exception):
    """Said to whoever waits for a row when a run ends before it."""


@dataclass
class _Task:
    candidate: Candidate
    replies: list[Future[Row]] = field(default_factory=list)


class Runner:
    """Runs candidates with a crew, and keeps what comes back in a store.

    Parameters
    ----------
    crew : Crew
        Who computes; its judge holds space and setting.
    results : Results
        Where rows go.
    tell : callable, optional
        Called with a `Progress` after each row.
    what : str
        What is being done, for `tell`.
    """

    def __init__(self, crew: Crew, results: Results, tell: Tell | None = None, what: str = "") -> None:
        self.crew, self.results, self.what = crew, results, what
        self.setting: Setting = crew.judge.setting
        self.rows: dict[str, Row] = {}
        """Finished rows by key, in the order in which they came."""
        self.computed = 0
        """Rows that were computed here, not read."""
        self._tell = tell or (lambda progress: None)
        self._events: SimpleQueue[tuple[Candidate, Future[Row]] | Future[list[Outcome]] | None] = SimpleQueue()
        self._tasks: dict[str, _Task] = {}  # everything that is not finished
        self._pending: deque[str] = deque()
        self._elsewhere: set[str] = set()  # claimed by another run
        self._out: dict[Any, list[str]] = {}  # handed out, by future
        self._alone: deque[str] = deque()  # was at work when a process died: tried once more, alone
        self._tried: set[str] = set()
        self._begun = self._beat = self._looked = time.perf_counter()
        self._failed, self._ended, self._stop = 0, False, False

    # -- from outside ----------------------------------------------------------------------------------------------

    def ask(self, candidate: Candidate) -> Row:
        """The row of a candidate; waits for it. For searches in threads of their own, while `run` goes on.

        Raises
        ------
        Stopped
            If the run ends before.
        """
        reply: Future[Row] = Future()
        self._events.put((candidate, reply))
        if self._ended:  # else the question lies in the queue when the end empties it
            raise Stopped
        return reply.result()

    def wake(self) -> None:
        """Let `run` look whether it is done."""
        self._events.put(None)

    def run(self, candidates: Iterable[Candidate] = (), going: Callable[[], bool] = lambda: False) -> dict[str, Row]:
        """Run candidates to the end.

        Parameters
        ----------
        candidates : iterable of Candidate
        going : callable, optional
            Whether someone may still `ask`.

        Returns
        -------
        dict
            Finished rows by key.

        Raises
        ------
        KeyboardInterrupt
            After what was at work has been written and the rest released.
        """
        try:
            with self._polite():
                self._take(candidates)
                while self._tasks or going():
                    if self._stop:
                        self._gather()
                        raise KeyboardInterrupt
                    self._fill()
                    self._wait()
                    self._look()
        finally:
            self._end()
        return self.rows

    @contextmanager
    def _polite(self) -> Iterator[None]:
        """Hear an interrupt at the next point where nothing is half written; a second one at once."""
        if threading.current_thread() is not threading.main_thread():
            yield
            return
        before = signal.getsignal(signal.SIGINT)

        def heard(number: int, frame: Any) -> None:
            if self._stop:
                raise KeyboardInterrupt
            self._stop = True
            self.wake()

        signal.signal(signal.SIGINT, heard)
        try:
            yield
        finally:
            signal.signal(signal.SIGINT, before)

    # -- take, hand out, wait --------------------------------------------------------------------------------------

    def _take(self, candidates: Iterable[Candidate]) -> None:
        wanted = {self.setting.key(c): c for c in candidates}
        for candidate in wanted.values():
            self.results.tell(self.setting.physics(candidate), self.setting.describe(candidate))
        known = self.results.finished(list(wanted), self.setting.money)
        self._tasks |= {key: _Task(c) for key, c in wanted.items()}
        self._pending.extend(key for key in wanted if key not in known)
        for row in known.values():
            self._finish(row, read=True)

    def _asked(self, candidate: Candidate, reply: Future[Row]) -> None:
        key = self.setting.key(candidate)
        if key in self.rows:
            reply.set_result(self.rows[key])
        elif key in self._tasks:
            self._tasks[key].replies.append(reply)
        else:
            self._tasks[key] = _Task(candidate, [reply])
            known = self.results.finished([key], self.setting.money)
            if key in known:
                self._finish(known[key], read=True)
            else:
                self.results.tell(self.setting.physics(candidate), self.setting.describe(candidate))
                self._pending.append(key)

    def _fill(self) -> None:
        """Claim and hand out while workers have room. The same circuit at several sites goes out in one piece."""
        while self._alone and not self._out:
            self._hand_out([self._alone.popleft()])
        while not self._alone and self._pending and len(self._out) < self.crew.window:
            piece = [self._pending.popleft()]
            circuit = unsited(self._tasks[piece[0]].candidate)
            while (self._pending and len(piece) < TOGETHER
                   and unsited(self._tasks[self._pending[0]].candidate) == circuit):
                piece.append(self._pending.popleft())
            wanted = {key: self._tasks[key].candidate for key in piece}
            ours = self.results.claim(wanted, {key: self.setting.physics(c) for key, c in wanted.items()})
            self._elsewhere |= set(piece) - ours
            if ours:
                self._hand_out([key for key in piece if key in ours])

    def _hand_out(self, keys: list[str]) -> None:
        try:
            future = self.crew.submit([self._tasks[key].candidate for key in keys])
        except Exception as why:
            if not self.crew.mend(why):
                raise
            self._died(keys)
            return
        self._out[future] = keys
        future.add_done_callback(self._events.put)

    def _wait(self) -> None:
        """Take what has come back, or been asked for, until nothing more has."""
        try:
            event = self._events.get(timeout=LOOK if self._elsewhere else 1.0)
            while True:
                if isinstance(event, tuple):
                    self._asked(*event)
                elif event is not None:
                    self._back(event)
                event = self._events.get_nowait()
        except Empty:
            pass

    def _back(self, future: Any) -> None:
        keys = self._out.pop(future, None)
        if keys is None:
            return
        try:
            outcomes: list[Outcome] = future.result()
        except Exception as why:
            if not self.crew.mend(why):
                raise
            self._died(keys)
            return
        self._written(outcomes)

    def _died(self, keys: list[str]) -> None:
        """A worker died: all that was out is tried again, one by one; what then dies alone has failed."""
        lost = [*keys, *(key for some in self._out.values() for key in some)]
        self._out.clear()
        if len(lost) == 1 and lost[0] in self._tried:
            self._written([Outcome(self._tasks[lost[0]].candidate, lost[0], error="WorkerDied",
                                   reason="the process that computed it died", message="the process that computed it "
                                   "died, twice; not enough memory is the usual cause")])
            return
        self._tried |= set(lost)
        self._alone.extend(key for key in lost if key in self._tasks)

    def _written(self, outcomes: list[Outcome]) -> None:
        money = self.setting.money
        self.results.write(outcomes, money)
        self.computed += len(outcomes)
        for o in outcomes:
            self._finish(Row(o.key, o.candidate, self.setting.physics(o.candidate), o.figures, o.money, o.error,
                             o.reason, o.message, o.seconds), read=False)

    def _finish(self, row: Row, read: bool) -> None:
        if read and not row.failed and not row.money:
            row = self._reckoned(row)
        self.rows[row.key] = row
        self._failed += row.failed
        self._elsewhere.discard(row.key)
        for reply in self._tasks.pop(row.key).replies:
            reply.set_result(row)
        done = len(self.rows)
        self._tell(Progress(self.what, done + len(self._tasks), done, done - self.computed, self._failed,
                            time.perf_counter() - self._begun, row))

    def _reckoned(self, row: Row) -> Row:
        """A row that was computed at other prices, at ours: no year is run."""
        money = reckon(row.figures, self.results.bill(row.key), self.setting.book, self.setting.finance)
        self.results.reckoned({row.key: money}, self.setting.money)
        return Row(row.key, row.candidate, row.setting, row.figures, money, seconds=row.seconds)

    # -- others, and the end ---------------------------------------------------------------------------------------

    def _look(self) -> None:
        """See what other runs have finished or left behind, and give a sign of life."""
        now = time.perf_counter()
        if now - self._beat > BEAT:
            self._beat = now
            self.results.beat()
        if self._elsewhere and not self._pending and now - self._looked > LOOK:
            self._looked = now
            for row in self.results.finished(list(self._elsewhere), self.setting.money).values():
                self._finish(row, read=True)
            if len(self._out) < self.crew.window:  # a run that died leaves claims: what is free again is taken
                self._pending.extend(self._elsewhere)
                self._elsewhere.clear()

    def _gather(self) -> None:
        """After an interrupt: what is at work is finished and written, what was only handed out is called back."""
        for future in list(self._out):
            if not isinstance(future, Future) or future.cancel():
                self._out.pop(future)
        end = time.perf_counter() + GRACE
        with suppress(Exception):  # whatever else goes wrong now: the user wants to stop
            while self._out and time.perf_counter() < end:
                self._wait()

    def _end(self) -> None:
        self._ended = True
        for task in self._tasks.values():
            for reply in task.replies:
                reply.set_exception(Stopped())
        self._tasks.clear()
        while not self._events.empty():
            event = self._events.get()
            if isinstance(event, tuple):
                event[1].set_exception(Stopped())
        self.results.release()
