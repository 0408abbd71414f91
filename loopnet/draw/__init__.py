"""What one looks at: energy-flow and circuit pictures, cost bars, why and how sure, a year in pictures.
Nothing is imported until it is asked for, so that matplotlib is paid for only by those who draw."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from loopnet.draw.beside import draw_beside
    from loopnet.draw.chances import draw_chances
    from loopnet.draw.circuit_picture import draw_circuit
    from loopnet.draw.circuit_places import CircuitLayout, circuit_layout
    from loopnet.draw.costs import draw_cost_bars
    from loopnet.draw.cycle_album import cycle_pictures
    from loopnet.draw.cycle_entropy import draw_cycle
    from loopnet.draw.cycle_heat import draw_exchanges
    from loopnet.draw.figure import save
    from loopnet.draw.flow import EnergyFlow, Link
    from loopnet.draw.flow_layout import FlowLayout, layout_flow
    from loopnet.draw.flow_picture import draw_flow
    from loopnet.draw.hot_temperature import draw_temperatures
    from loopnet.draw.pareto import Cloud, cloud, draw_pareto
    from loopnet.draw.supply import draw_supply
    from loopnet.draw.tornado import draw_tornado
    from loopnet.draw.waterfall import draw_waterfall
    from loopnet.draw.year_album import year_pictures
    from loopnet.draw.year_bed import BedProfiles, beds_of, draw_bed_profiles, draw_bed_year
    from loopnet.draw.year_map import HourMap, draw_hour_map, hour_map
    from loopnet.draw.year_modes import ModeMap, draw_mode_map, hour_modes, mode_map
    from loopnet.draw.year_store import StoreDays, draw_store_days, store_days
    from loopnet.draw.year_week import Week, draw_week, week_of

__all__ = [
    "BedProfiles",
    "CircuitLayout",
    "Cloud",
    "EnergyFlow",
    "FlowLayout",
    "HourMap",
    "Link",
    "ModeMap",
    "StoreDays",
    "Week",
    "beds_of",
    "circuit_layout",
    "cloud",
    "cycle_pictures",
    "draw_bed_profiles",
    "draw_bed_year",
    "draw_beside",
    "draw_chances",
    "draw_circuit",
    "draw_cost_bars",
    "draw_cycle",
    "draw_exchanges",
    "draw_flow",
    "draw_hour_map",
    "draw_mode_map",
    "draw_pareto",
    "draw_store_days",
    "draw_supply",
    "draw_temperatures",
    "draw_tornado",
    "draw_waterfall",
    "draw_week",
    "hour_map",
    "hour_modes",
    "layout_flow",
    "mode_map",
    "save",
    "store_days",
    "week_of",
    "year_pictures",
]

_HOME = {
    "BedProfiles": "year_bed",
    "beds_of": "year_bed",
    "CircuitLayout": "circuit_places",
    "Cloud": "pareto",
    "EnergyFlow": "flow",
    "FlowLayout": "flow_layout",
    "HourMap": "year_map",
    "Link": "flow",
    "ModeMap": "year_modes",
    "StoreDays": "year_store",
    "Week": "year_week",
    "circuit_layout": "circuit_places",
    "cloud": "pareto",
    "cycle_pictures": "cycle_album",
    "draw_bed_profiles": "year_bed",
    "draw_bed_year": "year_bed",
    "draw_beside": "beside",
    "draw_chances": "chances",
    "draw_circuit": "circuit_picture",
    "draw_cost_bars": "costs",
    "draw_cycle": "cycle_entropy",
    "draw_exchanges": "cycle_heat",
    "draw_flow": "flow_picture",
    "draw_hour_map": "year_map",
    "draw_mode_map": "year_modes",
    "draw_store_days": "year_store",
    "draw_pareto": "pareto",
    "draw_supply": "supply",
    "draw_temperatures": "hot_temperature",
    "draw_tornado": "tornado",
    "draw_waterfall": "waterfall",
    "draw_week": "year_week",
    "hour_map": "year_map",
    "hour_modes": "year_modes",
    "layout_flow": "flow_layout",
    "mode_map": "year_modes",
    "save": "figure",
    "store_days": "year_store",
    "week_of": "year_week",
    "year_pictures": "year_album",
}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
