"""All pictures of the cycles and exchangers of a sized plant, by name."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from matplotlib.axes import Axes

from loopnet.draw.cycle_entropy import draw_cycle
from loopnet.draw.cycle_heat import draw_exchanges
from loopnet.solve import Sized
from loopnet.study.cycles import cycles_of, exchanges_of

__all__ = ["cycle_pictures"]


def cycle_pictures(sized: Sized) -> dict[str, Callable[[], Axes]]:
    """What draws each picture of the cycles of a plant at its design point.

    Parameters
    ----------
    sized : Sized

    Returns
    -------
    dict of callables
        "cycle" (with several cycles "cycle_COMPONENT") and "exchangers"; none of what a plant does not have.

    Examples
    --------
    >>> from loopnet.plants import find_plant
    >>> from loopnet.solve import size
    >>> list(cycle_pictures(size(find_plant("salt_tower"))))
    ['cycle', 'exchangers']
    """
    title, cycles, exchanges = sized.plant.title or sized.plant.name, cycles_of(sized), exchanges_of(sized)
    made: dict[str, Callable[[], Axes]] = {
        "cycle" if len(cycles) == 1 else f"cycle_{cycle.component}": partial(
            draw_cycle, cycle, title=f"{title}: {cycle.kind} cycle of the {cycle.component}, temperature over entropy")
        for cycle in cycles}
    if exchanges:
        made["exchangers"] = partial(draw_exchanges, exchanges, title=f"{title}: temperature over heat in every "
                                                                      "exchanger, design point")
    return made
