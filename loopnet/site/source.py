"""A weather file as lines of text with their row numbers; every refusal of a file is worded in this place."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from loopnet.errors import DataError

__all__ = ["Source", "open_source", "row_text"]

MOST_BYTES = 400_000_000
"""Larger files are not weather of one place: a year of 5-minute rows is some 10 MB. Common practice, no source."""

_CONTROL = re.compile(rb"[\x00-\x08\x0b\x0e-\x1f]")
_PACKED = {b"PK\x03\x04": "a zip archive", b"\x1f\x8b": "a gzip file", b"BZh": "a bzip2 file", b"%PDF": "a PDF file",
           b"\x89PNG": "a picture", b"SIMPLE": "a FITS file", b"\x89HDF": "an HDF5 file", b"CDF": "a netCDF file"}
_WIDE = {b"\xff\xfe": "UTF-16", b"\xfe\xff": "UTF-16"}
FORMATS = "EPW, TMY3 CSV, or CSV with two header lines of site data (NSRDB style)"


@dataclass(frozen=True)
class Source:
    """Lines of a file without blank ones, the row of each (first row of the file is 1), and notes on reading it."""

    path: str
    lines: tuple[str, ...] = ()
    rows: tuple[int, ...] = ()
    notes: tuple[str, ...] = ()

    def error(self, what: str, *, rows: Sequence[int] = (), column: str = "", got: str = "", allowed: str = "",
              hint: str = "") -> DataError:
        """The one place where a weather file's faults become an error: file, rows and column go into `where`.

        Parameters
        ----------
        what : str
            What is wrong.
        rows : sequence of int
            Rows of the file, counted from 1, headers included.
        column, got, allowed, hint : str
            The facts.

        Returns
        -------
        DataError
            To be raised by the caller.
        """
        where = ", ".join(part for part in (os.path.basename(self.path) or self.path, row_text(rows),
                                            f"column {column}" if column else "") if part)
        return DataError(what, where=where, got=got, allowed=allowed, hint=hint)


def row_text(rows: Sequence[int], most: int = 12) -> str:
    """Rows as people write them.

    >>> row_text([7]), row_text([3, 4, 5, 9]), row_text([])
    ('row 7', 'rows 3-5, 9', '')
    """
    runs: list[list[int]] = []
    for row in (int(r) for r in rows):
        if runs and row == runs[-1][1] + 1:
            runs[-1][1] = row
        else:
            runs.append([row, row])
    shown = [f"{a}-{b}" if b > a else f"{a}" for a, b in runs[:most]]
    more = f" and {len(runs) - most} more places, the last at {runs[-1][0]}" if len(runs) > most else ""
    return (f"row{'s' if len(rows) > 1 else ''} " + ", ".join(shown) + more) if runs else ""


def open_source(path: str | os.PathLike[str]) -> Source:
    """Read a text file, refusing what cannot be weather.

    Parameters
    ----------
    path : str or path
        A file on this machine.

    Returns
    -------
    Source
        Its lines. UTF-8, or else Latin-1 with a note.

    Raises
    ------
    DataError
        If there is no such file, it is a folder, empty, packed, binary, UTF-16 or cannot be read.
    """
    try:
        file = Path(path)
        if not file.exists():
            raise Source(str(path)).error("no such file", got=str(path), allowed=FORMATS, hint=_neighbours(file))
        if not file.is_file():
            kind = "a folder" if file.is_dir() else "not a regular file"
            raise Source(str(path)).error("this is not a file", got=kind, allowed=FORMATS,
                                          hint="the path of a weather file" + (" inside it" if file.is_dir() else ""))
        size = file.stat().st_size
        if size > MOST_BYTES:
            raise Source(str(path)).error("too large for the weather of one place", got=f"{size / 1e6:.0f} MB",
                                          allowed=f"up to {MOST_BYTES / 1e6:.0f} MB", hint="one place and one year")
        data = file.read_bytes()
    except (OSError, ValueError, TypeError) as why:
        raise Source(str(path)).error(f"the file cannot be read ({why})", got=repr(path), allowed=FORMATS,
                                      hint="the path of a file that you may read") from None
    return _decode(Source(str(path)), data)


def _neighbours(file: Path) -> str:
    import difflib

    try:
        names = [item.name for item in file.parent.iterdir()] if file.parent.is_dir() else []
    except OSError:
        names = []
    close = difflib.get_close_matches(file.name, names, n=1)
    return f"did you mean {close[0]}" if close else "check the path; it is taken from the folder you are in"


def _decode(source: Source, data: bytes) -> Source:
    if not data.strip():
        raise source.error("the file is empty", got=f"{len(data)} bytes", allowed=FORMATS,
                           hint="fetch or copy the file again")
    kind = next((kind for start, kind in (_WIDE | _PACKED).items() if data.startswith(start)), "")
    data = data.removesuffix(b"\x1a")
    if not kind and (found := _CONTROL.search(data)):
        kind = f"binary (byte 0x{data[found.start()]:02x} at position {found.start()})"
    if kind:
        raise source.error("not a text file of weather", got=kind, allowed=f"text: {FORMATS}",
                           hint="save it as UTF-8 text" if kind == "UTF-16" else "unpack it, or choose the text file")
    notes: tuple[str, ...] = ()
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as why:
        text = data.decode("latin-1")
        row = data.count(b"\n", 0, why.start) + 1
        notes = (f"row {row}: byte 0x{data[why.start]:02x} is not UTF-8; "
                 "the file is read as Latin-1",)
    # not str.splitlines, which also cuts at characters that Latin-1 text may hold
    pairs = [(line, row) for row, line in enumerate(re.split("\r\n|\n|\r", text), 1) if line.strip(" \t,")]
    return Source(source.path, tuple(line for line, _ in pairs), tuple(row for _, row in pairs), notes)
