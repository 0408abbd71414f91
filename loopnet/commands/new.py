"""`loopnet new`: a plant file of one's own, commented, to edit."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Annotated

import typer

from loopnet.commands.options import Debug
from loopnet.errors import DataError, ParameterError

__all__ = ["new"]


def new(file: Annotated[str | None, typer.Argument(metavar="FILE.py", help="The plant file to write.")] = None,
        like: Annotated[str | None, typer.Option("--like", metavar="NAME", help=(
            "The shipped plant to start from; all are listed if left out."))] = None,
        force: Annotated[bool, typer.Option("--force", help="Write over a file that is there.")] = False,
        debug: Debug = False) -> None:
    """Write a plant file to edit: a shipped plant, with what each call does and what each number means and may be.

    Without --like, list the shipped plants.
    """
    from loopnet.plants import shipped

    if like is None:
        _list(shipped(), file)
        return
    if like not in shipped():
        from difflib import get_close_matches

        near = get_close_matches(like, shipped(), n=1, cutoff=0.5)
        raise ParameterError("no such shipped plant", where="--like", got=repr(like), allowed=", ".join(shipped()),
                             hint=f"--like {near[0]}" if near else "loopnet new, which lists them")
    if file is None:
        raise ParameterError("where to write is missing", where="FILE.py", got="nothing", allowed="a path that ends in "
                             ".py", hint=f"loopnet new my_plant.py --like {like}")
    path = Path(file)
    _writable(path, force)
    from loopnet.plantfile import plant_source

    text = plant_source(like, file, path.stem)
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as why:
        raise DataError("cannot write there", where=file, got=why.strerror or str(why),
                        allowed="a place where you may write", hint="another path") from why
    typer.echo(f"wrote {file}, a copy of {like} with every number explained")
    typer.echo(f"now: loopnet check {shlex.quote(file)}, then change a number and: loopnet diff {like} "
               f"{shlex.quote(file)}")


def _list(names: list[str], file: str | None) -> None:
    """Shipped plants, a line each."""
    from rich.table import Table
    from rich.text import Text

    from loopnet.plantfile import summary_of
    from loopnet.report import _console

    grid = Table.grid(padding=(0, 2))
    grid.add_column(no_wrap=True)
    grid.add_column()
    for name in names:
        grid.add_row(Text(f"  {name}"), Text(summary_of(name)))
    console = _console()
    console.print("Shipped plants to start from:")
    console.print(grid)
    console.print(f"to write one: loopnet new {shlex.quote(file or 'my_plant.py')} --like {names[0]}")


def _writable(path: Path, force: bool) -> None:
    """Refuse what cannot be written, or should not, before the work."""
    if path.suffix != ".py":
        raise ParameterError("a plant file ends in .py", where=str(path), got=repr(path.suffix or path.name),
                             allowed=".py", hint=f"{path.with_suffix('.py') if path.name else 'my_plant.py'}")
    if path.is_dir() or not path.parent.is_dir():
        raise DataError("cannot write there", where=str(path), got="a folder" if path.is_dir() else
                        f"no folder {path.parent}", allowed="a file in a folder that exists", hint="another path")
    if path.exists() and not force:
        raise ParameterError("there is such a file already", where=str(path), got="a file", allowed="a name that is "
                             "free", hint="another name, or --force to write over it")
