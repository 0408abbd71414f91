"""A plant as it is drawn, and as it was solved: its circuit, its components, its streams, its certificate."""

from __future__ import annotations

from dataclasses import MISSING, fields, is_dataclass
from typing import Any

from loopnet.notebook.pieces import card, fold, line, number, table, warn
from loopnet.plant import Component, Plant
from loopnet.report import hazards
from loopnet.solve import Sized
from loopnet.units import show, to_si

__all__ = ["drawing", "solution"]

PEOPLE = {"W/m^2/K": (1.0, "W/m2/K"), "W/K": (1e-3, "kW/K"), "m^2": (1.0, "m2"), "m^3": (1.0, "m3")}
"""Units of sizes that `loopnet.units.show` leaves as they are: factor and what people read."""


def drawing(plant: Plant) -> str:
    """A plant: its circuit, what it is sized for, its components and loops, its cautions."""
    rows = [(name, type(component).__name__, component.family, "; ".join(chosen(component)))
            for name, component in plant.components.items()]
    loops = [(loop.name, loop.medium.name, show(loop.pressure, "Pa"),
              f"{show(loop.medium.limits.low, 'K')} to {show(loop.medium.limits.bulk, 'K')}")
             for loop in plant.loops.values()]
    return card(f"{plant.title} ({plant.name})", line(_targets(plant)), circuit(plant),
                table(("component", "kind", "family", "other than its defaults"), rows, left=4),
                fold(f"{len(loops)} loops", table(("loop", "medium", "pressure", "allowed"), loops, left=2)),
                cautions(plant))


def solution(sized: Sized) -> str:
    """A sized plant: whether it closes, its circuit with flows and temperatures, its streams and sizes."""
    streams = [(r["loop"], r["medium"], r["from"], r["to"], number(r["flow_kg_s"]), f"{r['temperature_degC']:.1f}",
                f"{r['bar']:.2f}") for r in sized.to_frame().to_dict("records")]
    terms = [(r["component"], r["label"], r["kind"], number(r["watt"] / 1e6))
             for r in sized.terms().to_dict("records") if abs(r["watt"]) > 0.5]
    return card(f"{sized.plant.title} ({sized.plant.name}) at its design point",
                line(f"Mass and energy close: {sized.certificate}."), warn("Findings", sized.findings), circuit(sized),
                table(("loop", "medium", "from", "to", "kg/s", "degC", "bar"), streams, left=4),
                fold("Sizes", table(("component", "size", ""), sizes(sized), left=2)),
                fold("Energy over the border of each component, MW",
                     table(("component", "flow", "kind", "MW"), terms, left=3)), cautions(sized.plant))


def circuit(what: Plant | Sized) -> str:
    """The circuit as SVG, with flows and temperatures where it is solved; a sentence where nothing is joined yet."""
    plant = what if isinstance(what, Plant) else what.plant
    if not plant.components:
        return line("Nothing is drawn yet: plant.add(name, component), then plant.loop(name, medium).through(...).")
    from loopnet.draw import draw_circuit
    from loopnet.draw.inline import inline_svg
    from loopnet.draw.plant_flow import circuit_graph

    graph = plant.graph if isinstance(what, Plant) else circuit_graph(what)
    names = ", ".join(f"{loop.name} ({loop.medium.name})" for loop in plant.loops.values())
    return inline_svg(draw_circuit(graph), f"circuit of {plant.name}: loops {names}")


def cautions(plant: Plant) -> str:
    """What can hurt people, by what brings it."""
    rows = [(subject, " ".join(sentences)) for subject, sentences in hazards([plant]).items()]
    return fold("Cautions: local codes and licensed practice decide", table(("from", "what to know"), rows, left=2))


def chosen(component: Component) -> list[str]:
    """Parameters that are not at their defaults, in the units people use.

    Parameters
    ----------
    component : Component
        Any.

    Returns
    -------
    list of str
        As ``"outlet 600 degC"``.
    """
    return [f"{item.name} {_text(value, item.metadata)}" for item in fields(component)
            if (value := getattr(component, item.name)) is not None and value != _default(item)]


def _default(item: Any) -> Any:
    """The default of a field as the component holds it: in SI."""
    default = item.default_factory() if item.default_factory is not MISSING else item.default
    return to_si(default, item.metadata["unit"]) if isinstance(default, str) and "unit" in item.metadata else default


def _text(value: Any, metadata: Any) -> str:
    if "unit" in metadata:
        unit = metadata["unit"]
        return show(value, "K difference" if unit == "K" and metadata["low"] < 150.0 else unit)
    return type(value).__name__ if is_dataclass(value) else str(value)


def sizes(sized: Sized) -> list[tuple[str, str, str]]:
    """What is built: hardware unknowns of each component, in the units people use.

    Parameters
    ----------
    sized : Sized
        A plant at its design point.

    Returns
    -------
    list of tuple
        Component, name of the size, value with its unit.
    """
    rows = []
    for name, component in sized.plant.components.items():
        for unknown in component.unknowns():
            if unknown.hardware and f"{name}.{unknown.name}" in sized.values:
                factor, unit = PEOPLE.get(unknown.unit, (1.0, ""))
                value = sized.values[f"{name}.{unknown.name}"]
                said = f"{number(value * factor)} {unit}" if unit else show(value, unknown.unit)
                rows.append((name, unknown.name, said))
    return rows


def _targets(plant: Plant) -> str:
    design, stored = plant.design, bool(list(plant.of_family("store")))
    power = "for heat only" if design.net_power is None else f"{show(design.net_power, 'W')} of electricity"
    store = f", {show(design.store_hours, 's')} of store" if stored else ""
    return (f"To be sized for {power}, solar multiple {design.solar_multiple:g}{store}, at {design.dni:g} W/m2 of "
            f"direct sun and {show(design.ambient, 'K')} air.")
