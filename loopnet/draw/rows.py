"""Rows of spans on one scale of cost: names at the left, bars or bands in the middle, values beside them.
The layout that waterfall, tornado and reference lines share; boxes that tests can read, no figure needed."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from typing import NamedTuple

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle
from matplotlib.ticker import MaxNLocator

from loopnet.draw.figure import axes_size, new_axes, points_axes, write_label
from loopnet.draw.palette import INK, KINDS, MUTED, PAPER, darker, lighter
from loopnet.draw.text import LINE, Box, Label, line_width, wrap
from loopnet.errors import ParameterError

__all__ = ["RowsLayout", "Span", "draw_rows", "layout_rows"]

_EDGE, _GAP = 10.0, 8.0
COLOURS = {"plain": "#c3ccd5", "strong": darker(KINDS["heat"], 0.14), "less": KINDS["store"],
           "total": darker(KINDS["electricity"], 0.0), "band": lighter(KINDS["electricity"], 0.72)}
"""Colour by kind of a span: "less" and "strong" differ in lightness, so that grey print tells them apart."""


class Span(NamedTuple):
    """One row: a name, a span of cost [USD/kWh], what is written beside it, and its kind, one of `COLOURS`.

    `parts` are further spans in the same row, as (low, high, kind); `mark` is a cost to be marked by a line.
    """

    name: str
    low: float
    high: float
    text: str
    kind: str = "plain"
    parts: tuple[tuple[float, float, str], ...] = ()
    mark: float | None = None


class RowsLayout(NamedTuple):
    """Laid-out rows on a page of `width` by `height`: bars as (row, box, kind), lines as x0, y0, x1, y1, kind
    [pt]."""

    width: float
    height: float
    bars: tuple[tuple[str, Box, str], ...]
    lines: tuple[tuple[float, float, float, float, str], ...]
    labels: tuple[Label, ...]


def layout_rows(spans: Sequence[Span], *, title: str = "", foot: str = "", line: float | None = None,
                steps: bool = False, zero: bool = True, width: float = 720.0, size: float = 8.0) -> RowsLayout:
    """Lay out rows of spans.

    Parameters
    ----------
    spans : sequence of Span
        From top to bottom.
    title, foot : str
        Written above and below.
    line : float, optional
        A cost at which a line runs through all rows [USD/kWh].
    steps : bool
        Whether the end of each span is joined to the next row, as in a waterfall.
    zero : bool
        Whether the scale begins at zero.
    width, size : float
        Width of the page and size of the letters [pt].

    Returns
    -------
    RowsLayout

    Raises
    ------
    ParameterError
        If there is no row, or a number is not finite.

    Examples
    --------
    >>> layout = layout_rows([Span("oil", 0.0, 0.1, "10.0"), Span("sand", 0.0, 0.05, "5.0")])
    >>> long, short = (box.x1 - box.x0 for _, box, _ in layout.bars)
    >>> round(long / short, 9)
    2.0
    """
    if not spans:
        raise ParameterError("nothing to draw", where="rows", allowed="one row or more")
    ends = [x for s in spans for x in (s.low, s.high, *(e for part in s.parts for e in part[:2]))]
    if not all(isfinite(x) for x in ends):
        raise ParameterError("a row must have finite numbers", where="rows", got="not finite", allowed="numbers")
    names = [wrap(s.name, 210.0, size) for s in spans]
    left = _EDGE + max(line_width(part, size) for lines in names for part in lines) + _GAP
    beside = max(line_width(s.text, size) for s in spans) + _GAP
    low, high = min(ends + ([0.0] if zero else [])), max([*ends, *([line] if line is not None else [])])
    if not zero:
        low -= 0.04 * (high - low)
    scale = (width - left - beside - _EDGE) / ((high - low) or 1.0)

    def at(cost: float) -> float:
        return left + (cost - low) * scale

    bars: list[tuple[str, Box, str]] = []
    lines: list[tuple[float, float, float, float, str]] = []
    labels: list[Label] = []
    y = -_EDGE  # goes down from the top; turned around at the end
    y = _sentence(labels, title, y, width, size + 3.5, True, "title") - (6.0 if title else 0.0)
    top, previous = y, None
    for span, wrapped in zip(spans, names, strict=True):
        tall = LINE * size * max(len(wrapped), 1) + 5.0
        bar = Box(at(min(span.low, span.high)), y - tall + 2.5, at(max(span.low, span.high)), y - 2.5)
        if steps and previous is not None:
            lines.append((previous[0], previous[1], previous[0], bar.y1, "step"))
        bars += [(span.name, bar, span.kind), *((span.name, Box(at(a), bar.y0, at(b), bar.y1), kind)
                                                for a, b, kind in span.parts)]
        if span.mark is not None:
            lines.append((at(span.mark), bar.y0 - 1.5, at(span.mark), bar.y1 + 1.5, "mark"))
        middle, high_text = 0.5 * (bar.y0 + bar.y1), LINE * size * len(wrapped) / 2
        box = Box(_EDGE, middle - high_text, left - _GAP, middle + high_text)
        labels.append(Label(span.name, box, (), wrapped, size, (left, middle), "right", "row", INK))
        end = max([bar.x1, *(at(b) for _, b, _ in span.parts)])
        box = Box(end + 4, middle - LINE * size / 2, end + 4 + line_width(span.text, size), middle + LINE * size / 2)
        labels.append(Label(span.text, box, (), (span.text,), size, (end, middle), "left", "value", INK))
        previous, y = (at(span.high), bar.y0), y - tall
    for tick in MaxNLocator(7, steps=[1, 2, 2.5, 5, 10]).tick_values(100 * low, 100 * high):
        x = at(tick / 100)
        if left - 0.5 <= x <= width - _EDGE:
            lines.append((x, y, x, top, "grid"))
            _under(labels, f"{tick:g}", x, y - 2, size)
    if line is not None:
        lines.append((at(line), y, at(line), top, "line"))
    y -= LINE * size + 3
    _under(labels, "US cents per kWh", 0.5 * (left + width - _EDGE), y, size)
    y = _sentence(labels, foot, y - LINE * size - 4, width, size, False, "foot")
    height = _EDGE - y
    return RowsLayout(width, height, tuple((n, b.moved(0, height), k) for n, b, k in bars),
                      tuple((a, b + height, c, d + height, k) for a, b, c, d, k in lines),
                      tuple(label.moved(0, height) for label in labels))


def _sentence(labels: list[Label], text: str, y: float, width: float, size: float, bold: bool, role: str) -> float:
    for part in wrap(text, width - 2 * _EDGE, size, bold=bold) if text else ():
        box = Box(_EDGE, y - LINE * size, _EDGE + line_width(part, size, bold), y)
        names, values = ((part,), ()) if bold else ((), (part,))
        labels.append(Label(part, box, names, values, size, (box.x0, box.y0), "left", role, "" if bold else MUTED))
        y = box.y0
    return y


def _under(labels: list[Label], text: str, x: float, y: float, size: float) -> None:
    half = line_width(text, size) / 2
    labels.append(Label(text, Box(x - half, y - LINE * size, x + half, y), (), (text,), size, (x, y), "center", "scale",
                        MUTED))


def draw_rows(placed: RowsLayout, ax: Axes | None = None) -> Axes:
    """Draw laid-out rows.

    Parameters
    ----------
    placed : RowsLayout
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own, as tall as it needs.

    Returns
    -------
    matplotlib Axes
        In points of the layout's page.
    """
    if ax is None:
        ax = new_axes(placed.width / 72, placed.height / 72)
    scale = points_axes(ax, placed.width, placed.height)
    style = {"grid": ("#e4e7ea", 0.6, "-", 1), "step": (MUTED, 0.6, "-", 2), "line": (INK, 0.9, (0, (4, 2)), 5),
             "mark": (INK, 1.4, "-", 6)}
    for x0, y0, x1, y1, kind in placed.lines:
        colour, wide, dash, order = style[kind]
        ax.plot((x0, x1), (y0, y1), color=colour, linewidth=wide * scale, linestyle=dash, zorder=order)
    for name, box, kind in placed.bars:
        ax.add_patch(Rectangle((box.x0, box.y0), max(box.x1 - box.x0, 0.8), box.y1 - box.y0, facecolor=COLOURS[kind],
                               edgecolor=PAPER, linewidth=0.6 * scale, zorder=3, gid=f"{name}:{kind}"))
    for label in placed.labels:
        write_label(ax, label, scale)
    return ax


def room(ax: Axes | None) -> float:
    """Width of page for an axes [pt]."""
    return 720.0 if ax is None else max(axes_size(ax)[0], 420.0)
