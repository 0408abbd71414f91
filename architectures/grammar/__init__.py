"""The grammar over the catalogue of components: words for light, media, heat, stores and cycles make a plant.

`GRAMMAR` is what `loopnet.explore` finds at run time."""

from __future__ import annotations

from collections.abc import Mapping

from architectures.grammar.draw import draw, title
from architectures.grammar.own_use import doubt
from architectures.grammar.rules import refuse
from architectures.grammar.words import CYCLES, NONE, NUMBERS, STORES, choices, shape
from loopnet.explore.space import Number
from loopnet.plant import Plant
from loopnet.solve import Sized

__all__ = ["GRAMMAR", "CatalogueGrammar"]


class CatalogueGrammar:
    """What can be drawn with the shipped catalogue; see `loopnet.explore.Grammar`."""

    def choices(self) -> Mapping[str, tuple[str, ...]]:
        """Discrete choices and their words, in the order in which one decides."""
        return choices()

    def numbers(self) -> Mapping[str, Number]:
        """Continuous choices."""
        return NUMBERS

    def refuse(self, choices: Mapping[str, str | float]) -> str | None:
        """Why such a plant cannot be; `choices` may be a part of all."""
        return refuse(choices)

    def matters(self, choices: Mapping[str, str | float]) -> frozenset[str]:
        """Numbers that change a plant of these words; the others are not read for it."""
        kind, store = CYCLES[str(choices["cycle"])].kind, STORES[str(choices["store"])].kind
        told = {"power", "hotter", "closeness", "direct_multiple" if store == NONE else "solar_multiple"}
        told |= {"season_hours"} if store == "ground" else set() if store == NONE else {"store_hours"}
        told |= {"cycle_pressure"} if kind in ("steam", "reheat", "back_pressure", "organic") else set()
        told |= {"unit_size"} if shape(str(choices["collector"])) != "tower" else set()
        return frozenset(told)

    def draw(self, choices: Mapping[str, str | float]) -> Plant:
        """The plant of all choices."""
        return draw(choices)

    def doubt(self, sized: Sized) -> str | None:
        """Why a sized plant is not what was drawn."""
        return doubt(sized)

    def title(self, choices: Mapping[str, str | float]) -> str:
        """One line that tells the circuit."""
        return title(choices)


GRAMMAR = CatalogueGrammar()
