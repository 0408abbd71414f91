"""The pictures of a report: each with a sentence above it and words for those who cannot see it."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from matplotlib.axes import Axes

from loopnet.draw.beside import layout_beside
from loopnet.draw.chances import draw_chances
from loopnet.draw.circuit_picture import draw_circuit
from loopnet.draw.costs import draw_cost_bars
from loopnet.draw.flow_picture import draw_flow
from loopnet.draw.plant_flow import circuit_graph, year_flow
from loopnet.draw.rows import draw_rows
from loopnet.draw.tornado import layout_tornado
from loopnet.draw.waterfall import layout_waterfall
from loopnet.page import sentences as say
from loopnet.page.findings import Group
from loopnet.page.svg import svg_of
from loopnet.study import Assessment

__all__ = ["Picture", "of_group", "of_plant"]

NARROW = 520.0
"""Width of pictures made of rows [pt]: their letters are as large as the text of the page on a screen of that width."""


@dataclass(frozen=True)
class Picture:
    """A picture, what it shows in plain words, and how much room it asks for: "wide" or "rows"."""

    svg: str
    words: tuple[str, ...]
    room: str


@contextmanager
def _any_letters() -> Iterator[None]:
    """Letters that the font of the drawing lacks are no worry: the reader's browser has its own."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        yield


def _picture(axes: Axes, name: str, title: str, *words: str, room: str = "rows") -> Picture:
    return Picture(svg_of(axes, name, title, " ".join(words)), words, room)


@_any_letters()
def of_group(group: Group, start: str) -> dict[str, Picture]:
    """Pictures of plants that deliver the same.

    Parameters
    ----------
    group : Group
    start : str
        Begins the ids.

    Returns
    -------
    dict
        ``"costs"``, and as far as they are known ``"beside"``, ``"bridge"``, ``"tornado"`` and ``"chances"``.
    """
    bars = {a.name: dict(a.cost.by_component) for a in group.plants}
    made = {"costs": _picture(draw_cost_bars(bars), f"{start}-costs", f"What a kWh of {group.product} costs, "
                              "by component", say.costs(group), room="wide")}
    if group.references:
        placed = layout_beside({a.name: a.cost.usd_per_kwh for a in group.plants}, group.references, group.product,
                               width=NARROW)
        made["beside"] = _picture(draw_rows(placed), f"{start}-beside", "The plants beside what others cost",
                                  say.beside(group))
    if group.bridge is not None:
        made["bridge"] = _picture(
            draw_rows(layout_waterfall(group.bridge, width=NARROW)), f"{start}-bridge",
            f"From the cost of {group.bridge.first} to that of {group.bridge.second}", say.bridged(group.bridge))
    if group.tornado is not None and group.tornado.sways:
        made["tornado"] = _picture(
            draw_rows(layout_tornado(group.tornado, width=NARROW)), f"{start}-tornado",
            f"What moves the cost of {group.product} from {group.tornado.plant}", *say.moved(group))
    if group.uncertainty is not None and len(group.plants) > 1:
        made["chances"] = _picture(draw_chances(group.uncertainty), f"{start}-chances",
                                   "What each plant may cost, and how often it is the cheapest",
                                   *say.how_sure(group.uncertainty), room="wide")
    return made


@_any_letters()
def of_plant(a: Assessment, start: str) -> dict[str, Picture]:
    """The year of a plant as an energy flow, and its circuit.

    Parameters
    ----------
    a : Assessment
    start : str
        Begins the ids.

    Returns
    -------
    dict
        ``"energy"`` and ``"circuit"``.
    """
    return {"energy": _picture(draw_flow(year_flow(a.year), size=(8.0, 7.0)), f"{start}-energy",
                               f"{a.plant.title}: where the sun of the year goes", say.energy(a), room="wide"),
            "circuit": _picture(draw_circuit(circuit_graph(a.sized)), f"{start}-circuit",
                                f"{a.plant.title}: the circuit", say.circuit(a), room="wide")}
