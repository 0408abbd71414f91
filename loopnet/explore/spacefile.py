"""Read a space of circuits from a TOML file; whatever is wrong in it is told with its line."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loopnet.errors import DataError, LoopnetError, ParameterError

if TYPE_CHECKING:
    from loopnet.explore.space import Number, Range, Space

__all__ = ["read_space"]

TABLES = ("title", "sites", "words", "numbers")


def read_space(kind: type[Space], path: str | Path) -> Space:
    """A space from a TOML file.

    Parameters
    ----------
    kind : type
        `Space`.
    path : str or Path
        File with `title`, `sites` (weather files, taken from the folder of the file, or "tamarisk"), a table `words`
        of lists of words, and a table `numbers` with a value, a list of values, or a table of `low` and `high` each.

    Returns
    -------
    Space

    Raises
    ------
    DataError
        If the file cannot be read or is no TOML.
    ParameterError
        For a name, word or number that does not exist, with its line.
    """
    from loopnet.explore.space import DEMO, grammar

    path = Path(path)
    text = _text(path)
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as why:
        raise DataError(f"this is no TOML: {why}", where=str(path), allowed="TOML",
                        hint="tables as in architectures/grammar/tamarisk.toml") from None
    speech, lines = grammar(), _Lines(path, text)
    for table in raw:
        if table not in TABLES:
            with lines.of("", table):
                raise _unknown(table, TABLES, "part of a space", "SPACE")
    usual, every = speech.numbers(), speech.choices()
    words: dict[str, tuple[str, ...]] = {}
    numbers: dict[str, tuple[float, ...] | Range] = {}
    for name, value in _table(raw, "words", lines).items():
        with lines.of("words", name):
            if name not in every:
                hint = f"move {name} to [numbers]" if name in usual else ""
                raise _unknown(name, tuple(every), "choice", "words", hint)
            words[name] = tuple(_word(word, every[name], name) for word in _listed(value))
    for name, value in _table(raw, "numbers", lines).items():
        with lines.of("numbers", name):
            if name not in usual:
                hint = f"move {name} to [words]" if name in every else ""
                raise _unknown(name, tuple(usual), "number", "numbers", hint)
            numbers[name] = _number(value, usual[name], name)
    with lines.of("", "sites"):
        sites = tuple(_site(site, path.parent, DEMO) for site in _listed(raw.get("sites", [DEMO])))
    with lines.of("", "words"):
        return kind(speech, words, numbers, sites, str(raw.get("title", path.stem)))


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as why:
        raise DataError("cannot read the space", where=str(path), got=type(why).__name__,
                        allowed="a TOML file in UTF-8", hint="check the path; it is taken from the folder you are in"
                        ) from None


def _table(raw: Mapping[str, Any], name: str, lines: _Lines) -> Mapping[str, Any]:
    table = raw.get(name, {})
    with lines.of("", name):
        if not isinstance(table, dict):
            raise ParameterError("not a table", where=name, got=repr(table), allowed=f"[{name}] and lines below it",
                                 hint=f"[{name}]")
    return table


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


def _word(word: Any, every: tuple[str, ...], name: str) -> str:
    if word not in every:
        raise _unknown(word, every, "word", f"words.{name}")
    return str(word)


def _number(value: Any, usual: Number, name: str) -> tuple[float, ...] | Range:
    from loopnet.explore.space import Range

    where = f"numbers.{name}"
    if not isinstance(value, dict):
        return tuple(usual.read(one, where) for one in _listed(value))
    for word in value:
        if word not in ("low", "high"):
            raise _unknown(word, ("low", "high"), "end of a range", where)
    low, high = (usual.read(value[end], where) if end in value else getattr(usual, end) for end in ("low", "high"))
    return Range(low, high)


def _site(site: Any, folder: Path, demo: str) -> str:
    if site == demo:
        return demo
    if not isinstance(site, str) or not (folder / site).is_file():
        raise ParameterError("no such weather file", where="sites", got=repr(site),
                             allowed=f"{demo}, or the path of a weather file", hint=f"a path from {folder or '.'}")
    return str(folder / site)


def _unknown(name: Any, allowed: tuple[str, ...], what: str, where: str, hint: str = "") -> ParameterError:
    from difflib import get_close_matches

    near = get_close_matches(str(name), allowed, n=3, cutoff=0.4)
    return ParameterError(f"no such {what}", where=where, got=repr(name), allowed=", ".join(allowed),
                          hint=hint or (" or ".join(repr(n) for n in near) if near else "one of the allowed names"))


class _Lines:
    """Finds the line of a file on which a name of a table stands, so that errors can tell it."""

    def __init__(self, path: Path, text: str) -> None:
        self.path = path
        self._lines: dict[tuple[str, str], int] = {}
        table = ""
        for i, line in enumerate(text.splitlines(), 1):
            if head := re.match(r"\s*\[\s*([\w.\-\"]+)\s*\]", line):
                table = head[1].strip('"')
                whole, _, name = table.rpartition(".")
                self._lines.setdefault((whole, name), i)
            elif pair := re.match(r"\s*\"?([\w\-]+)\"?\s*(?:\.|=)", line):
                self._lines.setdefault((table, pair[1]), i)

    @contextmanager
    def of(self, table: str, name: str) -> Iterator[None]:
        """Whatever is raised within names the file and the line."""
        try:
            yield
        except LoopnetError as why:
            line = self._lines.get((table, name))
            why.where = f"{self.path}{f', line {line}' if line else ''}: {why.where}"
            raise
