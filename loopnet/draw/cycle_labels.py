"""Words beside points of a diagram: each near what it speaks of, on the page, off other words, off lines if it can.

Positions are points on paper; nothing is drawn here."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from loopnet.draw.text import Box

__all__ = ["Frame", "Places"]

Array = NDArray[np.float64]

TURNS = 16
"""Directions that are tried around a point [-]."""
RADII = (4.0, 6.0, 9.0, 13.0, 18.0, 25.0, 34.0, 45.0, 60.0, 80.0)
"""Distances that are tried [pt]."""
GAP = 1.5
"""Least gap between words [pt]."""


@dataclass(frozen=True)
class Frame:
    """A panel on a page: its box [pt] and the ranges of its axes [in their units]."""

    box: Box
    x: tuple[float, float]
    y: tuple[float, float]

    def at(self, x: float | Array, y: float | Array) -> Array:
        """Places on the page of values of both axes [pt], shape (..., 2)."""
        (x0, x1), (y0, y1) = self.x, self.y
        across = self.box.x0 + (np.asarray(x, dtype=float) - x0) / (x1 - x0) * (self.box.x1 - self.box.x0)
        up = self.box.y0 + (np.asarray(y, dtype=float) - y0) / (y1 - y0) * (self.box.y1 - self.box.y0)
        return np.stack([across, up], axis=-1)

    def trace(self, x: Array, y: Array, pitch: float = 2.0) -> Array:
        """Points along a line, no more than `pitch` apart [pt], shape (n, 2)."""
        corners = self.at(x, y)
        length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))])
        places = np.linspace(0.0, length[-1], max(2, int(length[-1] / pitch) + 1))
        return np.stack([np.interp(places, length, corners[:, i]) for i in (0, 1)], axis=-1)


@dataclass(eq=False)
class Places:
    """Room for words inside `bounds` [pt]; `dots`, shape (n, 2), are points of lines [pt] that words rather keep off.
    """

    bounds: Box
    dots: Array = field(default_factory=lambda: np.zeros((0, 2)))
    taken: list[Box] = field(default_factory=list)

    def settle(self, anchor: Sequence[float], width: float, height: float, *others: Sequence[float]) -> Box:
        """The best box of a size [pt] for words about an anchor [pt], or about one of others; it is taken from then on.

        Near beats far, off a line beats on it, and so does this side of a line; words never lie over words. Where
        nothing is free near by, the page is searched.
        """
        options = [option for at in (anchor, *others) for option in self._options(at, width, height, RADII)]
        best = min(options, key=lambda option: option[0], default=None)
        box = best[1] if best is not None else self._anywhere(anchor, width, height)
        self.taken.append(box)
        return box

    def _options(self, anchor: Sequence[float], width: float, height: float,
                 radii: Iterable[float]) -> Iterable[tuple[float, Box]]:
        for radius in radii:
            for turn in range(TURNS):
                angle = 2.0 * np.pi * (turn + 0.5 * (TURNS // 8)) / TURNS
                dx, dy = float(np.cos(angle)), float(np.sin(angle))
                # the box touches the circle on the side that faces the anchor
                x, y = anchor[0] + radius * dx + 0.5 * width * (dx - 1.0), anchor[1] + radius * dy + 0.5 * height * (
                    dy - 1.0)
                box = Box(x, y, x + width, y + height)
                if self._free(box):
                    yield 9.0 * self._crossed(box) + 40.0 * self._between(anchor, box) + radius, box

    def _free(self, box: Box) -> bool:
        inside = (box.x0 >= self.bounds.x0 and box.y0 >= self.bounds.y0 and box.x1 <= self.bounds.x1
                  and box.y1 <= self.bounds.y1)
        return inside and not any(box.meets(other, GAP) for other in self.taken)

    def _crossed(self, box: Box) -> float:
        x, y = self.dots[:, 0], self.dots[:, 1]
        return float(np.sum((x > box.x0 - 1) & (x < box.x1 + 1) & (y > box.y0 - 1) & (y < box.y1 + 1)))

    def _between(self, anchor: Sequence[float], box: Box) -> float:
        """How often a straight tie from the anchor to the box meets lines or other words [-]."""
        end = min(max(anchor[0], box.x0), box.x1), min(max(anchor[1], box.y0), box.y1)
        far = float(np.hypot(end[0] - anchor[0], end[1] - anchor[1]))
        places = np.arange(5.0, far, 2.0) / max(far, 1e-9)
        x, y = (anchor[i] + places * (end[i] - anchor[i]) for i in (0, 1))
        lines = np.hypot(self.dots[:, None, 0] - x, self.dots[:, None, 1] - y).min(axis=0, initial=np.inf) < 1.6
        words = sum(bool(np.any((x > b.x0) & (x < b.x1) & (y > b.y0) & (y < b.y1))) for b in self.taken)
        return float(np.any(lines)) + words

    def _anywhere(self, anchor: Sequence[float], width: float, height: float) -> Box:
        options = []
        for x in np.arange(self.bounds.x0, self.bounds.x1 - width, 4.0):
            for y in np.arange(self.bounds.y0, self.bounds.y1 - height, 4.0):
                box = Box(float(x), float(y), float(x + width), float(y + height))
                if self._free(box):
                    far = abs(x + 0.5 * width - anchor[0]) + abs(y + 0.5 * height - anchor[1])
                    options.append((9.0 * self._crossed(box) + far, box))
        if not options:  # a page too small for its words: the anchor itself, over whatever is there
            return Box(anchor[0], anchor[1], anchor[0] + width, anchor[1] + height)
        return min(options, key=lambda option: option[0])[1]
