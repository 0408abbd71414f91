"""The store of results: one SQLite file that several runs may share. A row is claimed before it is computed, so that
nothing is computed twice, and written when it is finished, so that nothing is lost."""

from __future__ import annotations

import json
import os
import socket
import sqlite3
import time
import uuid
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from loopnet.errors import DataError
from loopnet.explore.candidate import Candidate
from loopnet.explore.figures import BillLine
from loopnet.explore.judge import Outcome

__all__ = ["SCHEMA", "Results", "Row"]

SCHEMA = 1
"""Version of the tables; grows when they change."""
OURS = 0x4C6F4E65
"""Says in the head of the file that it is ours (SQLite's application_id)."""
SILENT = 120.0
"""Time after which a run on another machine that gives no sign is taken for dead [s]."""
BUSY = 60.0
"""Time to wait for another run that writes [s]."""
AT_ONCE = 500
"""Keys asked for in one statement."""

TABLES = """
CREATE TABLE runs (key TEXT PRIMARY KEY, state TEXT NOT NULL CHECK (state IN ('claimed', 'done', 'failed')),
    owner TEXT, candidate TEXT NOT NULL, circuit TEXT NOT NULL, setting TEXT NOT NULL, figures TEXT, bill BLOB,
    error TEXT, reason TEXT, message TEXT, seconds REAL, finished REAL) WITHOUT ROWID;
CREATE TABLE money (key TEXT NOT NULL, setting TEXT NOT NULL, figures TEXT NOT NULL,
    PRIMARY KEY (key, setting)) WITHOUT ROWID;
CREATE TABLE settings (setting TEXT PRIMARY KEY, told TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE owners (owner TEXT PRIMARY KEY, host TEXT NOT NULL, pid INTEGER NOT NULL, born TEXT NOT NULL,
    seen REAL NOT NULL) WITHOUT ROWID;
"""


@dataclass(frozen=True)
class Row:
    """A finished result: what was chosen, and its figures or the error that ended it."""

    key: str
    candidate: Candidate
    setting: str
    figures: Mapping[str, Any] = field(default_factory=dict, repr=False)
    money: Mapping[str, Any] = field(default_factory=dict, repr=False)
    """Cost at the prices asked for; empty where the row failed, or was not yet reckoned at them."""
    error: str = ""
    reason: str = ""
    message: str = ""
    seconds: float = 0.0

    @property
    def failed(self) -> bool:
        """Whether it ended in an error."""
        return bool(self.error)

    def __getitem__(self, name: str) -> Any:
        return {**self.figures, **self.money}[name]

    def get(self, name: str, other: Any = None) -> Any:
        """A figure by name, or `other` where there is none."""
        return {**self.figures, **self.money}.get(name, other)


