"""What a notebook shows of each result: tables, pictures and cautions as HTML that is light and takes any name.
Results call `html` through `loopnet.shown`; a new kind of result gets a line in `WRITERS`."""

from __future__ import annotations

from importlib import import_module
from typing import Any

__all__ = ["WRITERS", "html"]

WRITERS = {
    "Assessment": "studies.assessment", "Bill": "money.bill", "BreakEven": "answers.break_even",
    "Bridge": "answers.bridge", "CashFlow": "answers.cash_flow", "Difference": "studies.difference",
    "LevelisedCost": "money.cost", "Plant": "plants.drawing", "Ranking": "studies.ranking",
    "Sized": "plants.solution", "SupplyCurve": "answers.supply", "Tornado": "answers.tornado",
    "Uncertainty": "answers.uncertainty", "Year": "years.year",
}
"""Class of a result, and the function that writes it: module of this room and name."""


def html(result: Any) -> str:
    """A result as HTML for a notebook.

    Parameters
    ----------
    result : object
        Of a class that `WRITERS` names, or derived from one.

    Returns
    -------
    str
        One ``<div>``; every text in it is escaped.

    Raises
    ------
    TypeError
        If nothing writes this kind.

    Examples
    --------
    >>> from loopnet.plant import Plant
    >>> "&lt;script&gt;" in html(Plant("<script>"))
    True
    """
    for kind in type(result).__mro__:
        if kind.__name__ in WRITERS:
            module, _, name = WRITERS[kind.__name__].partition(".")
            return str(getattr(import_module(f"loopnet.notebook.{module}"), name)(result))
    raise TypeError(f"nothing shows {type(result).__name__}; it is not in loopnet.notebook.WRITERS")
