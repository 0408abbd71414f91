"""The cycles and exchangers of a solved plant: at its design point, or at an hour of its year."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd

from loopnet.errors import SpecificationError
from loopnet.plant import Cycle, HeatExchange, Plant
from loopnet.site import Weather
from loopnet.solve import Sized, rate
from loopnet.solve.solution import prepared
from loopnet.solve.view import Frame
from loopnet.year import Year

__all__ = ["cycle_states", "cycles_of", "exchanges_of", "hour_frame"]


def _views(solved: Sized | Frame, plant: Plant | None, point: int) -> Iterable[tuple[Any, Any]]:
    """Component and its view at one point, for all that are solved there."""
    drawn = solved.plant if isinstance(solved, Sized) else plant
    if drawn is None:
        raise SpecificationError("a frame does not know its plant", where="cycles_of", got="no plant",
                                 allowed="the plant that was solved", hint="cycles_of(frame, sized.plant)")
    frame = solved.frame if isinstance(solved, Sized) else solved.at(np.array([point]))
    for name, component in drawn.components.items():
        links = frame.links[name].sides.values()
        known = frame.values.keys() | frame.design.keys() if isinstance(solved, Sized) else frame.values.keys()
        if all(link.h in known for pair in links for link in pair):
            yield component, frame.view(name)


def cycles_of(solved: Sized | Frame, plant: Plant | None = None, point: int = 0) -> list[Cycle]:
    """The cycles of a solved plant, in the order in which its components were drawn.

    Parameters
    ----------
    solved : Sized or Frame
        The plant at its design point, or a solved circuit of it.
    plant : Plant, optional
        Whose frame it is; a sized plant knows.
    point : int
        Which point of a frame.

    Returns
    -------
    list of Cycle
        Empty where no component has one: users of heat, or an engine given as a map.

    Examples
    --------
    >>> from loopnet.plants import find_plant
    >>> from loopnet.solve import size
    >>> cycles_of(size(find_plant("sand_silo")))
    [Cycle('turbine', steam, water, 14 states)]
    """
    found = (component.portrait(view) for component, view in _views(solved, plant, point))
    return [cycle for cycle in found if cycle is not None]


def exchanges_of(solved: Sized | Frame, plant: Plant | None = None, point: int = 0) -> list[HeatExchange]:
    """The exchangers of a solved plant, as `cycles_of` does for its cycles.

    Parameters
    ----------
    solved : Sized or Frame
    plant : Plant, optional
    point : int
        Which point of a frame.

    Returns
    -------
    list of HeatExchange
    """
    return [each for component, view in _views(solved, plant, point) for each in component.exchanges(view)]


def cycle_states(solved: Sized | Frame, plant: Plant | None = None, point: int = 0) -> pd.DataFrame:
    """Table of states of all cycles of a solved plant.

    Parameters
    ----------
    solved : Sized or Frame
    plant : Plant, optional
    point : int
        Which point of a frame.

    Returns
    -------
    DataFrame
        Component, number, name, pressure [bar], temperature [degC], enthalpy [kJ/kg], entropy [kJ/kg/K], share of
        vapour [-], flow over that of the cycle [-].
    """
    tables = [cycle.to_frame().assign(component=cycle.component) for cycle in cycles_of(solved, plant, point)]
    columns = ["component", "number", "name", "bar", "degC", "kJ_kg", "kJ_kgK", "x", "flow"]
    return pd.concat(tables, ignore_index=True)[columns] if tables else pd.DataFrame(columns=columns)


def hour_frame(sized: Sized, weather: Weather, year: Year, hour: int) -> Frame:
    """The circuit of turbine or user, solved for an hour of a year as that year had it: load, store and air.

    Parameters
    ----------
    sized : Sized
    weather : Weather
        That the year was run on.
    year : Year
        Of a plant with a store.
    hour : int
        Which step of the year.

    Returns
    -------
    Frame
        With one point; goes to `cycles_of` and `exchanges_of` beside the plant.

    Raises
    ------
    SpecificationError
        If nothing runs in that hour, or the plant has no store.
    """
    plant, row = sized.plant, year.hourly.iloc[hour]
    stores = list(plant.of_family("store"))
    if len(stores) != 1 or row["load"] <= 0.0 or row["generating"] <= 0.0:
        raise SpecificationError("no cycle to look at in this hour", where=f"plant {plant.name!r}, hour {hour}",
                                 got=f"load {row['load']:.2f}" if stores else "no store",
                                 allowed="an hour with load, of a plant with a store",
                                 hint="an hour in which year.hourly['generating'] is above 0")
    site = {name: np.array([values[hour]]) for name, values in weather.conditions().items()}
    conditions = {**site, **prepared(plant, site)}
    loads = [n for n in plant.components if "load" in plant.components[n].givens(sized.view(n))]
    conditions |= {f"{name}.load": np.array([float(row["load"])]) for name in loads}
    conditions[f"{stores[0]}.hot"] = np.array([float(row["hot"])])
    circuit = next(c for c in rate(sized) if f"{stores[0]}.hot" in c.needs)
    return circuit.solve({name: conditions[name] for name in circuit.needs})
