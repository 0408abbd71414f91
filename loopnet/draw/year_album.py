"""The pictures that tell a year: a map of what is delivered, of what the plant did, the darkest week, the store."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from matplotlib.axes import Axes

from loopnet.draw.year_bed import draw_bed_year
from loopnet.draw.year_map import draw_hour_map
from loopnet.draw.year_modes import draw_mode_map
from loopnet.draw.year_store import draw_store_days
from loopnet.draw.year_week import draw_week
from loopnet.year import Year

__all__ = ["year_pictures"]


def year_pictures(year: Year) -> dict[str, Callable[[], Axes]]:
    """Pictures of a year by short name, each drawn when it is called.

    Parameters
    ----------
    year : Year

    Returns
    -------
    dict of callable
        ``hours``, ``modes``, and what the year has of ``week`` (a stretch of seven days), ``store`` and ``bed``.
    """
    kept = bool(year.hourly["store"].any())
    series = "net" if year.gross > 0 else "from_store" if kept else "collected"
    made: dict[str, Callable[[], Axes]] = {"hours": partial(draw_hour_map, year, series),
                                           "modes": partial(draw_mode_map, year)}
    if len(year.hourly) * year.step >= 8 * 86400:
        made["week"] = partial(draw_week, year)
    made |= {"store": partial(draw_store_days, year)} if kept else {}
    return made | ({"bed": partial(draw_bed_year, year)} if year.profiles is not None else {})
