"""Components that tell the solver where to begin, where a sketch knows better than their defaults; they change nothing
that is solved."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from components.block import Block
from components.field import CollectorField
from loopnet.params import param
from loopnet.plant import Unknown

__all__ = ["BegunBlock", "BegunField"]


def _begun(unknowns: Iterable[Unknown], name: str, start: float) -> Iterable[Unknown]:
    """Unknowns, one of which starts elsewhere."""
    return tuple(replace(unknown, start=start) if unknown.name == name else unknown for unknown in unknowns)


@dataclass(frozen=True, kw_only=True)
class BegunField(CollectorField):
    """A field whose aperture is sketched beforehand."""

    begin: Any = param(2e5, unit="m^2", low=1e-3, high=1e9, source="start value for the solver only",
                       doc="where the search for the aperture begins")

    def unknowns(self) -> Iterable[Unknown]:
        return _begun(super().unknowns(), "aperture", float(self.begin))


@dataclass(frozen=True, kw_only=True)
class BegunBlock(Block):
    """A block whose pipes are counted beforehand."""

    begin: Any = param(2000.0, unit="-", low=1e-3, high=1e9, source="start value for the solver only",
                       doc="where the search for the number of pipes begins")

    def unknowns(self) -> Iterable[Unknown]:
        return _begun(super().unknowns(), "pipes", float(self.begin))
