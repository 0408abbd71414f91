"""Cost bars: one stacked bar a plant, every term named beside its own segment, the largest one in colour.
Terms too narrow for their name carry it on a pole under the bar, so there is no legend to look up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import fsum, isfinite
from typing import NamedTuple

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from loopnet.draw.figure import axes_size, new_axes, points_axes, write_label
from loopnet.draw.palette import INK, KINDS, MUTED, PAPER, darker
from loopnet.draw.text import LINE, Block, Box, Label, block, line_width, wrap
from loopnet.errors import ParameterError

__all__ = ["CostLayout", "Segment", "draw_cost_bars", "layout_cost_bars"]

_GREYS = ("#c3ccd5", "#dfe4e9")
_STRONG = darker(KINDS["heat"], 0.14)  # dark enough for white letters
_EDGE, _BAR, _AIR = 10.0, 27.0, 2.0

Rows = Mapping[str, Mapping[str, float]] | Sequence[tuple[str, Mapping[str, float]]]


class Segment(NamedTuple):
    """One term of one bar: its box [pt], its value [USD/kWh], and whether it is the bar's largest."""

    plant: str
    term: str
    value: float
    box: Box
    largest: bool


class CostLayout(NamedTuple):
    """Laid-out cost bars on a page of `width` by `height` points; poles are x, y0, y1 [pt]."""

    width: float
    height: float
    segments: tuple[Segment, ...]
    labels: tuple[Label, ...]
    poles: tuple[tuple[float, float, float], ...]


def _cents(value: float) -> str:
    return f"{100 * value:.{2 if abs(value) < 0.00995 else 1}f}"


def _note(term: str, value: float, size: float) -> Block:
    """A term's name and value in one, for a segment too narrow to hold them."""
    return block("", "\n".join(wrap(f"{term} {_cents(value)}", 120.0, size)), 1e9, size)


def layout_cost_bars(rows: Rows, title: str = "", width: float = 720.0, size: float = 8.0) -> CostLayout:
    """Lay out stacked cost bars.

    Parameters
    ----------
    rows : mapping or sequence of pairs
        Plant -> {component -> term of the levelised cost [USD/kWh]}; a negative term is a credit, drawn to the left
        of zero.
    title : str
        Written over the bars.
    width, size : float
        Width of the page and font size [pt].

    Returns
    -------
    CostLayout
        Segments, labels and poles [pt].

    Raises
    ------
    ParameterError
        If there is no row, a row without terms, or a term that is not finite.

    Examples
    --------
    >>> layout = layout_cost_bars({"oil": {"field": 0.06, "store": 0.03}})
    >>> [(s.term, s.largest) for s in layout.segments]
    [('field', True), ('store', False)]
    """
    table = list(rows.items()) if isinstance(rows, Mapping) else list(rows)
    if not table:
        raise ParameterError("no plant to draw", where="cost bars", allowed="one row or more")
    for plant, terms in table:
        bad = [name for name, value in terms.items() if not isfinite(value)]
        if bad or not terms:
            raise ParameterError("cost terms must be finite numbers", where=f"cost bars, {plant}",
                                 got=", ".join(bad) or "no terms", allowed="one finite term or more")
    weight = {name: fsum(abs(terms.get(name, 0.0)) for _, terms in table) for _, terms in table for name in terms}
    order = sorted(weight, key=lambda name: -weight[name])
    name_width = min(max(line_width(plant, size + 0.5, True) for plant, _ in table), 120.0)
    ahead = max(fsum(v for v in terms.values() if v > 0) for _, terms in table)
    credit = max(fsum(-v for v in terms.values() if v < 0) for _, terms in table)
    left = _EDGE + name_width + 8
    notes = [_note(name, value, size).width for _, terms in table for name, value in terms.items()]
    scale = (width - left - _EDGE - max(74.0, *notes)) / ((ahead + credit) or 1.0)
    zero = left + credit * scale

    segments: list[Segment] = []
    labels: list[Label] = []
    poles: list[tuple[float, float, float]] = []
    y = 0.0  # goes down from the top of the page; turned around at the end
    if title:
        y -= _EDGE
        lines = wrap(title, width - 2 * _EDGE, size + 3.5, bold=True)
        for line in lines:
            box = Box(_EDGE, y - LINE * (size + 3.5), _EDGE + line_width(line, size + 3.5, True), y)
            labels.append(Label(line, box, (line,), (), size + 3.5, (box.x0, box.y0), "left", "title"))
            y = box.y0
    for plant, terms in table:
        y -= _EDGE
        row, low = _one_bar(plant, terms, order, zero, scale, y, size)
        segments += row[0]
        labels += row[1]
        poles += row[2]
        names = wrap(plant, name_width, size + 0.5, bold=True)
        tall, middle = LINE * (size + 0.5) * len(names), y - _BAR / 2
        box = Box(left - 8 - name_width, middle - tall / 2, left - 8, middle + tall / 2)
        labels.append(Label(plant, box, names, (), size + 0.5, (left, middle), "right", "node"))
        y = min(low, box.y0)
    height = _EDGE - y
    return CostLayout(width, height, tuple(s._replace(box=s.box.moved(0, height)) for s in segments),
                      tuple(label.moved(0, height) for label in labels),
                      tuple((x, y0 + height, y1 + height) for x, y0, y1 in poles))


