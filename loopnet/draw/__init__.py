"""What one looks at: energy-flow pictures, circuit pictures, cost bars.
Nothing is imported until it is asked for, so that matplotlib is paid for only by those who draw."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from loopnet.draw.circuit_picture import draw_circuit
    from loopnet.draw.circuit_places import CircuitLayout, circuit_layout
    from loopnet.draw.costs import draw_cost_bars
    from loopnet.draw.figure import save
    from loopnet.draw.flow import EnergyFlow, Link
    from loopnet.draw.flow_layout import FlowLayout, layout_flow
    from loopnet.draw.flow_picture import draw_flow

__all__ = [
    "CircuitLayout",
    "EnergyFlow",
    "FlowLayout",
    "Link",
    "circuit_layout",
    "draw_circuit",
    "draw_cost_bars",
    "draw_flow",
    "layout_flow",
    "save",
]

_HOME = {
    "CircuitLayout": "circuit_places",
    "EnergyFlow": "flow",
    "FlowLayout": "flow_layout",
    "Link": "flow",
    "circuit_layout": "circuit_places",
    "draw_circuit": "circuit_picture",
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
