"""A plant file to edit: a shipped plant's source with what each call does and what its numbers mean.
The words and ranges are those of docstrings and metadata of what the file calls; none are kept here."""

from __future__ import annotations

import ast
import importlib
import inspect
import json
import re
import shlex
import sys
import textwrap
from collections.abc import Callable, Iterator
from dataclasses import MISSING, Field, fields, is_dataclass
from functools import partial
from itertools import pairwise
from math import isfinite
from typing import Any

from loopnet.media import media_names
from loopnet.plant import Plant
from loopnet.plant.plant import Loop
from loopnet.units import show, to_si

__all__ = ["first_sentence", "known_ranges", "plant_source", "range_words", "summary_of"]

WIDE = 116
_NUMPY_HEAD = re.compile(r"^Parameters\n-+\n(.*?)(?=^\w[\w ]*\n-+\n|\Z)", re.MULTILINE | re.DOTALL)
_NUMPY_ITEM = re.compile(r"^(\*{0,2}\w+(?:, \w+)*)(?: *:[^\n]*)?\n((?:[ \t]+[^\n]*\n?|\n)+)", re.MULTILINE)


def first_sentence(text: str | None) -> str:
    """The first sentence of a docstring, on one line.

    >>> first_sentence("Pump, fan or lift.\\n\\nSwapping the medium makes it another.")
    'Pump, fan or lift.'
    """
    paragraph = " ".join(inspect.cleandoc(text or "").split("\n\n")[0].split())
    found = re.match(r".*?[.:](?= [A-Z]|$)", paragraph)
    return (found[0] if found else paragraph).rstrip(":")


def _shown(value: float, meta: Any) -> str:
    """A value in the unit people use; a range that begins far below any weather is one of differences."""
    unit = "K difference" if meta["unit"] == "K" and meta["low"] < 150.0 else meta["unit"]
    return re.sub(r"[\d.]+e\+0[4-8]", lambda found: f"{float(found[0]):,.0f}", show(value, unit))


def range_words(meta: Any) -> str:
    """The range that the metadata of a parameter allow, in the unit people use.

    >>> range_words({"unit": "K", "low": 280.0, "high": 1600.0, "optional": False})
    '6.85 to 1327 degC'
    """
    low, high = (_shown(meta[end], meta) if isfinite(meta[end]) else "any" for end in ("low", "high"))
    unit = high.partition(" ")[2]
    return f"{low.removesuffix(f' {unit}') if unit else low} to {high}" + (", or None" if meta["optional"] else "")


def _now(item: Field[Any], made: Any) -> str:
    """What holds where nothing is said: the value of an object, or the default of its class."""
    value = getattr(made, item.name) if made is not None else item.default
    if value is MISSING:
        return "must be given"
    return "None" if value is None else _shown(to_si(value, item.metadata["unit"]), item.metadata)


def known_ranges(kind: type) -> dict[str, Field[Any]]:
    """Parameters of a class that have a unit and a range, by name."""
    return {item.name: item for item in fields(kind) if "unit" in item.metadata} if is_dataclass(kind) else {}


def summary_of(name: str) -> str:
    """What a shipped plant is: the first sentence of its file.

    Parameters
    ----------
    name : str
        One of `loopnet.plants.shipped`.

    Returns
    -------
    str

    Examples
    --------
    >>> summary_of("oil_salt").endswith(".")
    True
    """
    return first_sentence(importlib.import_module(f"architectures.{name}").__doc__)


