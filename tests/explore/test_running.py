"""Runs: every executor gives the same rows, nothing is computed twice, and what ends a run loses nothing."""

import os
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from loopnet.errors import ParameterError
from loopnet.explore import Results
from loopnet.explore.pool import Crew
from loopnet.explore.runner import Runner

from .fake_judge import FakeJudge, candidates, logged, run

ROOT = Path(__file__).parents[2]
COUNT = 40


def started(path, log, pause, jobs=2, count=COUNT):
    """A run in a process of its own."""
    return subprocess.Popen([sys.executable, "-m", "tests.explore.fake_judge", str(path), str(log), str(count),
                             str(pause), str(jobs)], cwd=ROOT, start_new_session=True)


def until(condition, seconds=60.0):
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.01)


def plain(rows):
    """Rows without the time that they took."""
    return {key: (row.candidate, row.setting, dict(row.figures), dict(row.money), row.error, row.message)
            for key, row in rows.items()}


@pytest.fixture(scope="module")
def truth():
    """Rows of a run that nothing interrupts, in one process."""
    return plain(run(None, "", COUNT, jobs=1))


def test_processes_give_the_rows_of_one_process(tmp_path, truth):
    assert plain(run(tmp_path / "r.sqlite", tmp_path / "log", COUNT)) == truth
    assert sorted(logged(tmp_path / "log")) == sorted(truth)
    assert sum(row[4] != "" for row in truth.values()) == 1


def test_any_executor_gives_the_same_rows(truth):
    with ThreadPoolExecutor(2) as threads, Results() as results:
        crew = Crew(FakeJudge(), threads, jobs=2)
        rows = Runner(crew, results).run(candidates(COUNT))
        crew.close()
        assert threads.submit(lambda: "still open").result() == "still open"
    assert plain(rows) == truth


def test_a_cluster_gives_the_same_rows(truth):
    distributed = pytest.importorskip("dask.distributed", reason="the extra [cluster] is not installed")
    asked = {"n_workers": 1, "threads_per_worker": 2, "dashboard_address": None, "memory_limit": None}
    with distributed.LocalCluster(**asked) as here, distributed.Client(here) as client, Results() as results:
        rows = Runner(Crew(FakeJudge(), client), results).run(candidates(COUNT))
        again = Runner(Crew(FakeJudge(), client.get_executor(), jobs=4), Results()).run(candidates(4))
    assert plain(rows) == truth
    assert plain(again) == {key: truth[key] for key in again}


def test_what_is_no_executor_is_refused():
    with pytest.raises(ParameterError, match="this is no executor"):
        Crew(FakeJudge(), "cluster")
    with pytest.raises(ParameterError, match="no workers"):
        Crew(FakeJudge(), jobs=0)


def test_what_is_known_is_not_computed_again(tmp_path, truth):
    path, log = tmp_path / "r.sqlite", tmp_path / "log"
    run(path, log, COUNT // 2)
    told = []
    rows = run(path, log, COUNT, tell=told.append)
    assert plain(rows) == truth
    assert sorted(logged(log)) == sorted(truth)
    assert (told[-1].wanted, told[-1].done, told[-1].known, told[-1].failed) == (COUNT, COUNT, COUNT // 2, 1)
    assert [p.done for p in told] == list(range(1, COUNT + 1))
    assert told[-1].left == 0.0
    assert told[-1].rate == pytest.approx(COUNT / 2 / told[-1].seconds)


def test_two_runs_at_once_share_the_work_and_both_know_all(tmp_path, truth):
    path, log = tmp_path / "r.sqlite", tmp_path / "log"
    other = started(path, log, 0.05)
    until(lambda: len(logged(log)) > 2)
    rows = run(path, log, COUNT, pause=0.05)
    assert other.wait(60) == 0
    assert plain(rows) == truth
    assert sorted(logged(log)) == sorted(truth)
    workers = {line.split()[1] for line in log.read_text(encoding="ascii").splitlines()}
    assert len(workers) > 2  # both took part


def test_a_run_killed_in_the_middle_resumes_and_loses_nothing(tmp_path, truth):
    path, log = tmp_path / "r.sqlite", tmp_path / "log"
    killed = started(path, log, 0.05)
    until(lambda: len(logged(log)) > 10)
    os.kill(killed.pid, signal.SIGKILL)
    killed.wait()
    with Results(path, readonly=True) as left:
        written = {row.key for row in left.all()}
        assert 0 < len(written) < COUNT
        assert left.counts()["claimed"] > 0
    until(lambda: not _group(killed.pid))  # its workers do not outlive it
    begun = len(logged(log))
    rows = run(path, log, COUNT)
    assert plain(rows) == truth
    after = logged(log)[begun:]
    assert sorted(after) == sorted(set(truth) - written)


def _group(leader):
    """Processes of a group that still run."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _, group = stat.read_text(encoding="ascii", errors="replace").rpartition(")")[2].split()[:3]
        except OSError:
            continue
        if int(group) == leader and state != "Z":
            found.append(stat)
    return found


def test_an_interrupt_writes_what_is_at_work_and_gives_back_the_rest(tmp_path, truth):
    path, log = tmp_path / "r.sqlite", tmp_path / "log"
    stopped = started(path, log, 0.05)
    until(lambda: len(logged(log)) > 10)
    os.killpg(stopped.pid, signal.SIGINT)  # as a terminal does: to all processes of the run
    assert stopped.wait(30) == 130
    begun = logged(log)
    with Results(path, readonly=True) as left:
        assert left.counts()["claimed"] == 0
        assert {row.key for row in left.all()} == set(begun)
    assert len(begun) < COUNT
    assert plain(run(path, log, COUNT)) == truth
    assert sorted(logged(log)) == sorted(truth)


def test_a_worker_that_dies_costs_its_own_candidate_and_no_other(truth):
    deadly = [c.with_values(x=-1.0) for c in candidates(1)]
    with Results() as results:
        crew = Crew(FakeJudge(pause=0.01), jobs=2)
        rows = Runner(crew, results).run([*candidates(6), *deadly, *candidates(COUNT)[6:]])
        crew.finish()
    lost = [row for row in rows.values() if row.error == "WorkerDied"]
    assert [row.candidate for row in lost] == deadly
    assert "died, twice" in lost[0].message
    assert {key: row for key, row in plain(rows).items() if key != lost[0].key} == truth


def test_candidates_that_are_the_same_work_are_computed_once(tmp_path):
    log = tmp_path / "log"
    with Results() as results:
        crew = Crew(FakeJudge(log), jobs=1)
        rows = Runner(crew, results).run([*candidates(3), *candidates(2)])
    assert len(rows) == 3
    assert len(logged(log)) == 3
