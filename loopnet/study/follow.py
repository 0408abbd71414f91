"""A plant whose field runs hotter or colder: what its heat reaches follows, by rules that components give."""

from __future__ import annotations

from collections.abc import Iterator

from loopnet.errors import SpecificationError
from loopnet.plant import Plant
from loopnet.solve import Sized

__all__ = ["RULE", "STEEL", "field_of", "plant_at", "reached"]

STEEL = 838.15
"""Hottest steam that a boiler follows to [K], 565 degC: common practice with ferritic steels, no source."""
RULE = ("Exchangers, boilers and engines keep their distances to the hot medium: what they heat moves by as many "
        "kelvin as the field's outlet, steam to {steel:.0f} degC at most. Main steam moves along its isentrope, so "
        "that its pressure follows and the exhaust stays as wet. Store hours, solar multiple and all else stay.")
"""What follows, in words."""


def field_of(plant: Plant) -> str:
    """Name of the one field with an outlet temperature.

    Raises
    ------
    SpecificationError
        If there is none, or several.
    """
    fields = [name for name in plant.of_family("field") if hasattr(plant.components[name], "outlet")]
    if len(fields) != 1:
        raise SpecificationError("which outlet temperature is meant is not clear", where=f"plant {plant.name!r}",
                                 got=", ".join(fields) or "no field", allowed="one field",
                                 hint="a plant with one field")
    return fields[0]


def reached(plant: Plant, field: str) -> Iterator[str]:
    """Components that the heat of a field reaches, the field itself left out: on its loop, and on loops joined to it
    by exchangers and stores. What lies behind an engine is another matter.

    >>> from loopnet.plants import find_plant
    >>> [name for name in reached(find_plant("oil_salt"), "field") if "pump" not in name and "header" not in name]
    ['charger', 'tanks', 'boiler', 'turbine']
    """
    on: dict[str, set[str]] = {name: set() for name in plant.components}
    for stream in plant.streams:
        for ref in (stream.source, stream.target):
            on[ref.component].add(stream.loop)
    loops, grown = set(on[field]), True
    while grown:
        grown = False
        for name, mine in on.items():
            if plant.components[name].family in ("exchanger", "store") and mine & loops and not mine <= loops:
                loops |= mine
                grown = True
    return (name for name, mine in on.items() if name != field and mine & loops)


def plant_at(sized: Sized, outlet: float, steel: float = STEEL) -> Plant:
    """A copy of a plant whose field has another outlet temperature.

    Parameters
    ----------
    sized : Sized
        The plant as it is.
    outlet : float
        Temperature at which the medium leaves the field [K].
    steel : float
        Hottest steam that follows [K].

    Returns
    -------
    Plant

    Raises
    ------
    ParameterError
        If a parameter would leave its range.
    """
    plant, field = sized.plant, field_of(sized.plant)
    by = outlet - float(plant.components[field].outlet)  # type: ignore[attr-defined]
    if by == 0.0:
        return plant
    twin = plant.with_component(field, outlet=outlet)
    for name in reached(plant, field):
        changes = plant.components[name].follow(sized.view(name), by, steel)
        if changes:
            twin = twin.with_component(name, **changes)
    return twin