def _one_bar(plant: str, terms: Mapping[str, float], order: Sequence[str], zero: float, scale: float, top: float,
             size: float) -> tuple[tuple[list[Segment], list[Label], list[tuple[float, float, float]]],
                                                 float]:
    segments: list[Segment] = []
    labels: list[Label] = []
    poles: list[tuple[float, float, float]] = []
    largest = max(terms, key=lambda name: terms[name])
    right = left = zero
    for name in (n for n in order if n in terms):
        long = abs(terms[name]) * scale
        x = right if terms[name] >= 0 else left - long
        right, left = (right + long, left) if terms[name] >= 0 else (right, left - long)
        segments.append(Segment(plant, name, terms[name], Box(x, top - _BAR, x + long, top), name == largest))
    total = f"{_cents(fsum(terms.values()))} ct/kWh"
    middle, big = top - _BAR / 2, size + 1
    box = Box(right + 7, middle - LINE * big / 2, right + 7 + line_width(total, big, True), middle + LINE * big / 2)
    labels.append(Label(total, box, (total,), (), big, (right, middle), "left", "end"))
    low, taken = top - _BAR, list[Box]()
    for segment in sorted(segments, key=lambda s: -(s.box.x0 + s.box.x1)):
        room, centre = segment.box.x1 - segment.box.x0 - 2 * _AIR, (segment.box.x0 + segment.box.x1) / 2
        text = block(segment.term, _cents(segment.value), max(room, 1.0), size)
        if text.width <= room and len(text.names) == 1 and text.height < _BAR:
            box = Box(centre - text.width / 2, middle - text.height / 2, centre + text.width / 2,
                      middle + text.height / 2)
            colour = PAPER if segment.largest else INK
            labels.append(Label(segment.term, box, text.names, text.values, size, (centre, middle), "center", "segment",
                                colour))
            continue
        text = _note(segment.term, segment.value, size)
        x = centre + 3
        box = Box(x, top - _BAR - 4 - text.height, x + text.width, top - _BAR - 4)
        while hit := [other for other in taken if box.meets(other, _AIR)]:
            box = box.moved(0.0, min(other.y0 for other in hit) - _AIR - 1e-6 - box.y1)
        taken += [box, Box(centre - 0.5, box.y0, centre + 0.5, top)]
        poles.append((centre, box.y0, top - _BAR))
        labels.append(Label(segment.term, box, (), text.values, size, (centre, top - _BAR), "left", "drop", INK))
        low = min(low, box.y0)
    return (segments, labels, poles), low


def draw_cost_bars(rows: Rows, ax: Axes | None = None, title: str = "") -> Axes:
    """Draw what each plant's levelised cost is made of.

    Parameters
    ----------
    rows : mapping or sequence of pairs
        Plant -> {component -> term of the levelised cost [USD/kWh]}.
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own, as tall as it needs.
    title : str
        Written over the bars.

    Returns
    -------
    matplotlib Axes
        The axes, in points of the layout's page.

    Examples
    --------
    >>> ax = draw_cost_bars({"oil": {"field": 0.06, "store": 0.03}, "sand": {"field": 0.05, "lift": 0.002}})
    >>> any(text.get_text() == "9.0 ct/kWh" for text in ax.texts)
    True
    """
    placed = layout_cost_bars(rows, title, width=720.0 if ax is None else max(axes_size(ax)[0], 360.0))
    if ax is None:
        ax = new_axes(placed.width / 72, placed.height / 72)
    scale = points_axes(ax, placed.width, placed.height)
    count: dict[str, int] = {}
    for segment in placed.segments:
        count[segment.plant] = count.get(segment.plant, -1) + 1
        colour = _STRONG if segment.largest else _GREYS[count[segment.plant] % 2]
        box = segment.box
        ax.add_patch(Rectangle((box.x0, box.y0), box.x1 - box.x0, box.y1 - box.y0, facecolor=colour,
                               edgecolor=PAPER, linewidth=0.8 * scale, hatch="...." if segment.value < 0 else None,
                               gid=f"{segment.plant}:{segment.term}"))
    for x, y0, y1 in placed.poles:
        ax.plot((x, x), (y0, y1), color=MUTED, linewidth=0.6 * scale, zorder=4)
    for label in placed.labels:
        write_label(ax, label, scale)
    return ax
