"""What the command line gives out beside text: progress on standard error, figures as JSON, pictures in a folder."""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from loopnet.errors import DataError

if TYPE_CHECKING:
    from loopnet.site import Weather
    from loopnet.study import Assessment

__all__ = ["beside_others", "draw_plants", "picture", "progress", "reach", "save_all", "stem", "write_json"]


@contextmanager
def progress() -> Iterator[Callable[[str, str, float], None]]:
    """A progress bar on standard error, if a person looks at it."""
    if not sys.stderr.isatty():
        yield lambda plant, what, share: None
        return
    from rich.console import Console
    from rich.markup import escape
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bars:
        tasks: dict[str, Any] = {}

        def tell(plant: str, what: str, share: float) -> None:
            if plant not in tasks:
                tasks[plant] = bars.add_task(escape(plant), total=1.0)
            bars.update(tasks[plant], completed=share, description=escape(f"{plant}: {what}"))

        yield tell


@contextmanager
def _written(option: str, path: Path) -> Iterator[None]:
    try:
        yield
    except (OSError, ValueError) as why:
        raise DataError("cannot write there", where=f"{option} {path}",
                        got=getattr(why, "strerror", None) or str(why), allowed="a place where you may write",
                        hint="another path") from why


def reach(json_file: str | None, plots: str | None) -> None:
    """Make the folders of what will be written, so that a bad path is refused before the work, not after it."""
    for option, path, folder in (("--json", json_file, json_file and Path(json_file).parent),
                                 ("--plots", plots, plots)):
        if path is None or (option, path) == ("--json", "-"):
            continue
        with _written(option, Path(path)):
            where = Path(folder or ".")
            where.mkdir(parents=True, exist_ok=True)
            if not os.access(where, os.W_OK):
                raise PermissionError(13, "Permission denied")
            if option == "--json" and Path(path).is_dir():
                raise IsADirectoryError(21, "this is a folder")


def write_json(target: str | None, data: Any) -> None:
    """Write figures as JSON to a file, or to standard output where the file is -."""
    if target is None:
        return
    text = json.dumps(data, indent=2, allow_nan=False) + "\n"
    if target == "-":
        sys.stdout.write(text)
        return
    with _written("--json", Path(target)):
        Path(target).write_text(text, encoding="utf-8")
    typer.echo(f"wrote {target}")


def draw_plants(folder: str, assessments: list[Assessment], json_file: str | None, years: bool = False) -> None:
    """Draw energy and circuit of plants, cycles and years if asked for, and their costs side by side."""
    from loopnet.draw import cycle_pictures, draw_circuit, draw_cost_bars, draw_flow, year_pictures
    from loopnet.draw.plant_flow import circuit_graph, year_flow

    made: list[tuple[str, Callable[[], Any]]] = []
    for a in assessments:
        start = re.sub(r"[^\w.-]+", "_", a.name)
        made += [(f"{start}_energy.png", partial(draw_flow, year_flow(a.year))),
                 (f"{start}_circuit.png", partial(draw_circuit, circuit_graph(a.sized), title=a.plant.title))]
        made += [(f"{start}_{name}.png", drawing) for several in (cycle_pictures(a.sized), year_pictures(a.year))
                 for name, drawing in several.items() if years]
    if len(assessments) > 1:
        bars = {a.name: dict(a.cost.by_component) for a in assessments}
        made.append(("costs.png", lambda: draw_cost_bars(bars, title="What a kilowatt-hour costs, by component")))
    save_all(made, folder, json_file)


def beside_others(found: Sequence[Assessment], sky: Weather) -> list[tuple[str, Callable[[], Any]]]:
    """Pictures of the plants beside what others cost, one for each product."""
    from loopnet.study import after_dark, references

    groups: dict[str, list[Assessment]] = {}
    for a in found:
        groups.setdefault(a.cost.product, []).append(a)
    return [(f"{stem('references', product, len(groups))}.png", partial(
        picture, "draw_beside", {a.name: a.cost.usd_per_kwh for a in group},
        references(product, share=after_dark(group[0], sky.columns["ghi"])), product))
            for product, group in groups.items()]


def picture(name: str, *what: Any) -> Any:
    """A picture of `loopnet.draw` by name; imported only when it is drawn."""
    import loopnet.draw

    return getattr(loopnet.draw, name)(*what)


def stem(name: str, product: str, count: int) -> str:
    """Name of a file of which there may be one for each product."""
    return name if count == 1 else f"{name}_{product}"


def save_all(made: Sequence[tuple[str, Callable[[], Any]]], folder: str, json_file: str | None) -> None:
    """Draw pictures one by one into a folder, and say where they are unless figures go to standard output."""
    from loopnet.draw import save

    for name, draw in made:
        axes, path = draw(), Path(folder) / name
        with _written("--plots", path):
            save(axes, path)
        if json_file != "-":
            typer.echo(f"wrote {path}")
