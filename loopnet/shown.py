"""How a result asks to be shown in a notebook: the room that draws is named from above, so that results import nothing.
`import loopnet` names it; it is imported when the first result is shown."""

from __future__ import annotations

from html import escape
from importlib import import_module
from typing import Any

__all__ = ["show_with", "shown"]

_room: list[str] = []


def show_with(room: str) -> None:
    """Name the module whose function ``html(result)`` writes results for notebooks; it is not imported yet."""
    _room[:] = [room]


def shown(result: Any) -> str:
    """A result as HTML for a notebook, written by the room that `show_with` named; its `repr` if there is none.

    >>> shown("<b>") if not _room else "&#x27;&lt;b&gt;&#x27;"
    '&#x27;&lt;b&gt;&#x27;'
    """
    if not _room:
        return escape(repr(result))
    return str(import_module(_room[0]).html(result))
