"""Text as numbers: how wide a line is in points, how a name wraps, and the box that a label fills.
Measured on the outlines of the font itself, so layout needs no figure and no renderer."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

__all__ = ["FONT", "LINE", "Block", "Box", "Label", "block", "line_width", "percent", "quantity", "wrap"]

FONT = "DejaVu Sans"
"""The font of every picture; it comes with matplotlib, so pictures are alike on every machine."""
LINE = 1.25
"""Line pitch over font size [-]; the outlines of the font fill 1.17."""
_SLACK = 1.03  # a renderer rounds each letter to its pixels; this covers it down to 72 dots an inch


class Box(NamedTuple):
    """An upright rectangle in points."""

    x0: float
    y0: float
    x1: float
    y1: float

    def meets(self, other: Box, gap: float = 0.0) -> bool:
        """Whether the two boxes overlap, or come closer than `gap` [pt].

        >>> Box(0, 0, 2, 2).meets(Box(1, 1, 3, 3)), Box(0, 0, 2, 2).meets(Box(2, 0, 3, 1))
        (True, False)
        """
        return (self.x0 < other.x1 + gap and other.x0 < self.x1 + gap
                and self.y0 < other.y1 + gap and other.y0 < self.y1 + gap)

    def moved(self, dx: float, dy: float) -> Box:
        """The same box elsewhere [pt]."""
        return Box(self.x0 + dx, self.y0 + dy, self.x1 + dx, self.y1 + dy)


class Block(NamedTuple):
    """Lines of text and the room they take [pt]: bold name lines first, then plain value lines."""

    names: tuple[str, ...]
    values: tuple[str, ...]
    width: float
    height: float


@dataclass(frozen=True)
class Label:
    """A placed label: its box, the lines in it, and the point it speaks of.

    `align` is the side of the box that the lines stand against; `size` the font size [pt]; `role` is one of
    "title", "stage", "end", "drop", "scale", "node", "pipe", "edge", "medium".
    """

    text: str
    box: Box
    names: tuple[str, ...]
    values: tuple[str, ...]
    size: float
    anchor: tuple[float, float]
    align: str = "left"
    role: str = "stage"
    colour: str = ""

    def moved(self, dx: float, dy: float) -> Label:
        """The same label elsewhere [pt]."""
        return Label(self.text, self.box.moved(dx, dy), self.names, self.values, self.size,
                     (self.anchor[0] + dx, self.anchor[1] + dy), self.align, self.role, self.colour)


@lru_cache(maxsize=8)
def _font(bold: bool) -> FontProperties:
    return FontProperties(family=FONT, weight="bold" if bold else "normal", size=100)


@lru_cache(maxsize=16384)
def _width_at_100(text: str, bold: bool) -> float:
    width, _, _ = text_to_path.get_text_width_height_descent(text, _font(bold), ismath=False)
    return float(width)


def line_width(text: str, size: float, bold: bool = False) -> float:
    """Width of one line of text [pt] at font size `size` [pt], with 3 % of slack for the renderer."""
    return _width_at_100(text, bold) * size / 100 * _SLACK if text else 0.0


def wrap(text: str, limit: float, size: float, bold: bool = False) -> tuple[str, ...]:
    """Break text at spaces so that no line is wider than `limit` [pt]; a longer word is cut with a hyphen.

    >>> wrap("cosine and incidence loss", 56, 8)
    ('cosine and', 'incidence', 'loss')
    """
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for word in paragraph.split():
            joined = f"{line} {word}" if line else word
            if line_width(joined, size, bold) <= limit:
                line = joined
                continue
            if line:
                lines.append(line)
            while line_width(word, size, bold) > limit and len(word) > 2:
                cut = len(word) - 1
                while cut > 1 and line_width(word[:cut] + "-", size, bold) > limit:
                    cut -= 1
                lines.append(word[:cut] + "-")
                word = word[cut:]
            line = word
        if line:
            lines.append(line)
    return tuple(lines)


def block(name: str, value: str, limit: float, size: float) -> Block:
    """Lines and size of a label: the name in bold, wrapped to `limit` [pt], and the value under it.

    A value "512 GWh, 12 %" that is too wide is broken after its comma.
    """
    names = wrap(name, limit, size, bold=True)
    values: tuple[str, ...] = tuple(value.split("\n")) if value else ()
    if len(values) == 1 and line_width(value, size) > limit and ", " in value:
        values = tuple(value.split(", "))
    width = max([line_width(line, size, True) for line in names] + [line_width(line, size) for line in values] + [1.0])
    return Block(names, values, width, LINE * size * (len(names) + len(values)))


def quantity(value: float) -> str:
    """A number in three digits, as people write it.

    >>> [quantity(v) for v in (51234.0, 512.3, 51.23, 5.123, 0.05123, 2e-7, 0.0)]
    ['51,234', '512', '51.2', '5.12', '0.051', '2e-07', '0']
    """
    size = abs(value)
    if size == 0:
        return "0"
    if size < 0.01:
        return f"{value:.1g}"
    if size < 1:
        return f"{value:.2g}"
    return f"{value:,.{2 if size < 9.995 else 1 if size < 99.95 else 0}f}"


def percent(share: float) -> str:
    """A share as per cent, in two digits.

    >>> [percent(s) for s in (1.0, 0.1234, 0.01234, 0.0004)]
    ['100 %', '12 %', '1.2 %', '< 0.1 %']
    """
    number = 100 * share
    if 0 < number < 0.05:
        return "< 0.1 %"
    return f"{number:.{0 if number >= 9.95 or number == 0 else 1}f} %"
