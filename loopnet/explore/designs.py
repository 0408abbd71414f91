"""Which candidates are tried: all combinations, or a Latin hypercube that spreads few points over much."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod

import numpy as np

from loopnet.errors import ParameterError
from loopnet.explore.candidate import Candidate
from loopnet.explore.space import Space

__all__ = ["Design", "factorial", "free_numbers", "hypercube"]

MOST = 2_000_000
"""Most candidates of one design [-]: more do not fit into memory."""


@dataclass(frozen=True)
class Design:
    """Candidates to be tried, and why some that the numbers led to cannot be."""

    candidates: tuple[Candidate, ...]
    refused: dict[str, int]

    def __repr__(self) -> str:
        return f"<Design: {len(self.candidates):,} candidates, {sum(self.refused.values()):,} refused by their numbers>"


def _whole(name: str, points: int) -> int:
    if points < 1:
        raise ParameterError("too few points", where=f"{name}.points", got=str(points), allowed="1 or more",
                             hint="left out")
    return points


def _sifted(space: Space, candidates: Iterable[Candidate]) -> Design:
    """Drop what the grammar refuses now that the numbers are known, and count why."""
    kept: dict[str, Candidate] = {}
    refused: dict[str, int] = {}
    for candidate in candidates:
        if reason := space.refuse(candidate):
            refused[reason] = refused.get(reason, 0) + 1
        else:
            kept.setdefault(candidate.key, candidate)
    return Design(tuple(kept.values()), refused)


def free_numbers(space: Space, candidate: Candidate) -> tuple[str, ...]:
    """Numbers that vary in a space and change this circuit, as far as the grammar says so (by a method `matters`)."""
    varied = (*space.bounds(), *space.levels())
    matters = getattr(space.grammar, "matters", None)
    return varied if matters is None else tuple(name for name in varied if name in matters(candidate.words))


def levels_of(space: Space, points: int) -> dict[str, tuple[float, ...]]:
    """Values of each number that varies: those of a list, and some spread evenly over a range, ends included [SI]."""
    spread = {name: tuple(float(x) for x in np.linspace(low, high, points)) if points > 1 else (0.5 * (low + high),)
              for name, (low, high) in space.bounds().items()}
    return {**space.levels(), **spread}


def factorial(space: Space, points: int = 3) -> Design:
    """Every circuit at every site with every combination of its numbers.

    Parameters
    ----------
    space : Space
    points : int
        Values taken from each range, ends included; the middle for 1 [-].

    Returns
    -------
    Design

    Raises
    ------
    ParameterError
        If there would be more than two million candidates.
    """
    levels = levels_of(space, _whole("factorial", points))
    circuits = {circuit: free_numbers(space, circuit) for circuit in space.feasible()}
    count = sum(prod(len(levels[name]) for name in names) for names in circuits.values())
    if count > MOST:
        raise ParameterError("too many combinations", where="factorial", got=f"{count:,}", allowed=f"up to {MOST:,}",
                             hint="fewer values, or --search hypercube --points 1000")
    return _sifted(space, (circuit.with_values(**dict(zip(names, values, strict=True)))
                           for circuit, names in circuits.items()
                           for values in product(*(levels[name] for name in names))))


def hypercube(space: Space, points: int = 200, seed: int = 1) -> Design:
    """A Latin hypercube over circuits and numbers together: each circuit comes as often as every other, give or take
    one, and so does each slice of every number.

    Parameters
    ----------
    space : Space
    points : int
        Candidates in all [-].
    seed : int
        Start of the random numbers [-]; the same seed gives the same candidates.

    Returns
    -------
    Design
        At most `points` candidates; those that the grammar refuses by their numbers are counted.

    References
    ----------
    McKay, Beckman, Conover, A Comparison of Three Methods for Selecting Values of Input Variables, Technometrics 21
    (1979) 239-245; `scipy.stats.qmc.LatinHypercube`.
    """
    from scipy.stats import qmc

    circuits, levels, bounds = space.feasible(), space.levels(), space.bounds()
    if not circuits:
        return Design((), {})
    cube = qmc.LatinHypercube(1 + len(levels) + len(bounds), rng=seed).random(_whole("hypercube", points))
    return _sifted(space, (_at(space, circuits, levels, bounds, u) for u in cube))


def _at(space: Space, circuits: Sequence[Candidate], levels: dict[str, tuple[float, ...]],
        bounds: dict[str, tuple[float, float]], u: np.ndarray) -> Candidate:
    """The candidate at a point of the unit cube."""
    first, chosen, within = u[0], u[1:1 + len(levels)], u[1 + len(levels):]
    values = {name: some[int(x * len(some))] for (name, some), x in zip(levels.items(), chosen, strict=True)}
    values |= {name: float(low + x * (high - low)) for (name, (low, high)), x in zip(bounds.items(), within,
                                                                                      strict=True)}
    circuit = circuits[int(first * len(circuits))]
    return circuit.with_values(**{name: values[name] for name in free_numbers(space, circuit)})
