"""The store of results: claims, rows, other files."""

import json
import os
import socket
import sqlite3

import pytest

from loopnet.errors import DataError
from loopnet.explore import Results
from loopnet.explore.judge import Outcome

from .fake_judge import FakeJudge, candidates, setting

JUDGE = FakeJudge()
MONEY = JUDGE.setting.money


def wanted(count):
    return {JUDGE.setting.key(c): c for c in candidates(count)}


def outcomes(found):
    return [JUDGE(c) for c in found.values()]


def test_what_is_written_is_read_again(tmp_path):
    found = wanted(20)
    with Results(tmp_path / "r.sqlite") as results:
        assert results.claim(found, "setting") == set(found)
        results.write(outcomes(found), MONEY)
        results.tell("setting", {"weather": "here"})
    with Results(tmp_path / "r.sqlite", readonly=True) as results:
        rows = results.finished(list(found), MONEY)
        assert results.counts() == {"claimed": 0, "done": 19, "failed": 1}
        assert results.settings() == {"setting": {"weather": "here"}}
        assert {row.key for row in results.all()} == set(found)
    for key, candidate in found.items():
        row, made = rows[key], JUDGE(candidate)
        assert (row.candidate, row.setting) == (candidate, "setting")
        assert (row.figures, row.money, row.error, row.reason, row.message) == (
            made.figures, made.money, made.error, made.reason, made.message)
    failed, = (row for row in rows.values() if row.failed)
    assert (failed.error, failed.message, failed.get("usd_per_kwh")) == ("ParameterError", "x: bad luck; got 13", None)


def test_a_bill_is_kept_line_by_line(tmp_path):
    (key, candidate), = wanted(1).items()
    lines = [("silo", "medium.quartz_sand", "sand", 1.25e6, "as built", None), ("field", "mirror", "", 1 / 3, "", 4.0)]
    with Results(tmp_path / "r.sqlite") as results:
        results.claim({key: candidate}, "s")
        results.write([Outcome(candidate, key, {"y": 1.0}, lines)], MONEY)
        assert results.bill(key) == lines


def test_a_key_is_claimed_once(tmp_path):
    found = wanted(5)
    some = dict(list(found.items())[:3])
    with Results(tmp_path / "r.sqlite") as one, Results(tmp_path / "r.sqlite") as two:
        assert one.claim(some, "s") == set(some)
        assert two.claim(found, "s") == set(found) - set(some)
        assert one.claim(some, "s") == set()
        one.write(outcomes(dict(list(some.items())[:1])), MONEY)
        one.release()
        assert two.claim(some, "s") == set(list(some)[1:])


def test_closing_gives_back_what_is_not_finished(tmp_path):
    found = wanted(2)
    with Results(tmp_path / "r.sqlite") as one:
        one.claim(found, "s")
    with Results(tmp_path / "r.sqlite") as two:
        assert two.claim(found, "s") == set(found)


@pytest.mark.parametrize(("host", "pid", "born", "quiet", "taken"), [
    ("", 0, "1", 0.0, True),  # no such process
    ("", os.getpid(), "1", 0.0, True),  # its number is used by another now
    ("elsewhere", 1, "", 10.0, False),
    ("elsewhere", 1, "", 1000.0, True)], ids=["no process", "number used again", "elsewhere", "elsewhere, long quiet"])
def test_claims_of_the_dead_are_taken_over(tmp_path, host, pid, born, quiet, taken):
    found = wanted(1)
    with Results(tmp_path / "r.sqlite") as one, Results(tmp_path / "r.sqlite") as two:
        one.claim(found, "s")
        one._db.execute("UPDATE owners SET host = ?, pid = ?, born = ?, seen = seen - ? WHERE owner = ?",
                        (host or socket.gethostname(), pid, born, quiet, one.owner))
        assert two.claim(found, "s") == (set(found) if taken else set())


def test_a_late_row_does_not_overwrite_one_that_is_finished(tmp_path):
    (key, candidate), = wanted(1).items()
    with Results(tmp_path / "r.sqlite") as one, Results(tmp_path / "r.sqlite") as two:
        one.claim({key: candidate}, "s")
        one.write([Outcome(candidate, key, {"y": 1.0})], MONEY)
        two.write([Outcome(candidate, key, {"y": 2.0})], MONEY)
        assert two.finished([key], MONEY)[key]["y"] == 1.0


def test_failures_can_be_forgotten_and_nothing_else(tmp_path):
    found = wanted(14)
    with Results(tmp_path / "r.sqlite") as results:
        results.claim(found, "s")
        results.write(outcomes(found), MONEY)
        results.forget_failures(list(found))
        assert results.counts() == {"claimed": 0, "done": 13, "failed": 0}


def test_a_file_of_something_else_is_refused_and_left_alone(tmp_path):
    other, text = tmp_path / "other.sqlite", tmp_path / "text.sqlite"
    db = sqlite3.connect(other)
    db.execute("CREATE TABLE theirs (x)")
    db.commit()
    db.close()
    text.write_text("prices, all of them\n" * 100, encoding="ascii")
    for path, said in ((other, "a file of something else"), (text, "not a database")):
        before = path.read_bytes()
        with pytest.raises(DataError, match=said):
            Results(path)
        assert path.read_bytes() == before
    with pytest.raises(DataError, match="No such file"):
        Results(tmp_path / "none.sqlite", readonly=True)
    with pytest.raises(DataError, match="unable to open"):
        Results(tmp_path / "no" / "folder.sqlite")


def test_tables_of_a_later_version_are_refused(tmp_path):
    Results(tmp_path / "r.sqlite").close()
    db = sqlite3.connect(tmp_path / "r.sqlite")
    db.execute("PRAGMA user_version = 99")
    db.close()
    with pytest.raises(DataError, match="tables of version 99"):
        Results(tmp_path / "r.sqlite")


def test_the_key_follows_what_changes_physics_and_nothing_else():
    from dataclasses import replace

    from loopnet.explore import Candidate
    from loopnet.money import Finance
    from loopnet.year import EveningWindow, Operation

    one, base = candidates(1)[0], setting()
    key = base.key(one)
    same = [setting(finance=Finance(rate=0.03)), setting(book=base.book.scaled(2.0)),
            setting(weathers={"tamarisk": replace(base.weathers["tamarisk"], name="renamed")})]
    other = [setting(dispatch=EveningWindow()), setting(operation=Operation(ready=0.9)), setting(exact=True),
             setting(model="later"), setting(book=base.book.with_values({"tower": 0.0})),
             setting(weathers={"tamarisk": base.weathers["tamarisk"].slice(0, 23)})]
    assert {s.key(one) for s in same} == {key}
    keys = [s.key(one) for s in other]
    assert len({key, *keys}) == 1 + len(keys)
    assert len({base.money, *(s.money for s in same[:2])}) == 3
    assert base.money == same[2].money
    elsewhere = Candidate.of({**one.to_dict(), "site": "there"})
    assert setting(weathers={"there": base.weathers["tamarisk"]}).key(elsewhere) == key


def test_rows_are_readable_without_loopnet(tmp_path):
    found = wanted(1)
    with Results(tmp_path / "r.sqlite") as results:
        results.claim(found, "s")
        results.write(outcomes(found), MONEY)
    db = sqlite3.connect(tmp_path / "r.sqlite")
    candidate, figures = db.execute("SELECT candidate, figures FROM runs").fetchone()
    db.close()
    assert json.loads(candidate)["x"] == 0.0
    assert json.loads(figures)["title"] == "x = 0"
