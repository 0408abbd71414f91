"""The space of circuits: what a user lets vary, read from a file, pruned by a grammar, drawn candidate by candidate.

Nothing here knows a component: the grammar is found at run time, as the shipped plants are."""

from __future__ import annotations

import importlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from math import prod
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Protocol

from loopnet.errors import ParameterError
from loopnet.explore.candidate import SITE, Candidate
from loopnet.explore.pruning import Pruning
from loopnet.params import check_range
from loopnet.plant import Plant
from loopnet.units import Quantity, to_si

if TYPE_CHECKING:
    from loopnet.solve import Sized

__all__ = ["DEMO", "Grammar", "Number", "Range", "Space", "grammar"]

DEMO = "tamarisk"
"""The word for the shipped, invented year among the sites of a space."""
EXAMPLES = 3
"""Examples that are kept of each reason."""


@dataclass(frozen=True)
class Number:
    """A continuous choice: its SI unit, range and default [in `unit`], and one line for people.

    >>> Number("s", 7200.0, 172800.0, 54000.0, "hours of store").default
    54000.0
    """

    unit: str
    low: float
    high: float
    default: float
    doc: str = ""

    def read(self, value: Quantity, where: str) -> float:
        """What a user wrote, in SI and within the range; `where` names the place in messages.

        Raises
        ------
        ParameterError
            If it cannot be read, has another unit, or lies outside the range.
        """
        try:
            number = to_si(value, self.unit)
        except ParameterError as why:
            raise ParameterError(why.what, where=where, got=why.got, allowed=why.allowed, hint=why.hint) from None
        return check_range(number, where=where, unit=self.unit, low=self.low, high=self.high)


@dataclass(frozen=True)
class Range:
    """Two ends between which a number may lie [SI].

    >>> Range(1.0, 3.0).inside(9.0)
    2.0
    """

    low: float
    high: float

    def __post_init__(self) -> None:
        if not self.low < self.high:
            raise ParameterError("the range is empty", where="Range", got=f"{self.low:g} to {self.high:g}",
                                 allowed="low below high", hint="one value in place of a range")

    def inside(self, wish: float) -> float:
        """A wish [SI] where it lies within, else the middle."""
        return wish if self.low <= wish <= self.high else 0.5 * (self.low + self.high)


class Grammar(Protocol):
    """What can be said with a catalogue of components, and what is drawn of it.

    It may also have `matters(choices)`, the numbers that its plants read, and `doubt(sized)`, why a sized plant is not
    what was drawn.
    """

    def choices(self) -> Mapping[str, tuple[str, ...]]:
        """Discrete choices and all their words, in the order in which one decides."""

    def numbers(self) -> Mapping[str, Number]:
        """Continuous choices."""

    def refuse(self, choices: Mapping[str, str | float]) -> str | None:
        """Why such a plant cannot be, in plain words; None where nothing speaks against it.

        `choices` may hold a part of the choices only: what is certain of them is certain of all plants with them.
        """

    def draw(self, choices: Mapping[str, str | float]) -> Plant:
        """The plant of all choices, drawn; nothing is computed yet."""


def grammar() -> Grammar:
    """The shipped grammar over the shipped catalogue, imported at run time.

    >>> "collector" in grammar().choices()
    True
    """
    found: Grammar = importlib.import_module("architectures.grammar").GRAMMAR
    return found