def plant_source(like: str, path: str, name: str) -> str:
    """The text of a plant file to edit.

    Parameters
    ----------
    like : str
        A shipped plant.
    path : str
        Where the file will be, for the commands that it names.
    name : str
        The name of the new plant.

    Returns
    -------
    str
        Python, with a function ``build``.

    Examples
    --------
    >>> text = plant_source("sand_silo", "mine.py", "mine")
    >>> 'Plant("mine"' in text, "#   tower_height" in text
    (True, True)
    """
    module = importlib.import_module(f"architectures.{like}")
    source = inspect.getsource(module)
    lines = source.splitlines()
    writer = _Writer(vars(module))
    notes: dict[int, list[str]] = {}
    body = ast.parse(source).body
    for function in (node for node in body if isinstance(node, ast.FunctionDef)):
        for statement in function.body[isinstance(function.body[0], ast.Expr):]:
            indent = " " * statement.col_offset
            notes[statement.lineno] = [f"{indent}# {text}".rstrip() for text in writer.on(
                statement, WIDE - 2 - len(indent))]
    after = body[0].end_lineno or 0
    out: list[str] = []
    for number, line in enumerate(lines, 1):
        above = notes.get(number, [])
        if above and out and out[-1].strip() and not out[-1].lstrip().startswith(("def ", '"""')):
            out.append("")
        out += [*above, line]
        if number == after:
            out += ["", *_head(like, path)]
    text = "\n".join([*out, *writer.appendix()]) + "\n"
    return re.sub(rf"\bPlant\(\s*(['\"]){re.escape(like)}\1", lambda _: f"Plant({json.dumps(name)}", text, count=1)


def _head(like: str, path: str) -> list[str]:
    file = shlex.quote(path)
    commands = ((f"loopnet check {file}", "is it drawn soundly; streams and balance at the design point"),
                (f"loopnet show {file}", "its year, its bill, what a kWh costs, its cautions: read those"),
                (f"loopnet diff {like} {file}", "what your changes did, term by term"))
    wide = max(len(command) for command, _ in commands)
    return [f"# {line}" for line in (
        f"The shipped plant {like}, to be edited. Change a number, then:",
        *(f"    {command:<{wide}}   {what}" for command, what in commands),
        'Quantities are text with a unit ("600 degC", "18 hour") or plain numbers in SI units; what is out of range is',
        "refused with what is allowed. Behind a name stand its meaning and the range that is allowed; all that may be",
        "set besides stands at the end of the file.")]


class _Writer:
    """Writes what the calls of a statement do; each thing is explained once."""

    def __init__(self, names: dict[str, Any]) -> None:
        self.names = names
        self.told: set[str] = set()
        self.kinds: dict[str, tuple[type, Any]] = {}  # what may be set, for the end of the file

    def on(self, statement: ast.stmt, width: int) -> list[str]:
        """Lines of comment on one statement."""
        calls = [node for node in ast.walk(statement) if isinstance(node, ast.Call)]
        said: list[str] = []
        for call in sorted(calls, key=lambda node: (node.func.end_lineno or 0, node.func.end_col_offset or 0)):
            for hang, text in self._call(call):
                said += textwrap.wrap(text, width, subsequent_indent=" " * hang, break_long_words=False,
                                      break_on_hyphens=False, drop_whitespace=True, initial_indent="")
        return said

    def _once(self, key: str, text: Callable[[], str]) -> Iterator[tuple[int, str]]:
        if key not in self.told:
            self.told.add(key)
            yield 4, text()

    def _call(self, call: ast.Call) -> Iterator[tuple[int, str]]:
        func = call.func
        given = [word.arg for word in call.keywords if word.arg]
        if isinstance(func, ast.Name) and func.id in self.names:
            yield from self._explained(func.id, self.names[func.id], call, given)
        elif isinstance(func, ast.Attribute):
            owner = self.names.get(func.value.id) if isinstance(func.value, ast.Name) else None
            if isinstance(owner, type):
                made = getattr(owner, func.attr)
                yield from self._explained(f"{owner.__name__}.{func.attr}", made, call, given, owner)
            elif func.attr == "loop":
                yield from self._once("loop", lambda: f"loop: {first_sentence(Loop.__doc__)} Media: "
                                      f"{', '.join(media_names())}. {_second(Plant.loop.__doc__)}")
            elif func.attr == "add":
                yield from self._once("add", lambda: f"add: {first_sentence(Plant.add.__doc__)}")
            elif func.attr == "through":
                yield from self._once("through", lambda: f"through: {first_sentence(Loop.through.__doc__)}")

    def _explained(self, name: str, what: Any, call: ast.Call, given: list[str],
                   owner: type | None = None) -> Iterator[tuple[int, str]]:
        kind, made = (owner or what, None) if isinstance(owner or what, type) else self._made(what, call)
        if isinstance(what, type) and not is_dataclass(what) and what is not Plant:
            return
        yield from self._once(name, partial(self._sentence, name, what, kind))
        ranges, words = known_ranges(kind) if kind else {}, {**_field_words(kind), **_numpy_parameters(what)}
        for key in given:
            if f"{name}.{key}" in self.told or not (key in ranges or key in words):
                continue
            self.told.add(f"{name}.{key}")
            meaning = words.get(key, "")
            if key in ranges:
                meta = ranges[key].metadata
                meaning = "; ".join(filter(None, (meta["doc"] or meaning, range_words(meta))))
            yield 24, f"  {key:<21} {meaning}"
        if kind and ranges:
            self.kinds.setdefault(kind.__name__ if made is None else name + _first(call), (kind, made))

    def _made(self, what: Any, call: ast.Call) -> tuple[type | None, Any]:
        """What a function of a catalogue returns for the name that is given."""
        names = [a.value for a in call.args if isinstance(a, ast.Constant)]
        if not callable(what) or len(names) != len(call.args) or _catalogue(what) is None:
            return None, None
        made = what(*names)
        return type(made), made

    @staticmethod
    def _sentence(name: str, what: Any, kind: type | None) -> str:
        text = f"{name}: {first_sentence(what.__doc__)}"
        sides = getattr(kind, "sides", ()) if isinstance(what, type) else ()
        if len(sides) > 1:
            text += f" Sides: {', '.join(sides)}."
        if (others := _catalogue(what)) is not None:
            text += f" Names: {', '.join(others)}."
        return text

    def appendix(self) -> list[str]:
        """Lines of comment on all that may be set besides."""
        out = ["", "", "# What may be set besides, with its value where nothing is said and the range that is allowed:"]
        for name, (kind, made) in self.kinds.items():
            out += ["#", f"# {name}"]
            for key, item in known_ranges(kind).items():
                text = f"  {key:<21} {_now(item, made)}; {range_words(item.metadata)}"
                text += f"; {item.metadata['doc']}" if item.metadata["doc"] else ""
                out += [f"# {line}" for line in textwrap.wrap(text, WIDE - 2, subsequent_indent=" " * 24,
                                                              break_long_words=False, break_on_hyphens=False)]
        return out


