"""Answers of a study: why one plant is dearer, what it would take, how sure it is; money year by year."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from loopnet.notebook.pieces import card, fold, line, number, share, table, warn

if TYPE_CHECKING:
    from loopnet.money import CashFlow
    from loopnet.study import BreakEven, Bridge, SupplyCurve, Tornado, Uncertainty

__all__ = ["break_even", "bridge", "cash_flow", "supply", "tornado", "uncertainty"]


def bridge(found: Bridge) -> str:
    """From one cost to the other: a sentence, the waterfall, every term."""
    return card(f"From {found.first} to {found.second}", line(found.sentence()), _picture("draw_waterfall", found),
                fold("Every term", _frame(found.to_frame(), left=2)))


def tornado(found: Tornado) -> str:
    """What moves the cost of a plant, widest first."""
    return card(f"What moves the cost of {found.plant}", line(found.sentence()),
                _picture("draw_tornado", found, most=8), fold("Every number", _frame(found.to_frame(), left=2)),
                warn("Left out", found.notes))


def uncertainty(found: Uncertainty) -> str:
    """How often each plant is the cheapest."""
    frame = found.to_frame()
    rows = [(str(name), share(row["first"]), *(f"{row[key]:.2f}" for key in ("10 %", "50 %", "90 %")))
            for name, row in frame.iterrows()]
    return card(f"How often each plant is the cheapest, in {found.samples:,} draws", line(" ".join(found.sentences())),
                table(("plant", "cheapest", "ct/kWh: 10 %", "50 %", "90 %"), rows, bars=list(frame["first"]), bar_at=1),
                fold("The costs that were drawn", _picture("draw_chances", found)), line(found.checks(), quiet=True))


def break_even(found: BreakEven) -> str:
    """What a number would have to be."""
    return card(f"{found.plant}: what {found.vary.path} would have to be", line(found.sentence()),
                fold(f"{len(found.tried)} values tried", _frame(found.to_frame(), left=0)))


def supply(found: SupplyCurve) -> str:
    """How well each size of store is supplied."""
    return card(f"{found.title} ({found.plant}), {found.weather}: supply against the size of the store",
                _picture("draw_supply", found), fold("Every size", _frame(found.to_frame(), left=0)),
                warn("Warnings", found.warnings))


def cash_flow(found: CashFlow) -> str:
    """What is paid and earned, year by year."""
    return card(repr(found).strip("<>"), _frame(found.to_frame().reset_index(), left=1))


def _picture(name: str, found: Any, **how: Any) -> str:
    """A picture of `loopnet.draw` as SVG; its words are those of the result's own text."""
    import loopnet.draw
    from loopnet.draw.inline import inline_svg

    alt = found.sentence() if hasattr(found, "sentence") else repr(found)
    return inline_svg(getattr(loopnet.draw, name)(found, **how), alt)


def _frame(frame: pd.DataFrame, left: int) -> str:
    rows = [[number(x) if isinstance(x, float) else str(x) for x in row] for row in frame.itertuples(index=False)]
    return table([str(name) for name in frame.columns], rows, left=left)
