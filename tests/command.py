"""Runs the command line in this process, as a shell would, and keeps what it said."""

from __future__ import annotations

import io
from contextlib import redirect_stderr, redirect_stdout
from typing import NamedTuple

from loopnet.cli import main


class Said(NamedTuple):
    """Exit status, standard output, standard error."""

    status: int
    out: str
    err: str


class Terminal(io.StringIO):
    """A stream that says a person looks at it."""

    def isatty(self) -> bool:
        return True


def run(*arguments: object, terminal: bool = False) -> Said:
    """Run `loopnet` with these arguments; `terminal` makes standard error look like one."""
    out, err = io.StringIO(), Terminal() if terminal else io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        status = main([str(a) for a in arguments])
    return Said(status, out.getvalue(), err.getvalue())