@dataclass(frozen=True)
class Space:
    """What may vary: words of the discrete choices, values or ranges of the numbers [SI], and the sites.

    What is not named in `words` may be any word of the grammar; a number not named has its default.
    """

    grammar: Grammar
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    numbers: Mapping[str, tuple[float, ...] | Range] = field(default_factory=dict)
    sites: tuple[str, ...] = (DEMO,)
    """Weather files, or the word "tamarisk" for the shipped year."""
    title: str = ""

    def __post_init__(self) -> None:
        all_words, all_numbers = self.grammar.choices(), self.grammar.numbers()
        for name in self.words:
            _known(name, tuple(all_words), "choice", "Space.words")
            for word in self.words[name]:
                _known(word, all_words[name], "word", f"Space.words.{name}")
        for name, value in self.numbers.items():
            _known(name, tuple(all_numbers), "number", "Space.numbers")
            for end in (value.low, value.high) if isinstance(value, Range) else value:
                all_numbers[name].read(end, f"Space.numbers.{name}")
        for name, found in (*self.words.items(), *self.numbers.items(), (SITE, self.sites)):
            if not isinstance(found, Range) and not found:
                raise ParameterError("nothing to choose from", where=f"Space: {name}", got="an empty list",
                                     allowed="one value or more", hint=f"leave {name} out")
        words = {name: tuple(dict.fromkeys(self.words.get(name, every))) for name, every in all_words.items()}
        values = {name: self.numbers.get(name, (number.default,)) for name, number in all_numbers.items()}
        object.__setattr__(self, "words", MappingProxyType(words))
        object.__setattr__(self, "numbers", MappingProxyType(values))
        object.__setattr__(self, "sites", tuple(dict.fromkeys(self.sites)))

    @classmethod
    def read(cls, path: str | Path) -> Space:
        """Read a space from a TOML file: tables `words` and `numbers`, and a list `sites`.

        Parameters
        ----------
        path : str or Path
            The file.

        Returns
        -------
        Space

        Raises
        ------
        DataError
            If the file cannot be read or is no TOML.
        ParameterError
            For a name, word or number that does not exist, with its line.
        """
        from loopnet.explore.spacefile import read_space

        return read_space(cls, path)

    # -- what is in it ---------------------------------------------------------------------------------------------

    @property
    def size(self) -> int:
        """Circuits that can be written with the words, before pruning, sites counted apart."""
        return prod(len(words) for words in self.words.values()) * len(self.sites)

    def defaults(self) -> dict[str, float]:
        """The number with which each circuit begins [SI]: the first of a list, the default where it lies in a range."""
        usual = self.grammar.numbers()
        return {name: value.inside(usual[name].default) if isinstance(value, Range) else value[0]
                for name, value in self.numbers.items()}

    def bounds(self, candidate: Candidate | None = None) -> dict[str, tuple[float, float]]:
        """Ends of the numbers that may take any value in a range [SI]; with a candidate, of those its plant reads."""
        ranges = {name: (value.low, value.high) for name, value in self.numbers.items() if isinstance(value, Range)}
        read = self.matters(candidate) if candidate else frozenset(ranges)
        return {name: ends for name, ends in ranges.items() if name in read}

    def matters(self, candidate: Candidate) -> frozenset[str]:
        """Numbers that the plant of a candidate reads: all, where the grammar does not tell."""
        told = getattr(self.grammar, "matters", None)
        return frozenset(self.numbers) if told is None else frozenset(told(candidate.to_dict()))

    def levels(self) -> dict[str, tuple[float, ...]]:
        """Values of the numbers that were given as a list of several [SI]."""
        return {name: value for name, value in self.numbers.items() if not isinstance(value, Range) and len(value) > 1}

    def feasible(self) -> list[Candidate]:
        """Circuits that nothing speaks against, each at the numbers of `defaults`, for each site."""
        return list(self._walked[0])

    def pruning(self) -> Pruning:
        """How many circuits were pruned, and why."""
        return self._walked[1]

    def refuse(self, candidate: Candidate) -> str | None:
        """Why a candidate of this space, perhaps with other numbers, cannot be; None where nothing speaks against it.

        Raises
        ------
        ParameterError
            If it has a number outside the range of the grammar, or lacks a choice.
        """
        self._whole(candidate)
        return self.grammar.refuse(candidate.to_dict())

    def build(self, candidate: Candidate) -> Plant:
        """Draw the plant of a candidate.

        Parameters
        ----------
        candidate : Candidate
            With all choices of the grammar; its numbers in SI.

        Returns
        -------
        Plant
            Named by its circuit, with a title that tells it.

        Raises
        ------
        ParameterError
            If a choice is lacking or unknown, or the grammar refuses it.
        """
        if reason := self.refuse(candidate):
            raise ParameterError("this circuit cannot be", where=repr(candidate), got=reason,
                                 hint="a candidate of Space.feasible()")
        return self.grammar.draw(candidate.to_dict())

    def doubt(self, sized: Sized) -> str | None:
        """Why a sized plant is not what was drawn, though its equations hold; None where the grammar sees nothing.

        Parameters
        ----------
        sized : Sized
            A plant of this space, sized.

        Returns
        -------
        str or None
            The reason in plain words.
        """
        told = getattr(self.grammar, "doubt", None)
        return None if told is None else told(sized)

    def _whole(self, candidate: Candidate) -> None:
        chosen, numbers = candidate.to_dict(), self.grammar.numbers()
        for name in (*self.words, *numbers):
            if name not in chosen:
                raise ParameterError("a choice is lacking", where=repr(candidate), got=f"no {name}",
                                     allowed=", ".join((*self.words, *numbers)), hint=f"choose {name}")
        for name, number in numbers.items():
            number.read(chosen[name], f"candidate.{name}")

    @cached_property
    def _walked(self) -> tuple[tuple[Candidate, ...], Pruning]:
        """Every circuit by going down the tree of choices: what is refused with a part of them is counted at once."""
        names = tuple(self.words)
        below = [prod(len(self.words[n]) for n in names[i + 1:]) for i in range(len(names))]
        counts: dict[str, int] = {}
        examples: dict[str, list[dict[str, str | float]]] = {}
        found: list[Candidate] = []
        numbers = self.defaults()

        def descend(i: int, chosen: dict[str, str]) -> Iterator[dict[str, str]]:
            if i == len(names):
                yield chosen
                return
            for word in self.words[names[i]]:
                more = {**chosen, names[i]: word}
                if reason := self.grammar.refuse({**more, **numbers}):
                    counts[reason] = counts.get(reason, 0) + below[i] * len(self.sites)
                    kept = examples.setdefault(reason, [])
                    if len(kept) < EXAMPLES:
                        kept.append(dict(more))
                else:
                    yield from descend(i + 1, more)

        for words in descend(0, {}):
            found += [Candidate.of({**words, **numbers, SITE: site}) for site in self.sites]
        told = Pruning(self.size, len(found), counts, {reason: tuple(kept) for reason, kept in examples.items()})
        return tuple(found), told

    def __repr__(self) -> str:
        free = len(self.bounds()) + len(self.levels())
        return f"<Space: {self.size:,} circuits, {free} numbers that vary, {len(self.sites)} sites>"


def _known(name: str, allowed: tuple[str, ...], what: str, where: str) -> None:
    """Refuse a name that is not among those allowed, with the close ones."""
    if name not in allowed:
        from difflib import get_close_matches

        near = get_close_matches(str(name), allowed, n=3, cutoff=0.4)
        raise ParameterError(f"no such {what}", where=where, got=repr(name), allowed=", ".join(allowed),
                             hint=" or ".join(repr(n) for n in near) if near else "one of the allowed words")
