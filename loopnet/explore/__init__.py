"""The space of circuits and the search through it: what could be, what cannot, and what is best.
Who only draws imports no more than the space; what searches is imported when it is asked for."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from loopnet.explore.candidate import SITE, Candidate
from loopnet.explore.pruning import Pruning
from loopnet.explore.space import DEMO, Grammar, Number, Range, Space, grammar

if TYPE_CHECKING:
    from loopnet.explore.exploration import Exploration
    from loopnet.explore.pareto import CRITERIA, front
    from loopnet.explore.results import Results, Row
    from loopnet.explore.runner import Progress
    from loopnet.explore.search import explore

__all__ = ["CRITERIA", "DEMO", "SITE", "Candidate", "Exploration", "Grammar", "Number", "Progress", "Pruning", "Range",
           "Results", "Row", "Space", "explore", "front", "grammar"]

_HOME = {"CRITERIA": "pareto", "Exploration": "exploration", "Progress": "runner", "Results": "results",
         "Row": "results", "explore": "search", "front": "pareto"}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
