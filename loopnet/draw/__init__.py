"""What one looks at: energy-flow pictures and cost bars.
Nothing is imported until it is asked for, so that matplotlib is paid for only by those who draw."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from loopnet.draw.costs import draw_cost_bars
    from loopnet.draw.figure import save
    from loopnet.draw.flow import EnergyFlow, Link
    from loopnet.draw.flow_layout import FlowLayout, layout_flow
    from loopnet.draw.flow_picture import draw_flow

__all__ = [
    "EnergyFlow",
    "FlowLayout",
    "Link",
    "draw_cost_bars",
    "draw_flow",
    "layout_flow",
    "save",
]

_HOME = {
    "EnergyFlow": "flow",
    "FlowLayout": "flow_layout",
    "Link": "flow",
    "draw_cost_bars": "costs",
    "draw_flow": "flow_picture",
    "layout_flow": "flow_layout",
    "save": "figure",
}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
