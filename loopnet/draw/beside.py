"""Plants beside what others cost: a bar for each plant, a band for each reference with its source and year."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from matplotlib.axes import Axes

from loopnet.draw.rows import RowsLayout, Span, draw_rows, layout_rows, room

if TYPE_CHECKING:
    from loopnet.study.reference import Reference

__all__ = ["draw_beside", "layout_beside"]


def layout_beside(costs: Mapping[str, float], references: Sequence[Reference], product: str, width: float = 720.0,
                  size: float = 8.0) -> RowsLayout:
    """Lay out costs of plants and of references.

    Parameters
    ----------
    costs : mapping of str to float
        Plant -> levelised cost [USD/kWh].
    references : sequence of Reference
        Of the same product.
    product : str
        What it is.
    width, size : float
        Width of the page and size of the letters [pt].

    Returns
    -------
    RowsLayout
    """
    spans = [Span(name, 0.0, usd, f"{100 * usd:.1f}", "total")
             for name, usd in sorted(costs.items(), key=lambda c: c[1])]
    for r in references:
        one = r.low if r.high == r.low else None
        spans.append(Span(f"{r.name}, {r.year}", r.low, r.high, r.span(), "band", mark=one))
    sources = "; ".join(f"{r.name.split(',')[0]}: {r.status}, {r.source.split(';')[0]}" for r in references)
    return layout_rows(spans, width=width, size=size, title=f"What a kWh of {product} costs, beside what others cost",
                       foot=f"Sources, each in the money of its year. {sources}.")


def draw_beside(costs: Mapping[str, float], references: Sequence[Reference], product: str,
                ax: Axes | None = None) -> Axes:
    """Draw plants beside what others cost.

    Parameters
    ----------
    costs : mapping of str to float
        Plant -> levelised cost [USD/kWh].
    references : sequence of Reference
        Of the same product.
    product : str
        What it is.
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.

    Returns
    -------
    matplotlib Axes
    """
    return draw_rows(layout_beside(costs, references, product, room(ax)), ax)
