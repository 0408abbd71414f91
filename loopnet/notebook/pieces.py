"""Pieces of HTML: headings, tables with bars in their cells, columns, notes, parts that fold away. All text is escaped.
Colours follow the notebook's own, so that light and dark pages can be read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

__all__ = ["card", "columns", "fold", "line", "number", "share", "table", "warn"]

SUN, QUIET = "#dd8a33", "#7d8894"
"""Colours of bars: both keep a contrast of 3 against white and against a dark page."""
STYLE = """<style>
.loopnet{max-width:64em;line-height:1.4}
.loopnet table{border-collapse:collapse;margin:.4em 0;font-size:.92em}
.loopnet th,.loopnet td{padding:.15em .7em;border:0;border-bottom:1px solid rgba(128,128,128,.3);text-align:right;
vertical-align:top;background:none;color:inherit;font-variant-numeric:tabular-nums;white-space:normal}
.loopnet th{font-weight:600}.loopnet .l{text-align:left}
.loopnet .q{opacity:.75}.loopnet p{margin:.4em 0}.loopnet summary{cursor:pointer;margin:.3em 0}
.loopnet .w{border-left:4px solid #dd8a33;padding-left:.6em}
.loopnet .b{display:inline-block;height:.7em;margin-right:.5em}
</style>"""


def card(title: str, *parts: str) -> str:
    """One result: its title and its parts, which are HTML already."""
    return f'<div class="loopnet">{STYLE}<p><b>{escape(title)}</b></p>{"".join(parts)}</div>'


def line(text: str, quiet: bool = False) -> str:
    """A sentence, or nothing; a quiet one is an aside.

    >>> line("a < b")
    '<p>a &lt; b</p>'
    """
    return f'<p{" class=q" if quiet else ""}>{escape(text)}</p>' if text else ""


def warn(title: str, sentences: Iterable[str]) -> str:
    """Sentences that must not be missed, under their title; nothing if there are none."""
    found = "<br>".join(map(escape, sentences))
    return f'<p class="w"><b>{escape(title)}</b><br>{found}</p>' if found else ""


def fold(title: str, *parts: str) -> str:
    """Parts that are closed until their title is clicked; nothing if they are empty."""
    inner = "".join(parts)
    return f"<details><summary>{escape(title)}</summary>{inner}</details>" if inner else ""


def table(heads: Sequence[str], rows: Iterable[Sequence[str]], left: int = 1, bars: Sequence[float] = (),
          bar_at: int = -1) -> str:
    """A table whose first `left` columns are text; `bars` [-, 0 to 1] are drawn before the cells of column `bar_at`."""
    cells = [[escape(cell) for cell in row] for row in rows]
    for row, size in zip(cells, bars, strict=False):
        row[bar_at] = f'<span class="b" style="width:{6 * max(size, 0.0):.2f}em;background:{SUN}"></span>{row[bar_at]}'

    def row_of(found: Sequence[str], tag: str) -> str:
        return "<tr>" + "".join(f'<{tag}{" class=l" if place < left else ""}>{cell}</{tag}>'
                                for place, cell in enumerate(found)) + "</tr>"

    body = "".join(row_of(row, "td") for row in cells)
    head = row_of([escape(name) for name in heads], "th")
    return f"<table><thead>{head}</thead><tbody>{body}</tbody></table>" if body else ""


def columns(values: Sequence[float], labels: Sequence[str], unit: str, alt: str) -> str:
    """A small picture of columns that stand on a line or hang below it, each with its label and its value as a hint.

    Parameters
    ----------
    values : sequence of float
        Heights [unit].
    labels : sequence of str
        One below each column.
    unit : str
        Unit of the values.
    alt : str
        What the picture shows, for those who do not see it.

    Returns
    -------
    str
        An ``<svg>`` element whose text takes the page's colour.
    """
    wide, tall, foot = 30.0, 70.0, 14.0
    top, bottom = max([*values, 0.0]), min([*values, 0.0])
    scale = tall / ((top - bottom) or 1.0)
    zero = 6 + top * scale
    made = []
    for place, (value, label) in enumerate(zip(values, labels, strict=True)):
        x, y = place * wide + 4, zero - max(value, 0.0) * scale
        made.append(f'<rect x="{x:g}" y="{y:.1f}" width="{wide - 8:g}" height="{abs(value) * scale:.1f}" '
                    f'fill="{SUN if value >= 0 else QUIET}"><title>{escape(label)}: {number(value)} {escape(unit)}'
                    f'</title></rect><text x="{x + wide / 2 - 4:g}" y="{tall + 6 + foot:g}" font-size="10" '
                    f'text-anchor="middle" fill="currentColor">{escape(label)}</text>')
    width = wide * len(values)
    return (f'<svg viewBox="0 0 {width:g} {tall + foot + 10:g}" role="img" aria-label="{escape(alt, quote=True)}" '
            f'style="width:100%;max-width:{width:g}px;height:auto">{"".join(made)}'
            f'<line x1="0" x2="{width:g}" y1="{zero:.1f}" y2="{zero:.1f}" stroke="currentColor"/></svg>')


def number(value: float, digits: int = 4) -> str:
    """A number as people read it: thousands apart, some four digits.

    >>> number(362389.1), number(0.012345), number(0.0), number(12.3456)
    ('362,389', '0.01235', '0', '12.35')
    """
    if abs(value) >= 1e3:
        return f"{value:,.0f}"
    return f"{value:.{digits}g}"


def share(value: float | None) -> str:
    """A share as per cent; a dash for none.

    >>> share(0.4567), share(None)
    ('45.7 %', '-')
    """
    return "-" if value is None else f"{100 * value:.1f} %"
