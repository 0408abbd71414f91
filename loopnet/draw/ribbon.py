"""One ribbon of constant width along an upright path, with round corners and, at an end, an arrow head.
Everything is in points; y goes up."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import copysign

import numpy as np

from loopnet.draw.text import Box

__all__ = ["HAIRLINE", "head_length", "path_boxes", "ribbon_polygon"]

HAIRLINE = 0.8
"""Thinnest ribbon that is drawn [pt]; what is thinner to scale is drawn this thin."""
_WING = 2.2

Point = tuple[float, float]


def head_length(width: float) -> float:
    """How far an arrow head reaches beyond the ribbon's end [pt], for a ribbon `width` wide [pt]."""
    return min(3.5 + 0.4 * width, 16.0)


def ribbon_polygon(path: Sequence[Point], width: float, radius: float, head: bool = False) -> np.ndarray:
    """Outline of a ribbon.

    Parameters
    ----------
    path : sequence of (float, float)
        Corners of its middle line, each leg upright or level [pt].
    width : float
        Width [pt].
    radius : float
        Radius of the inner side of each corner, made smaller where a leg is too short [pt].
    head : bool
        Whether an arrow head is put on, beyond the last point.

    Returns
    -------
    numpy.ndarray
        Corners of the outline, shape (n, 2) [pt], not closed.
    """
    points = np.asarray(path, dtype=float)
    steps = np.diff(points, axis=0)
    lengths = np.abs(steps).sum(axis=1)
    keep = np.concatenate(([True], lengths > 1e-9))
    points, steps, lengths = points[keep], steps[lengths > 1e-9], lengths[lengths > 1e-9]
    ways = steps / lengths[:, None]
    normals = np.stack((-ways[:, 1], ways[:, 0]), axis=1)
    half = width / 2
    sides: list[list[np.ndarray]] = [[], []]
    for side, sign in enumerate((1.0, -1.0)):
        line = sides[side]
        line.append(points[0] + sign * half * normals[0])
        for k in range(1, len(ways)):
            turn = float(ways[k - 1][0] * ways[k][1] - ways[k - 1][1] * ways[k][0])
            if abs(turn) < 1e-9:
                continue
            room = min(lengths[k - 1] * (1.0 if k == 1 else 0.5), lengths[k] * (1.0 if k == len(ways) - 1 else 0.5))
            inner = max(0.0, min(radius, room - half))
            bend = min(inner + half, max(room, half))
            centre = points[k] + bend * (ways[k] - ways[k - 1])
            reach = max(bend - copysign(half, turn) * sign, 0.0)
            sweep = np.linspace(0.0, np.pi / 2, 13)[:, None]
            line.extend(centre + reach * (-ways[k] * np.cos(sweep) + ways[k - 1] * np.sin(sweep)))
        line.append(points[-1] + sign * half * normals[-1])
    tip: list[np.ndarray] = []
    if head:
        wing, end = half + _WING, points[-1]
        tip = [end + wing * normals[-1], end + head_length(width) * ways[-1], end - wing * normals[-1]]
    return np.array(sides[0] + tip + sides[1][::-1])


def path_boxes(path: Sequence[Point], width: float) -> list[Box]:
    """Boxes that together cover a ribbon without its head: one for each leg [pt]."""
    half, boxes = width / 2, []
    for (ax, ay), (bx, by) in pairwise(path):
        boxes.append(Box(min(ax, bx) - half, min(ay, by) - half, max(ax, bx) + half, max(ay, by) + half))
    return boxes
