"""Shadows that neighbours throw on a mirror and light they stop on its way to the tower, by projection on the mirror:
one neighbourhood stands for all mirrors at its radius."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from components.heliostat_beam import Mirror

__all__ = ["Lit", "lit", "neighbours"]

Array = NDArray[np.float64]

_CELLS = 8
"""Strips of a mirror in which the shadows of several neighbours are united."""
_NEAREST = 10
"""Shadows united: those that fall nearest to the mirror's centre."""


class Lit(NamedTuple):
    """What neighbours leave of a mirror."""

    cos: Array
    """Cosine of incidence [-]."""
    sunny: Array
    """Part of the mirror in the sun [-]."""
    free: Array
    """Part of the mirror in the sun and with a free view of the receiver [-]."""


def neighbours(radius: float, radial: float, along: float, rings: int, each: int) -> Array:
    """Places of a mirror's neighbours in rings that are staggered by half a distance.

    Parameters
    ----------
    radius : float
        Of the mirror's ring [m].
    radial, along : float
        Distance between rings, and along the ring [m].
    rings, each : int
        Rings before and behind, and neighbours to either side.

    Returns
    -------
    array, shape (neighbours, 2)
        To the right along the ring, and outward, from the mirror [m].

    Examples
    --------
    >>> neighbours(1e6, 3.0, 4.0, 1, 1).round(2) + 0.0
    array([[-2., -3.],
           [ 2., -3.],
           [-4.,  0.],
           [ 4.,  0.],
           [-2.,  3.],
           [ 2.,  3.]])
    """
    places = []
    for k in range(-rings, rings + 1):
        at = radius + k * radial
        if at <= 0:
            continue
        steps = np.arange(-each, each + 1.0) if k % 2 == 0 else np.arange(-each, each) + 0.5
        angle = steps[(steps != 0) | (k != 0)] * along / radius
        angle = angle[np.abs(angle) < np.pi / 2]
        places.append(np.stack([at * np.sin(angle), at * np.cos(angle) - radius], axis=-1))
    return np.concatenate(places)


def lit(zenith: Array, bearing: Array, elevation: float, places: Array, mirror: Mirror) -> Lit:
    """Lit and unblocked parts of a mirror among neighbours, all parallel to it.

    Parameters
    ----------
    zenith, bearing : array, shape (n,)
        Of the sun [rad]; bearing from the direction in which the mirror stands from the tower.
    elevation : float
        Of the receiver above the mirror's horizon [rad].
    places : array, shape (neighbours, 2)
        Of the neighbours [m]; see `neighbours`.
    mirror : Mirror
        Its edges.

    Returns
    -------
    Lit
        Three arrays of shape (n,) [-].

    Notes
    -----
    Neighbours are taken parallel to the mirror, so that shadows are rectangles of its own size, shifted; beams to the
    receiver are taken parallel within a neighbourhood. Strips are exact for one shadow.

    Examples
    --------
    One neighbour toward the sun and the tower, 20 degrees high both: its top half covers the mirror's lower half.

    >>> high = np.radians(20.0)
    >>> place = np.array([[0.0, -2.0 / np.sin(high)]])
    >>> part = lit(np.array([np.pi / 2 - high]), np.array([np.pi]), high, place, Mirror(width=4.0, height=4.0))
    >>> [round(float(x[0]), 3) for x in part]
    [1.0, 0.5, 0.5]
    """
    sun = np.stack([np.sin(zenith) * np.sin(bearing), np.sin(zenith) * np.cos(bearing), np.cos(zenith)], axis=-1)
    tower = np.array([0.0, -np.cos(elevation), np.sin(elevation)])
    cos = np.sqrt(np.maximum(1.0 + sun @ tower, 1e-12) / 2.0)
    normal = (sun + tower) / (2.0 * cos[:, None])
    flat = np.hypot(normal[:, 0], normal[:, 1])
    level = np.stack([normal[:, 1], -normal[:, 0], np.zeros_like(flat)], axis=-1) / np.maximum(flat, 1e-9)[:, None]
    level[flat <= 1e-9] = [1.0, 0.0, 0.0]
    edges = np.stack([level / mirror.width, np.cross(level, normal) / mirror.height], axis=1)
    shadow = _covered(_shifts(sun, normal, edges, cos, places))
    beside = np.hypot(places[:, 0], places[:, 1] * np.sin(elevation))  # of the beam to the tower, for those before it
    before = places[(places[:, 1] < 0) & (beside < mirror.diagonal)]
    block = _covered(_shifts(np.broadcast_to(tower, sun.shape), normal, edges, cos, before))
    sunny = 1.0 - np.minimum(shadow.sum(axis=0), 1.0).mean(axis=-1)
    free = 1.0 - np.minimum(np.maximum(shadow, block).sum(axis=0), 1.0).mean(axis=-1)
    return Lit(cos, sunny, free)


def _shifts(ray: Array, normal: Array, edges: Array, cos: Array, places: Array) -> Array:
    """Where neighbours appear on the mirror along rays, in units of its edges, shape (n, near ones, 2)."""
    before = normal[:, :2] @ places.T
    run = before / cos[:, None]
    drift = np.einsum("nex,nx->ne", edges, ray)
    right, upward = (edges[:, e, :2] @ places.T - run * drift[:, e, None] for e in (0, 1))
    far = np.where(before > 0, np.maximum(np.abs(right), np.abs(upward)), np.inf)
    few = min(_NEAREST, places.shape[0])
    nearest = np.argpartition(far, few - 1, axis=1)[:, :few] if few else np.empty((len(cos), 0), int)
    shift = np.stack([np.take_along_axis(x, nearest, axis=1) for x in (right, upward)], axis=-1)
    return np.where((np.take_along_axis(far, nearest, axis=1) < 1.0)[..., None], shift, 2.0)


def _covered(shift: Array) -> Array:
    """How much of each strip is covered from above and from below, shape (2, n, strips)."""
    middle = (np.arange(_CELLS) + 0.5) / _CELLS - 0.5
    part = np.clip((0.5 - np.abs(middle - shift[..., :1])) * _CELLS + 0.5, 0.0, 1.0)
    deep = np.maximum(1.0 - np.abs(shift[..., 1:]), 0.0) * part
    above = np.where(shift[..., 1:] >= 0, deep, 0.0)
    if not shift.shape[1]:
        return np.zeros((2, shift.shape[0], _CELLS))
    return np.stack([above.max(axis=1), (deep - above).max(axis=1)])
