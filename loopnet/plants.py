"""Find a plant: a shipped architecture by name, or a Python file by path; both are imported at run time only."""

from __future__ import annotations

import importlib
import importlib.util
import pkgutil
import sys
import traceback
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from difflib import get_close_matches
from itertools import count
from pathlib import Path
from typing import Any

from loopnet.errors import DataError, LoopnetError, ParameterError
from loopnet.plant import Plant

__all__ = ["find_plant", "named_apart", "shipped"]

PATTERN = "def build(): ... return plant"
EXAMPLES = "start from a copy of a file in architectures/"
_loaded = count(1)  # each file gets a module of its own, so that its classes pickle


def shipped() -> list[str]:
    """Names of the shipped architectures.

    >>> "sand_silo" in shipped()
    True
    """
    package = importlib.import_module("architectures")
    return sorted(m.name for m in pkgutil.iter_modules(package.__path__)
                  if not m.ispkg and not m.name.startswith("_"))


def find_plant(name: str) -> Plant:
    """Load a plant by the name of a shipped architecture or the path of a Python file that defines `build()`.

    Parameters
    ----------
    name : str
        A name of `shipped()`, or a path. The file is run, as Python runs a script: open only files that you trust.

    Returns
    -------
    Plant

    Raises
    ------
    ParameterError
        If there is no such architecture.
    DataError
        If the file cannot be read or run, or has no `build()` that returns a plant.
    LoopnetError
        What the drawing itself raises, with file and line added to `where`.

    Examples
    --------
    >>> find_plant("sand_silo")
    Plant('sand_silo', 6 components, 2 loops)
    """
    if name in shipped():
        return importlib.import_module(f"architectures.{name}").build()
    path = Path(name)
    if path.suffix != ".py" and not path.exists():
        close = get_close_matches(name, shipped(), n=1, cutoff=0.5)
        raise ParameterError("no such plant", where="PLANT", got=repr(name), allowed=f"{', '.join(shipped())}, or the "
                             "path of a Python file", hint=f"{close[0]}" if close else "one of the allowed names")
    if not path.is_file():
        kind = "a folder" if path.is_dir() else "no file"
        raise DataError("no such plant file", where=name, got=kind, allowed="a Python file that ends in .py",
                        hint="check the path; it is taken from the folder you are in")
    return _from_file(path)


def named_apart(plants: Iterable[Plant]) -> list[Plant]:
    """Plants under names that differ: the second of a name becomes ``name_2``, so that nobody mixes them up.

    >>> [plant.name for plant in named_apart([Plant("mine"), Plant("other"), Plant("mine")])]
    ['mine', 'other', 'mine_2']
    """
    found: dict[str, Plant] = {}
    for plant in plants:
        name, place = plant.name, 1
        while name in found:
            place += 1
            name = f"{plant.name}_{place}"
        if place > 1:
            plant = plant.copy()
            plant.name, plant.title = name, f"{plant.title} ({place})"
        found[name] = plant
    return list(found.values())


def _from_file(path: Path) -> Plant:
    spec = importlib.util.spec_from_file_location(f"plant_file_{path.stem}_{next(_loaded)}", path.resolve())
    if spec is None or spec.loader is None:
        raise DataError("this is not a Python file", where=str(path), got=repr(path.suffix),
                        allowed="a file that ends in .py", hint=EXAMPLES)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # a file may define components of its own, and dataclasses look their module up
    with _neighbours(path), _blamed(path):
        spec.loader.exec_module(module)
        build: Callable[[], Any] | None = getattr(module, "build", None)
        if not callable(build):
            raise DataError("the plant file has no build()", where=str(path), got="no function of this name",
                            allowed=PATTERN, hint=EXAMPLES)
        plant = build()
    if not isinstance(plant, Plant):
        raise DataError("build() does not return a plant", where=str(path), got=type(plant).__name__, allowed=PATTERN,
                        hint="end build() with: return plant")
    return plant


@contextmanager
def _neighbours(path: Path) -> Iterator[None]:
    """A plant file may import files that lie beside it, as a script may."""
    folder = str(path.resolve().parent)
    sys.path.append(folder)
    try:
        yield
    finally:
        sys.path.remove(folder)


@contextmanager
def _blamed(path: Path) -> Iterator[None]:
    """Whatever a plant file raises names the file and its line."""
    try:
        yield
    except SyntaxError as why:
        place = f"{why.filename}, line {why.lineno}" if why.lineno else str(path)
        raise DataError(f"the plant file has a syntax error: {why.msg}", where=place,
                        got=repr((why.text or "").strip()), allowed="Python", hint="mend this line, or the one above"
                        ) from why
    except LoopnetError as why:
        if line := _line(why, path):
            why.where = f"{path}, line {line}: {why.where}".rstrip(": ")
        raise
    except (Exception, SystemExit) as why:
        line = _line(why, path)
        raise DataError("the plant file does not run", where=f"{path}, line {line}" if line else str(path),
                        got=f"{type(why).__name__}: {why}".rstrip(": "), allowed=PATTERN,
                        hint="mend this line; --debug shows the way there") from why


def _line(why: BaseException, path: Path) -> int | None:
    """The line of the file that was at work when it went wrong."""
    file = str(path.resolve())
    frames = traceback.extract_tb(why.__traceback__)
    return next((frame.lineno for frame in reversed(frames) if frame.filename == file), None)
