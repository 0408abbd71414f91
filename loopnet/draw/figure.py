"""The canvas: axes in points without pyplot's global state, text in one font, files that repeat byte for byte."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from loopnet.draw.palette import INK, MUTED, PAPER
from loopnet.draw.text import FONT, LINE, Label
from loopnet.errors import ParameterError

__all__ = ["axes_size", "new_axes", "points_axes", "save", "write_label"]


def new_axes(width: float, height: float, margins: tuple[float, float, float, float] = (0, 0, 0, 0)) -> Axes:
    """Axes on a figure of their own, `width` by `height` [in], with margins left, bottom, right, top [in]."""
    figure = Figure(figsize=(width, height), facecolor=PAPER)
    FigureCanvasAgg(figure)
    left, bottom, right, top = margins
    return figure.add_axes((left / width, bottom / height,
                            1 - (left + right) / width, 1 - (bottom + top) / height))


def axes_size(ax: Axes) -> tuple[float, float]:
    """Width and height of the axes on paper [pt]."""
    figure: Any = ax.get_figure(root=True)
    box = ax.get_position()
    inches = figure.get_size_inches()
    return float(box.width * inches[0] * 72), float(box.height * inches[1] * 72)


def points_axes(ax: Axes, width: float, height: float) -> float:
    """Give bare axes the coordinates of a page of `width` by `height` points; return points on paper per unit."""
    ax.set_axis_off()
    room = axes_size(ax)
    scale = min(room[0] / width, room[1] / height)
    spare_x, spare_y = room[0] / scale - width, room[1] / scale - height
    ax.set_xlim(-spare_x / 2, width + spare_x / 2)
    ax.set_ylim(-spare_y / 2, height + spare_y / 2)
    return scale


def write_label(ax: Axes, label: Label, scale: float = 1.0, zorder: float = 6) -> None:
    """Write a placed label, line by line, inside its box."""
    box, size = label.box, label.size
    x = {"left": box.x0, "right": box.x1, "center": (box.x0 + box.x1) / 2}[label.align]
    lines = [(line, True) for line in label.names] + [(line, False) for line in label.values]
    for number, (line, bold) in enumerate(lines):
        baseline = box.y1 - LINE * size * (number + 1) + 0.29 * size
        plain = not bold and label.role == "edge"
        colour = MUTED if plain or not (bold or label.colour) else label.colour or INK
        ax.text(x, baseline, line, fontsize=size * scale, family=FONT, weight="bold" if bold else "normal",
                color=colour, ha=label.align, va="baseline", zorder=zorder, parse_math=False,
                gid=f"{label.role}:{label.text}".replace("\n", " "))


def save(picture: Axes | Figure, path: str | Path, dpi: float = 150) -> Path:
    """Write a picture as PNG or SVG, without date or version, so that the same input gives the same bytes.

    Parameters
    ----------
    picture : matplotlib Axes or Figure
        What to write.
    path : str or Path
        File to write; its ending chooses the format: ``.png`` or ``.svg``.
    dpi : float
        Dots per inch of a PNG [1/in].

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    ParameterError
        If the ending is neither ``.png`` nor ``.svg``.
    """
    import matplotlib

    target = Path(path)
    figure: Any = picture if isinstance(picture, Figure) else picture.get_figure(root=True)
    if target.suffix.lower() == ".png":
        figure.savefig(target, dpi=dpi, format="png", metadata={"Software": None})
    elif target.suffix.lower() == ".svg":
        with matplotlib.rc_context({"svg.hashsalt": "loopnet", "svg.fonttype": "path"}):
            figure.savefig(target, format="svg", metadata={"Date": None, "Creator": None})
    else:
        raise ParameterError("unknown picture format", where="save", got=target.name, allowed=".png or .svg",
                             hint="end the file name in .png or .svg")
    return target
