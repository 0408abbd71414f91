"""Markdown: tables whose cells cannot break them, links from page to page, docstrings with their examples."""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterable, Sequence
from typing import Any

from loopnet.units import show

__all__ = ["cell", "docstring", "extent", "quantity", "table"]


def cell(text: Any) -> str:
    """Text for a cell of a table.

    >>> cell("a | b <c>")
    'a \\\\| b &lt;c&gt;'
    """
    return " ".join(str(text).split()).replace("|", "\\|").replace("<", "&lt;").replace(">", "&gt;").replace("*", "\\*")


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table; cells are markdown already. Nothing if there is no row."""
    body = "\n".join(f"| {' | '.join(row)} |" for row in rows)
    return f"| {' | '.join(heads)} |\n|{'---|' * len(heads)}\n{body}\n" if body else ""


def quantity(value: Any, unit: str, low: float = 0.0) -> str:
    """A number in the unit people use; text stays as it was written.

    >>> quantity(666.15, "K", 285.0), quantity(6.0, "K"), quantity("1 bar", "Pa"), quantity(None, "m")
    ('393 degC', '6 K', '1 bar', 'none')
    """
    if value is None:
        return "none"
    if isinstance(value, str):
        return value
    return show(value, "K difference" if unit == "K" and low < 150.0 else unit).replace("**", "^")


def extent(low: float, high: float, unit: str) -> str:
    """An allowed range in words.

    >>> extent(0.0, 1.0, "-"), extent(250.0, float("inf"), "K")
    ('0 to 1', 'from -23.15 degC')
    """
    ends = [quantity(x, unit, low) if abs(x) != float("inf") else "" for x in (low, high)]
    if all(ends):
        return f"{ends[0]} to {ends[1]}"
    return f"from {ends[0]}" if ends[0] else f"up to {ends[1]}" if ends[1] else "any"


def docstring(thing: Any) -> str:
    """A docstring as markdown: paragraphs joined, examples in code blocks, indented lines kept."""
    text = inspect.getdoc(thing) or ""
    out: list[str] = []
    for part in re.split(r"\n\s*\n", text):
        lines = part.splitlines()
        start = next((place for place, line in enumerate(lines) if line.startswith(">>>")), None)
        if start is None:
            out.append("\n".join(f"    {line.strip()}" if line.startswith("    ") else _safe(line) for line in lines))
            continue
        if start:
            out.append("\n".join(map(_safe, lines[:start])))
        out.append("```python\n" + "\n".join(lines[start:]) + "\n```")
    return "\n\n".join(out) + "\n"


def _safe(line: str) -> str:
    """A line of prose in which ``<`` and ``*`` are letters, code in single backticks left alone."""
    return "".join(piece if place % 2 else piece.replace("<", "&lt;").replace("*", "\\*")
                   for place, piece in enumerate(re.split(r"(`[^`]*`)", line)))
