"""Temperature over entropy: a solved cycle with its numbered states, real expansion, and the phase boundary."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from loopnet.draw.cycle_labels import Frame, Places
from loopnet.draw.palette import INK, KINDS, LOOPS, MUTED, lighter
from loopnet.draw.text import FONT, LINE, Box, line_width, wrap
from loopnet.draw.year_page import EDGE, Key, Page, round_numbers
from loopnet.plant import Cycle, CyclePath

__all__ = ["EntropyLayout", "NumberMark", "draw_cycle", "layout_cycle"]

C = 273.15
LOOKS = {
    "heat": ("heat taken up", KINDS["heat"], (), 1.9),
    "work": ("turbine, compressor, pump", INK, (), 1.9),
    "inner": ("passed on inside", LOOPS[1][0], (5.0, 1.6), 1.4),
    "cold": ("heat given away", LOOPS[3][0], (1.6, 1.3), 1.6),
    "bleed": ("extracted steam", MUTED, (6.0, 2.0, 1.2, 2.0), 0.8),
}
"""Words, colour, dashes and width [pt] of each kind of way."""
DOT = 1.9
"""Radius of a state's dot [pt]."""


@dataclass(frozen=True)
class NumberMark:
    """A state on the page: its numbers (states that lie on one another share a mark), its dot and its words [pt]."""

    text: str
    dot: tuple[float, float]
    box: Box


@dataclass(frozen=True, eq=False)
class EntropyLayout:
    """Where everything of the diagram goes [pt]; `rows` is the table of states beside it."""

    title: str
    cycle: Cycle
    frame: Frame
    marks: tuple[NumberMark, ...]
    columns: tuple[tuple[str, float, str], ...]
    """Head, place of its edge [pt] and alignment of each column."""
    rows: tuple[tuple[str, ...], ...]
    size: float

    def __repr__(self) -> str:
        return f"EntropyLayout({self.cycle!r}, {len(self.marks)} marks)"


def _ranges(cycle: Cycle) -> tuple[tuple[float, float], tuple[float, float]]:
    """Ranges of entropy [kJ/kg/K] and temperature [degC] that show ways and states, and as much of the boundary as
    lies between them."""
    s = np.concatenate([path.s for path in cycle.paths]) / 1e3
    T = np.concatenate([path.T for path in cycle.paths]) - C
    low, high = float(T.min()), float(T.max())
    left, right = float(s.min()), float(s.max())
    if cycle.dome is not None:
        inside = cycle.dome[1] - C >= low - 0.12 * (high - low)
        left, right = (f(edge, float(g(cycle.dome[0][inside] / 1e3))) for f, g, edge in (
            (min, np.min, left), (max, np.max, right)))
        high = max(high, float(cycle.dome[1].max()) - C)
    room, foot = 0.05 * (right - left), low - 0.1 * (high - low)
    if cycle.dome is not None:
        foot = max(foot, float(cycle.dome[1].min()) - C)
    return (left - room, right + room), (foot, high + 0.07 * (high - low))


def _table(cycle: Cycle) -> tuple[tuple[str, ...], ...]:
    rows = []
    for number, state in enumerate(cycle.states, 1):
        bar = state.p / 1e5
        digits = 0 if bar >= 99.95 else 1 if bar >= 9.995 else 2 if bar >= 0.9995 else 3
        rows.append((str(number), state.name, f"{bar:.{digits}f}",
                     f"{state.T - C:.0f}", "" if np.isnan(state.x) else f"{state.x:.2f}", f"{state.flow:.3f}"))
    return tuple(rows)


def layout_cycle(cycle: Cycle, title: str = "", width: float = 740.0, height: float = 400.0,
                 size: float = 8.0) -> EntropyLayout:
    """Lay out a temperature-entropy diagram.

    Parameters
    ----------
    cycle : Cycle
    title : str
        Over the picture; one that tells component and kind if left out.
    width, height, size : float
        Of the page below its title and keys, and of the letters [pt].

    Returns
    -------
    EntropyLayout
        No mark lies over another.
    """
    rows = _table(cycle)
    heads: tuple[str, ...] = ("", "state", "bar", "degC", "vapour", "flow")
    if all(not row[4] for row in rows):
        rows, heads = tuple((*row[:4], row[5]) for row in rows), (*heads[:4], heads[5])
    if all(row[-1] == "1.000" for row in rows):
        rows, heads = tuple(row[:-1] for row in rows), heads[:-1]
    small = 0.95 * size
    limit = 0.24 * width
    rows = tuple((row[0], "\n".join(wrap(row[1], limit, small)), *row[2:]) for row in rows)
    gap = 0.9 * size
    wide = [max(line_width(line, small, bold=place == 0) for row in (heads, *rows)
                for line in row[place].split("\n")) for place in range(len(heads))]
    edge, columns = width - EDGE, []
    for place in reversed(range(len(heads))):
        left = place == 1
        columns.append((heads[place], edge - wide[place] if left else edge, "left" if left else "right"))
        edge -= wide[place] + gap
    box = Box(EDGE + line_width("0,000", size) + 8.0, EDGE + 3.4 * size, edge - gap, height - 1.6 * size)
    frame = Frame(box, *_ranges(cycle))
    dots = [frame.trace(path.s / 1e3, path.T - C) for path in cycle.paths]
    dots += [] if cycle.dome is None else [frame.trace(cycle.dome[0] / 1e3, cycle.dome[1] - C)]
    places = Places(Box(box.x0 + 1, box.y0 + 1, box.x1 - 1, box.y1 + 4), np.concatenate(dots))
    points = [(float(x), float(y)) for x, y in (frame.at(state.s / 1e3, state.T - C) for state in cycle.states)]
    groups: list[list[int]] = []
    for number, point in enumerate(points):
        near = next((g for g in groups if np.hypot(*np.subtract(points[g[0]], point)) < 2 * DOT), None)
        groups.append([number]) if near is None else near.append(number)
    places.taken += [Box(px - DOT, py - DOT, px + DOT, py + DOT) for px, py in points]
    marks = []
    for group in groups:
        text = ", ".join(str(number + 1) for number in group)
        marks.append(NumberMark(text, points[group[0]], places.settle(
            points[group[0]], line_width(text, size, bold=True) + 1.0, LINE * size)))
    return EntropyLayout(title or f"{cycle.component}: the {cycle.kind} cycle, temperature over entropy", cycle, frame,
                         tuple(marks), tuple(reversed(columns)), rows, size)


