"""A candidate: one circuit with its numbers, named by what was chosen, with a key that is the same on every machine."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite
from typing import Any

from loopnet.errors import ParameterError

__all__ = ["SITE", "Candidate"]

SITE = "site"
"""The choice that names the weather: it is no part of the circuit."""
DIGITS = 12


@dataclass(frozen=True)
class Candidate:
    """Choices by name: words for what is discrete, floats in SI for what is continuous.

    >>> one = Candidate.of({"collector": "trough", "hours": 3600.0, "site": "here"})
    >>> one["collector"], one.key == one.with_values(hours=7200.0).key
    ('trough', False)
    >>> one.circuit == one.with_values(hours=7200.0).circuit
    True
    """

    choices: tuple[tuple[str, str | float], ...]

    def __post_init__(self) -> None:
        pairs = tuple(sorted((str(name), self._plain(str(name), value)) for name, value in self.choices))
        for (name, _), (other, _) in pairwise(pairs):
            if name == other:
                raise ParameterError("chosen twice", where=f"Candidate.{name}", got=repr(name),
                                     hint="give each choice once")
        object.__setattr__(self, "choices", pairs)

    @staticmethod
    def _plain(name: str, value: Any) -> str | float:
        if isinstance(value, str):
            return str(value)
        if isinstance(value, bool) or not hasattr(value, "__float__") or not isfinite(float(value)):
            raise ParameterError("neither a word nor a number", where=f"Candidate.{name}", got=repr(value),
                                 allowed="text, or a finite number in SI", hint="one value")
        return float(value)

    @classmethod
    def of(cls, choices: Mapping[str, str | float]) -> Candidate:
        """A candidate from a mapping of names to words and numbers in SI."""
        return cls(tuple(choices.items()))

    @property
    def key(self) -> str:
        """Hash of all choices, site included, floats to 12 digits: what the same work is known by."""
        return _hash({name: value if isinstance(value, str) else _rounded(value) for name, value in self.choices})

    @property
    def circuit(self) -> str:
        """Hash of the words alone, site left out: the same circuit with other numbers has the same."""
        return _hash(self.words)

    @property
    def words(self) -> dict[str, str]:
        """What is discrete, without the site."""
        return {name: value for name, value in self.choices if isinstance(value, str) and name != SITE}

    @property
    def numbers(self) -> dict[str, float]:
        """What is continuous [SI]."""
        return {name: value for name, value in self.choices if not isinstance(value, str)}

    def __getitem__(self, name: str) -> str | float:
        return self.to_dict()[name]

    def to_dict(self) -> dict[str, str | float]:
        """Choices as a plain dict; `Candidate.of` makes the candidate again."""
        return dict(self.choices)

    def with_values(self, **floats: float) -> Candidate:
        """The same circuit with other numbers.

        Parameters
        ----------
        **floats : float
            Numbers by name [SI].

        Returns
        -------
        Candidate

        Raises
        ------
        ParameterError
            If the candidate has no such number.
        """
        known = self.numbers
        for name, value in floats.items():
            if name not in known:
                raise ParameterError("no such number", where="Candidate.with_values", got=repr(name),
                                     allowed=", ".join(known), hint="one of these names")
            if isinstance(value, str):
                raise ParameterError("not a number", where=f"Candidate.{name}", got=repr(value),
                                     allowed="a number in SI", hint="words make another circuit")
        return Candidate.of({**self.to_dict(), **floats})

    def __repr__(self) -> str:
        return f"Candidate({self.key}: {', '.join(self.words.values())})"


def _rounded(value: float) -> float:
    return float(f"{value:.{DIGITS}g}") + 0.0  # no minus zero


def _hash(choices: Mapping[str, Any]) -> str:
    text = json.dumps(choices, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()[:12]
