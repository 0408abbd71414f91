"""From results to drawable data: a year as an energy flow, a sized plant as an annotated circuit."""

from __future__ import annotations

import networkx as nx

from loopnet.draw.flow import EnergyFlow, Link
from loopnet.solve import Sized
from loopnet.units import show
from loopnet.year import Year

__all__ = ["circuit_graph", "year_flow"]

LEAST = 1e-4
"""Share of the sun below which a loss is drawn together with others as small."""
STAGES = {"sun": "sun on the mirrors", "field": "absorbed", "loop": "collected", "store": "heat to store",
          "cycle": "heat drawn"}
"""Nodes of the trunk, in order; losses leave from the node of the stage in which they happen."""
WARMED = {"sun": "work of drives", "field": "work in the field", "loop": "work of pumps and fans",
          "store": "work in the store", "cycle": "work of feed pumps"}
"""Name of the electricity that warms the medium at each stage."""
PLACE = {"field": "field", "pipe": "loop", "mover": "loop", "exchanger": "loop", "store": "store", "cycle": "cycle",
         "user": "cycle"}
IN_HEAT = ("receiver heat", "field warm-up")
"""Losses of a field that are heat; its other losses are light."""
FROST = ("freeze protection", "trace heating")
"""Heat that the store or a wire gives to the field at night."""


def _stage(family: str, label: str, stored: bool) -> str:
    if label in FROST:
        return "store" if stored else "loop"
    if family == "field" and label not in IN_HEAT:
        return "sun"
    return "loop" if label == "field warm-up" else PLACE.get(family, "loop")


def year_flow(year: Year) -> EnergyFlow:
    """Where the sun of a year went.

    The trunk runs from the sun over field, loops, store and cycle to electricity. Electricity that pumps, fans and
    drives take leaves the electricity; the part of it that warms a medium enters the trunk again where that happens,
    the part that motors lose does not.

    Parameters
    ----------
    year : Year

    Returns
    -------
    EnergyFlow
        In GWh, balanced at every node.
    """
    rows = year.to_frame()
    rows["GWh"] = rows.pop("kWh") / 1e6
    family = {name: component.family for name, component in year.plant.components.items()}
    stored = "store" in family.values()
    stages = {stage: node for stage, node in STAGES.items() if stored or stage != "store"}
    rows["stage"] = [_stage(family[c], label, stored)
                     for c, label in zip(rows["component"], rows["label"], strict=True)]
    wasted = rows["label"].str.contains("motor|fan|lift and|standby") & (rows["kind"] == "loss")
    electricity = rows[rows["kind"] == "electricity"]
    warms = {stage: float(electricity.loc[electricity["stage"] == stage, "GWh"].sum()
                          - rows.loc[wasted & (rows["stage"] == stage), "GWh"].sum()) for stage in stages}
    losses = rows[(rows["kind"] == "loss") & ~wasted].groupby(["stage", "label"], sort=False)["GWh"].sum()
    total = {kind: float(rows.loc[rows["kind"] == kind, "GWh"].sum()) for kind in ("sun", "power", "user", "store")}
    trunk, links, names = total["sun"], [], list(stages.values())
    ending = "gross electricity" if total["power"] else "heat to user"
    for stage, node, following in zip(stages, names, [*names[1:], ending], strict=True):
        if warms[stage] > LEAST * total["sun"] or (warms[stage] > 1e-12 and stage != "sun"):
            links.append(Link(source=WARMED[stage], target=node, value=warms[stage], kind="electricity"))
            trunk += warms[stage]
        trunk -= _branches(links, node, losses[stage].to_dict() if stage in losses.index else {}, total["sun"])
        if stage == "store" and total["store"]:
            into = total["store"] > 0
            links.append(Link(source=node if into else "store at the start", target="left in store" if into else node,
                              value=abs(total["store"]), kind="store"))
            trunk -= total["store"]
        if stage == "cycle" and total["power"] and total["user"]:
            links.append(Link(source=node, target="heat to user", value=total["user"], kind="heat"))
            trunk -= total["user"]
        kind = "sun" if stage == "sun" else "electricity" if following == "gross electricity" else "heat"
        links.append(Link(source=node, target=following, value=trunk, kind=kind))
    products = ["heat to user"] if total["user"] else []
    if total["power"]:
        for label, value in electricity.groupby("label", sort=False)["GWh"].sum().items():
            links.append(Link(source="gross electricity", target=str(label), value=float(value), kind="electricity"))
        links.append(Link(source="gross electricity", target="net electricity", kind="electricity",
                          value=total["power"] - float(electricity["GWh"].sum())))
        products.append("net electricity")
    return EnergyFlow(title=f"{year.plant.title}: where a year of sun goes", unit="GWh",
                      links=[link for link in links if link.value > 0], products=products)


def _branches(links: list[Link], node: str, losses: dict[str, float], sun: float) -> float:
    """Append the losses of a node, small ones together; return their sum."""
    shown = {label: value for label, value in losses.items() if value > LEAST * sun}
    rest = sum(losses.values()) - sum(shown.values())
    if rest < 0 and shown:  # a modifier above one is a gain; it is taken off the largest loss
        shown[max(shown, key=lambda label: shown[label])] += rest
        rest = 0.0
    links += [Link(source=node, target=label, value=value, kind="loss") for label, value in shown.items()]
    if rest > 0:
        links.append(Link(source=node, target=f"small losses of {node}", value=rest, kind="loss"))
    return sum(losses.values())


def circuit_graph(sized: Sized) -> nx.MultiDiGraph:
    """The plant's graph with design temperatures and flows written on its streams.

    Parameters
    ----------
    sized : Sized

    Returns
    -------
    networkx.MultiDiGraph
        As `Plant.graph`, with `text` on every edge.
    """
    graph = sized.plant.graph
    text = {str(stream): f"{show(row.temperature_degC + 273.15, 'K', 3)}\n{_flow(row.flow_kg_s)}"
            for stream, row in zip(sized.plant.streams, sized.to_frame().itertuples(), strict=True)}
    for _, _, data in graph.edges(data=True):
        data["text"] = text[str(data["stream"])]
    return graph


def _flow(flow: float) -> str:
    return f"{flow:,.0f} kg/s" if flow >= 100 else f"{flow:.3g} kg/s"