def _keys(paths: Iterable[CyclePath], dome: bool) -> list[Key]:
    used = {path.kind for path in paths}
    keys = [Key(words, colour, (0, dashes) if dashes else "line") for kind, (words, colour, dashes, _) in LOOKS.items()
            if kind in used]
    return [*keys, *([Key("boundary between liquid and vapour", lighter(MUTED, 0.35), "line")] if dome else [])]


def draw_cycle(cycle: Cycle, ax: Axes | None = None, *, title: str = "",
               size: tuple[float, float] = (10.5, 6.4)) -> Axes:
    """Draw a cycle as temperature over entropy, with its table of states beside it.

    Parameters
    ----------
    cycle : Cycle
        From `loopnet.study.cycles.cycles_of`.
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.
    title : str
        Over the picture; one that tells component and kind if left out.
    size : (float, float)
        Width and height of a figure of its own [in].

    Returns
    -------
    matplotlib Axes
        The axes, as a page in points.
    """
    page = Page.on(ax, size)
    made = layout_cycle(cycle, title, page.width, page.height, page.size)
    page.title(made.title)
    page.keys(_keys(cycle.paths, cycle.dome is not None))
    made = layout_cycle(cycle, made.title, page.width, page.y, page.size)
    frame, box = made.frame, made.frame.box
    inner = page.panel(*box)
    inner.set_xlim(*frame.x)
    inner.set_ylim(*frame.y)
    inner.set_xticks(round_numbers(*frame.x, number=6))
    inner.set_yticks(round_numbers(*frame.y, number=6))
    for axis in (inner.xaxis, inner.yaxis):
        axis.set_major_formatter(lambda value, _: f"{value:,.10g}")
    inner.grid(color=MUTED, linewidth=0.35, alpha=0.3)
    if cycle.dome is not None:
        s, T = cycle.dome[0] / 1e3, cycle.dome[1] - C
        inner.fill_between(s, T, frame.y[0], color=lighter(MUTED, 0.9), linewidth=0.0, zorder=0)
        inner.plot(s, T, color=lighter(MUTED, 0.35), linewidth=1.1, zorder=1)
    for path in cycle.paths:
        _, colour, dashes, wide = LOOKS[path.kind]
        inner.plot(path.s / 1e3, path.T - C, color=colour, linewidth=wide * page.size / 8.0, zorder=3,
                   linestyle=(0, dashes) if dashes else "-", solid_capstyle="round")
    _write_marks(page, made)
    page.note(box.x0, box.y1 + 1.6 * page.size, "temperature [degC]")
    words = "entropy [kJ/kg/K]"
    page.note(box.x1 - line_width(words, page.size), EDGE + 1.2 * page.size, words)
    _write_table(page, made)
    return page.ax


def _write_marks(page: Page, made: EntropyLayout) -> None:
    for mark in made.marks:
        x, y = mark.dot
        page.ax.plot([x], [y], marker="o", markersize=2 * DOT, color=INK, zorder=7)
        middle = (mark.box.x0 + mark.box.x1) / 2, (mark.box.y0 + mark.box.y1) / 2
        if np.hypot(middle[0] - x, middle[1] - y) > 2.2 * page.size:
            page.ax.plot((x, middle[0]), (y, middle[1]), color=MUTED, linewidth=0.4, zorder=6)
        page.ax.text(*middle, mark.text, fontsize=page.size, family=FONT, weight="bold", color=INK, ha="center",
                     va="center", zorder=8, gid=f"state:{mark.text}", bbox={
                         "boxstyle": "square,pad=0.05", "facecolor": "white", "edgecolor": "none", "alpha": 0.75})


def _write_table(page: Page, made: EntropyLayout) -> None:
    small, top = 0.95 * page.size, made.frame.box.y1
    cells: list[tuple[str, ...]] = [tuple(head for head, _, _ in made.columns), *made.rows]
    for number, row in enumerate(cells):
        lines = max(cell.count("\n") + 1 for cell in row)
        for place, ((_, x, align), cell) in enumerate(zip(made.columns, row, strict=True)):
            for k, line in enumerate(cell.split("\n")):
                page.ax.text(x, top - LINE * small * (k + 1), line, fontsize=small, family=FONT, ha=align,
                             va="baseline", color=MUTED if number == 0 else INK,
                             weight="bold" if place == 0 else "normal", parse_math=False)
        top -= LINE * small * lines + 0.35 * small
        if number == 0:
            page.ax.plot((made.columns[0][1] - 0.8 * page.size, page.width - EDGE), (top - 0.1 * small,) * 2,
                         color=MUTED, linewidth=0.5)