class Results:
    """Results in a file, or in memory without one. Use it as a context, or close it.

    Parameters
    ----------
    path : str or Path, optional
        The file; made if there is none.
    readonly : bool
        Whether the file must exist and is only read.

    Raises
    ------
    DataError
        If the file cannot be opened, is no file of results, or was made by a later version.
    """

    def __init__(self, path: str | Path | None = None, *, readonly: bool = False) -> None:
        self.path, self.readonly = None if path is None else Path(path), readonly
        self.owner = uuid.uuid4().hex
        with self._told():
            if readonly:
                self._db = sqlite3.connect(f"{Path(path or '').resolve(strict=True).as_uri()}?mode=ro", uri=True)
                self._check()
                return
            self._db = sqlite3.connect(":memory:" if path is None else path, timeout=BUSY, isolation_level=None)
        with self._writing() as db:
            if not db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
                for statement in TABLES.split(";")[:-1]:
                    db.execute(statement)
                db.execute(f"PRAGMA application_id = {OURS}")
                db.execute(f"PRAGMA user_version = {SCHEMA}")
            self._check()
            db.execute("INSERT INTO owners VALUES (?, ?, ?, ?, ?)",
                       (self.owner, socket.gethostname(), os.getpid(), _born(os.getpid()), time.time()))
        with self._told():
            if self.path is not None:
                self._db.execute("PRAGMA journal_mode = WAL")  # readers do not wait; a killed run leaves whole rows
            self._db.execute("PRAGMA synchronous = NORMAL")

    def _check(self) -> None:
        """Refuse a file that is none of ours, or of another version."""
        ours, schema = (int(self._db.execute(f"PRAGMA {name}").fetchone()[0])
                        for name in ("application_id", "user_version"))
        if ours != OURS:
            raise ValueError("a file of something else")
        if schema != SCHEMA:
            raise ValueError(f"tables of version {schema}; this version of loopnet reads {SCHEMA}")

    @contextmanager
    def _told(self) -> Iterator[None]:
        """What goes wrong with the file, in our words."""
        try:
            yield
        except (sqlite3.Error, OSError, ValueError) as why:
            raise DataError("cannot use this file of results", where=str(self.path or "results in memory"),
                            got=getattr(why, "strerror", None) or str(why), allowed="a file that loopnet explore "
                            "wrote, or a new one, in a folder where you may write", hint="another --results") from why

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction that begins with the right to write, so that two runs never see the same row as free."""
        with self._told():
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield self._db
            except BaseException:
                self._db.execute("ROLLBACK")
                raise
            self._db.execute("COMMIT")

    # -- claim, write, release -------------------------------------------------------------------------------------

    def claim(self, wanted: Mapping[str, Candidate], setting: str | Mapping[str, str]) -> set[str]:
        """Claim work: keys that nobody has finished, and nobody who is alive is at work on.

        Parameters
        ----------
        wanted : mapping of str to Candidate
            Candidates by key.
        setting : str, or mapping of str to str
            Setting of all of them, or of each key.

        Returns
        -------
        set of str
            Keys that are now ours to compute.
        """
        ours: set[str] = set()
        with self._writing() as db:
            alive: dict[str, bool] = {}
            for key, candidate in wanted.items():
                said = setting if isinstance(setting, str) else setting[key]
                new = db.execute("INSERT OR IGNORE INTO runs (key, state, owner, candidate, circuit, setting) "
                                 "VALUES (?, 'claimed', ?, ?, ?, ?)",
                                 (key, self.owner, json.dumps(candidate.to_dict()), candidate.circuit, said))
                if new.rowcount == 1:
                    ours.add(key)
                    continue
                state, owner = db.execute("SELECT state, owner FROM runs WHERE key = ?", (key,)).fetchone()
                if state != "claimed" or owner == self.owner:
                    continue
                if owner not in alive:
                    alive[owner] = self._alive(owner)
                if not alive[owner]:
                    db.execute("UPDATE runs SET owner = ? WHERE key = ?", (self.owner, key))
                    ours.add(key)
        return ours

    def _alive(self, owner: str) -> bool:
        found = self._db.execute("SELECT host, pid, born, seen FROM owners WHERE owner = ?", (owner,)).fetchone()
        if found is None:
            return False
        host, pid, born, seen = found
        if host != socket.gethostname():
            return time.time() - float(seen) < SILENT
        return _born(pid) == born != ""

    def write(self, outcomes: Iterable[Outcome], money: str) -> None:
        """Write what is finished; `money` is the setting of the prices it was reckoned at."""
        with self._writing() as db:
            for o in outcomes:
                bill = zlib.compress(json.dumps(o.bill).encode()) if o.bill else None
                db.execute("UPDATE runs SET state = ?, owner = NULL, figures = ?, bill = ?, error = ?, reason = ?, "
                           "message = ?, seconds = ?, finished = ? WHERE key = ? AND state = 'claimed'",
                           ("failed" if o.failed else "done", json.dumps(o.figures), bill, o.error, o.reason,
                            o.message, o.seconds, time.time(), o.key))
                if o.money:
                    self._money(db, o.key, money, o.money)

    @staticmethod
    def _money(db: sqlite3.Connection, key: str, setting: str, figures: Mapping[str, Any]) -> None:
        db.execute("INSERT OR REPLACE INTO money VALUES (?, ?, ?)", (key, setting, json.dumps(figures)))

    def reckoned(self, figures: Mapping[str, Mapping[str, Any]], money: str) -> None:
        """Write costs of finished rows, by key, at other prices."""
        with self._writing() as db:
            for key, found in figures.items():
                self._money(db, key, money, found)

    def release(self) -> None:
        """Give back what was claimed and is not finished, so that another run may take it."""
        with self._writing() as db:
            db.execute("DELETE FROM runs WHERE state = 'claimed' AND owner = ?", (self.owner,))

    def forget_failures(self, keys: Sequence[str]) -> None:
        """Drop failed rows among some keys, so that they are tried anew."""
        with self._writing() as db:
            db.executemany("DELETE FROM runs WHERE state = 'failed' AND key = ?", [(key,) for key in keys])

    def beat(self) -> None:
        """Give a sign of life to runs on other machines."""
        with self._writing() as db:
            db.execute("UPDATE owners SET seen = ? WHERE owner = ?", (time.time(), self.owner))

    def tell(self, setting: str, told: Mapping[str, Any]) -> None:
        """Keep what a setting means, for people who read the file."""
        with self._writing() as db:
            db.execute("INSERT OR IGNORE INTO settings VALUES (?, ?)", (setting, json.dumps(told)))

    # -- read ------------------------------------------------------------------------------------------------------

    def finished(self, keys: Sequence[str], money: str) -> dict[str, Row]:
        """Finished rows among some keys, with their cost at some prices where it was reckoned."""
        found: dict[str, Row] = {}
        with self._told():
            for first in range(0, len(keys), AT_ONCE):
                some = keys[first:first + AT_ONCE]
                marks = ", ".join("?" * len(some))
                found |= {row.key: row for row in self._rows(f"AND r.key IN ({marks})", money, some)}
        return found

    def all(self, money: str = "") -> list[Row]:
        """Every finished row, of all settings, with its cost at some prices where it was reckoned."""
        with self._told():
            return list(self._rows("ORDER BY r.finished", money, ()))

    def bill(self, key: str) -> list[BillLine]:
        """What was bought for a row; empty where it failed."""
        with self._told():
            found = self._db.execute("SELECT bill FROM runs WHERE key = ?", (key,)).fetchone()
        return [tuple(line) for line in json.loads(zlib.decompress(found[0]))] if found and found[0] else []

    def _rows(self, which: str, money: str, keys: Sequence[str]) -> Iterator[Row]:
        rows = self._db.execute(
            "SELECT r.key, r.candidate, r.setting, r.figures, m.figures, r.error, r.reason, r.message, r.seconds "
            "FROM runs r LEFT JOIN money m ON m.key = r.key AND m.setting = ? "
            f"WHERE r.state != 'claimed' {which}", (money, *keys))
        for key, candidate, setting, figures, cost, error, reason, message, seconds in rows:
            yield Row(key, Candidate.of(json.loads(candidate)), setting, json.loads(figures or "{}"),
                      json.loads(cost or "{}"), error or "", reason or "", message or "", seconds or 0.0)

    def settings(self) -> dict[str, dict[str, Any]]:
        """What each setting means."""
        with self._told():
            return {name: json.loads(told) for name, told in self._db.execute("SELECT setting, told FROM settings")}

    def counts(self) -> dict[str, int]:
        """Rows by state: claimed, done, failed."""
        with self._told():
            found = dict(self._db.execute("SELECT state, count(*) FROM runs GROUP BY state").fetchall())
        return {state: int(found.get(state, 0)) for state in ("claimed", "done", "failed")}

    def close(self) -> None:
        """Release what is not finished, and close the file."""
        try:
            if not self.readonly:
                self.release()
                with self._writing() as db:
                    db.execute("DELETE FROM owners WHERE owner = ?", (self.owner,))
        finally:
            self._db.close()

    def __enter__(self) -> Results:
        return self

    def __exit__(self, *why: object) -> None:
        self.close()

    def __repr__(self) -> str:
        said = ", ".join(f"{count:,} {state}" for state, count in self.counts().items() if count)
        return f"<Results {self.path or 'in memory'}: {said or 'empty'}>"


def _born(pid: int) -> str:
    """When a process of this machine was started, so that a number used again is not taken for the old one; empty if
    there is no such process."""
    try:
        text = Path(f"/proc/{pid}/stat").read_text(encoding="ascii", errors="replace")
        fields = text.rpartition(")")[2].split()
        return "" if fields[0] == "Z" else fields[19]
    except OSError:
        pass
    if os.path.isdir("/proc/self"):
        return ""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return ""
    except (OSError, ValueError):
        return "alive"
    return "alive"
