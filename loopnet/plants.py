"""Find a plant: a shipped architecture by name, or a Python file by path. Architectures are imported at run time only."""

from __future__ import annotations

import importlib
import importlib.util
import pkgutil
import traceback
from difflib import get_close_matches
from pathlib import Path

from loopnet.errors import DataError, LoopnetError, ParameterError
from loopnet.plant import Plant

__all__ = ["find_plant", "shipped"]


def shipped() -> list[str]:
    """Names of the shipped architectures."""
    package = importlib.import_module("architectures")
    return sorted(m.name for m in pkgutil.iter_modules(package.__path__) if not m.name.startswith("_"))


def find_plant(name: str) -> Plant:
    """Load a plant by the name of a shipped architecture or the path of a Python file that defines `build()`.

    Raises
    ------
    ParameterError
        If there is no such architecture.
    DataError
        If the file cannot be read or run, or has no `build()` that returns a plant.
    """
    if name in shipped():
        return _build(importlib.import_module(f"architectures.{name}"), name)
    path = Path(name)
    if path.suffix != ".py" and not path.exists():
        close = get_close_matches(name, shipped(), n=1)
        raise ParameterError("no such plant", where="PLANT", got=name, allowed=", ".join(shipped()),
                             hint=f"{close[0]}, or the path of a Python file" if close else
                             "a shipped name, or the path of a Python file")
    if not path.is_file():
        raise DataError("no such plant file", where=name, hint="check the path")
    return _build(_load(path), name)


def _load(path: Path) -> object:
    spec = importlib.util.spec_from_file_location(f"plant_{path.stem}", path)
    if spec is None or spec.loader is None:
        raise DataError("this is not a Python file", where=str(path), allowed="a file that ends in .py")
    module = importlib.util.module_from_spec(spec)
    try:
        spec.loader.exec_module(module)
    except SyntaxError as why:
        raise DataError(f"the plant file has a syntax error: {why.msg}", where=f"{path}, line {why.lineno}",
                        got=(why.text or "").strip(), hint="mend this line") from None
    except LoopnetError:
        raise
    except Exception as why:
        line = next((f.lineno for f in reversed(traceback.extract_tb(why.__traceback__)) if f.filename == str(path)), 0)
        raise DataError(f"the plant file does not run: {type(why).__name__}: {why}", where=f"{path}, line {line}",
                        hint="run it with python to see more") from why
    return module


def _build(module: object, name: str) -> Plant:
    build = getattr(module, "build", None)
    if not callable(build):
        raise DataError("the plant file has no build()", where=name, allowed="def build() -> Plant",
                        hint="see the files in architectures/")
    plant = build()
    if not isinstance(plant, Plant):
        raise DataError("build() does not return a plant", where=name, got=type(plant).__name__, allowed="a Plant")
    return plant
