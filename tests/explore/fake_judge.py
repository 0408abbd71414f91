"""A judge that computes nothing of a plant, but takes its time, notes each call in a file, and may end its process.

As a script it runs candidates into a file of results: `fake_judge.py RESULTS LOG COUNT PAUSE JOBS`."""

import os
import sys
import time
from pathlib import Path

from loopnet.explore import Candidate, Results
from loopnet.explore.judge import Judge, Outcome, Setting
from loopnet.explore.pool import Crew
from loopnet.explore.runner import Runner
from loopnet.site import tamarisk_basin

DAY = tamarisk_basin().slice(0, 24)


def setting(**changes):
    return Setting(**{"weathers": {"tamarisk": DAY}, "model": "test", **changes})


def candidates(count, **words):
    return [Candidate.of({"kind": "fake", "x": float(i), "site": "tamarisk", **words}) for i in range(count)]


class FakeJudge(Judge):
    """Cost is the square of x; x = 13 fails, x = -1 ends the process."""

    def __init__(self, log: Path | str = "", pause: float = 0.0, **changes) -> None:
        super().__init__(None, setting(**changes))
        self.log, self.pause = str(log), pause

    def __call__(self, candidate: Candidate) -> Outcome:
        key, x = self.setting.key(candidate), float(candidate["x"])
        if self.log:
            with open(self.log, "a", encoding="ascii") as log:
                log.write(f"{key} {os.getpid()}\n")
        time.sleep(self.pause)
        if x == -1.0:
            os._exit(9)
        if x == 13.0:
            return Outcome(candidate, key, error="ParameterError", reason="bad luck", message="x: bad luck; got 13")
        return Outcome(candidate, key, {"product": "heat", "title": f"x = {x:g}", "y": x**3}, [],
                       {"usd_per_kwh": x * x})


def logged(log: Path) -> list[str]:
    """Keys in the order in which they were judged."""
    return [line.split()[0] for line in log.read_text(encoding="ascii").splitlines()] if log.exists() else []


def run(path, log, count, pause=0.0, jobs=2, tell=None):
    """Rows by key of so many candidates."""
    crew = Crew(FakeJudge(log, pause), jobs=jobs)
    try:
        with Results(path) as results:
            return Runner(crew, results, tell).run(candidates(count))
    finally:
        crew.close()


if __name__ == "__main__":
    path, log, count, pause, jobs = sys.argv[1:]
    try:
        run(path, log, int(count), float(pause), int(jobs))
    except KeyboardInterrupt:
        sys.exit(130)
