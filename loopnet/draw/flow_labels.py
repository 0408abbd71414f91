"""Labels of an energy flow beside its rows: flags on poles above a row, names at the tips of losses below it.
Heights are relative to the row; a label moves away from its row until it meets nothing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from loopnet.draw.text import Block, Box, Label, block, line_width

__all__ = ["AIR", "Board"]

AIR = 2.5
"""Least gap between a label and anything else [pt]."""


@dataclass(eq=False)
class Board:
    """What stands on a page `width` wide [pt] at font size `size` [pt], row by row.

    `solids` are boxes that labels keep off, by row; `walls` are upright legs (x0, x1, lower row, upper row), which
    block every height between two rows.
    """

    width: float
    size: float
    edge: float
    solids: dict[int, list[Box]] = field(default_factory=lambda: defaultdict(list))
    walls: list[tuple[float, float, int, int]] = field(default_factory=list)
    labels: list[tuple[int, Label]] = field(default_factory=list)
    poles: list[tuple[int, Box]] = field(default_factory=list)

    def shapes(self, name: str, value: str, limits: Sequence[float]) -> Iterator[tuple[Block, float]]:
        """The same words in narrower and narrower blocks, each with a penalty [pt]; words are cut only at last."""
        word = max(line_width(part, self.size, True) for part in name.split() or [""])
        seen = set()
        for number, limit in enumerate(limits):
            text = block(name, value, max(limit * self.size, min(word, limits[0] * self.size)), self.size)
            if text not in seen:
                seen.add(text)
                yield text, 7.0 * number
        yield block(name, value, limits[-1] * self.size, self.size), 400.0

    def clear(self, box: Box, row: int, above: bool) -> bool:
        """Whether a box beside a row keeps off the upright legs that pass there, and stays on the page."""
        if box.x0 < self.edge / 2 or box.x1 > self.width - self.edge / 2:
            return False
        return not any(x0 < box.x1 + AIR and box.x0 < x1 + AIR and (low <= row < high if above else low < row <= high)
                       for x0, x1, low, high in self.walls)

    @staticmethod
    def settle(box: Box, solids: Iterable[Box], sign: float) -> Box:
        """Move a box away from its row (up for +1, down for -1) until it meets nothing."""
        others = [other for other in solids if other.x0 < box.x1 + AIR and box.x0 < other.x1 + AIR]
        while hit := [other for other in others if box.meets(other, AIR)]:
            if sign > 0:
                box = box.moved(0.0, max(other.y1 for other in hit) + AIR + 1e-6 - box.y0)
            else:
                box = box.moved(0.0, min(other.y0 for other in hit) - AIR - 1e-6 - box.y1)
        return box

    def texts(self, row: int) -> list[Box]:
        """Boxes of the labels of a row."""
        return [label.box for at, label in self.labels if at == row]

    def hang(self, row: int, name: str, value: str, x0: float, x1: float, start: float, least: float) -> float | None:
        """Hang a name under a row, at the tip of a loss that drops from `start` between `x0` and `x1` [pt].

        The label goes where it hangs highest; a narrower shape must gain some height. `least` is the least length
        of the drop [pt]. Returns the height of the label's top, or None if there is no room at any depth.
        """
        texts, best = self.texts(row), None
        for text, penalty in self.shapes(name, value, (11.0, 8.5, 6.5)):
            wide = text.width
            fits = x1 - x0 > wide
            for align, x in (("center", (x0 + x1 - wide) / 2),) if fits else (("left", x0 - 1.5),
                                                                              ("right", x1 + 1.5 - wide)):
                box = Box(x, start - least - text.height, x + wide, start - least)
                if not self.clear(box, row, above=False):
                    continue
                box = self.settle(box, self.solids[row], -1.0)
                stem = Box(x0 - 2.2, box.y1, x1 + 2.2, start)
                if any(stem.meets(other, AIR / 2) for other in texts):
                    continue
                score = box.y0 - penalty - (1000.0 if align == "right" else 0.0)
                if best is None or score > best[0]:
                    best = score, box, stem, align, text
        if best is None:
            return None
        _, box, stem, align, text = best
        self.labels.append((row, Label(name, box, text.names, text.values, self.size, ((x0 + x1) / 2, box.y1), align,
                                       "drop")))
        self.solids[row] += [box, stem]
        return box.y1

    def flag(self, row: int, name: str, value: str, bar: Box, mirrored: bool) -> bool:
        """Put a node's flag where it is free: to the right of its pole, or (first, if mirrored) to the left of it."""
        texts, poles = self.texts(row), [pole for at, pole in self.poles if at == row]
        best = None
        for text, penalty in self.shapes(name, value, (11.0, 8.0, 6.0, 4.5)):
            for align in ("left", "right"):
                x = bar.x0 + 3.5 if align == "left" else bar.x1 - 3.5 - text.width
                box = Box(x, bar.y1 + 5, x + text.width, bar.y1 + 5 + text.height)
                if not self.clear(box, row, above=True):
                    continue
                box = self.settle(box, [*self.solids[row], *poles], 1.0)
                at = bar.x0 if align == "left" else bar.x1
                pole = Box(at - 0.3, bar.y1, at + 0.3, box.y1)
                if any(pole.meets(other, 0.5) for other in texts):
                    continue
                score = box.y1 + penalty + (1000.0 if (align == "right") != mirrored else 0.0)
                if best is None or score < best[0]:
                    best = score, box, pole, align, text
        if best is None:
            return False
        _, box, pole, align, text = best
        self.labels.append((row, Label(name, box, text.names, text.values, self.size, ((bar.x0 + bar.x1) / 2, bar.y1),
                                       align, "stage")))
        self.solids[row].append(box)
        self.poles.append((row, pole))
        return True

    def beside(self, row: int, name: str, text: Block, bar: Box, x: float, align: str) -> None:
        """Write a name level with a node's bar, from `x` on [pt]."""
        y = (bar.y0 + bar.y1) / 2
        box = Box(x, y - text.height / 2, x + text.width, y + text.height / 2)
        self.labels.append((row, Label(name, box, text.names, text.values, self.size, (x, y), align, "end")))
        self.solids[row].append(box)

    def flags(self, nodes: Sequence[tuple[str, int, str, Box]]) -> str | None:
        """Put up the flags of nodes (name, row, value, bar) given from left to right.

        They go from right to left, each flag to the right of its pole; between two upright legs where that leaves no
        room, from left to right, each flag to the left of its pole. Returns the node that found no place, or None.
        """
        mirrored: set[str] = set()
        while True:
            kept = len(self.labels), {row: len(boxes) for row, boxes in self.solids.items()}
            turn = [node for node in nodes if node[0] in mirrored]
            turn += [node for node in reversed(nodes) if node[0] not in mirrored]
            failed = next((node for node in turn if not self.flag(node[1], node[0], node[2], node[3],
                                                                  node[0] in mirrored)), None)
            if failed is None:
                return None
            group = set(self.between_walls(failed, nodes))
            if group <= mirrored:
                return failed[0]
            mirrored |= group
            del self.labels[kept[0]:], self.poles[:]
            for row, length in kept[1].items():
                del self.solids[row][length:]

    def between_walls(self, node: tuple[str, int, str, Box], nodes: Sequence[tuple[str, int, str, Box]]) -> list[str]:
        """Nodes of the same row that stand between the same two upright legs as this one."""
        _, row, _, bar = node
        walls = [x0 for x0, _, low, high in self.walls if low <= row < high]
        left = max((wall for wall in walls if wall < bar.x0), default=0.0)
        right = min((wall for wall in walls if wall > bar.x0), default=self.width)
        return [name for name, at, _, other in nodes if at == row and left < other.x0 < right]