def _first(call: ast.Call) -> str:
    return f"({', '.join(ast.unparse(a) for a in call.args)})"


def _second(text: str | None) -> str:
    """What follows the first sentence of a one-line docstring."""
    whole = " ".join(inspect.cleandoc(text or "").split())
    return whole.split("; ", 1)[-1].rstrip(".").replace("`", "") + "."


def _catalogue(what: Any) -> tuple[str, ...] | None:
    """Names that a function takes, where a sibling in its module lists them: `collector` and `collectors`."""
    home = sys.modules.get(getattr(what, "__module__", ""), None)
    names = getattr(home, f"{getattr(what, '__name__', '')}s", None)
    return tuple(names()) if callable(names) and inspect.isfunction(what) else None


def _field_words(kind: type | None) -> dict[str, str]:
    """What stands below the fields of a class, base classes included, as text."""
    found: dict[str, str] = {}
    for base in reversed(inspect.getmro(kind) if kind else ()):
        if not is_dataclass(base):
            continue
        body = ast.parse(textwrap.dedent(inspect.getsource(base))).body[0]
        for item, below in pairwise(body.body if isinstance(body, ast.ClassDef) else ()):
            if (isinstance(item, ast.AnnAssign) and isinstance(item.target, ast.Name) and isinstance(below, ast.Expr)
                    and isinstance(below.value, ast.Constant)):
                found[item.target.id] = " ".join(str(below.value.value).split()).rstrip(".")
    return found


def _numpy_parameters(what: Any) -> dict[str, str]:
    """What the docstring of a function says of its arguments."""
    found = _NUMPY_HEAD.search(inspect.cleandoc(what.__doc__ or "") + "\n")
    if isinstance(what, type) or found is None:
        return {}
    return {name.strip("* "): " ".join(text.split()).rstrip(".") for names, text in _NUMPY_ITEM.findall(found[1])
            for name in names.split(",")}
