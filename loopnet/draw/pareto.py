"""All circuits of an exploration in one picture: what they cost against what they give, by family, and the front."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from loopnet.draw.figure import axes_size, new_axes
from loopnet.draw.palette import INK, LOOPS, MUTED, PAPER
from loopnet.draw.text import FONT, LINE, Box, line_width, wrap

if TYPE_CHECKING:
    from loopnet.explore.exploration import Exploration
    from loopnet.explore.results import Row

__all__ = ["Cloud", "Dot", "cloud", "draw_pareto", "place_labels"]

MARKS = ("o", "s", "^", "D", "v", "P", "X")
"""By family, beside the colour, for those who see no colours."""
OTHER = "others"
TRIMMED = 2.5
"""Dots farther out than this many times the span of the best three quarters are not drawn, and counted instead [-]."""


@dataclass(frozen=True)
class Dot:
    """One plant: where it stands [units of the axes], its family, whether it is on the front, and its title."""

    x: float
    y: float
    family: str
    on_front: bool
    title: str


@dataclass(frozen=True)
class Cloud:
    """Dots, the names of the axes, families by name, how many dots lie too far out to be drawn,
    and whether more is better on the vertical axis."""

    dots: tuple[Dot, ...]
    x: str
    y: str
    families: tuple[str, ...]
    beyond: int
    title: str
    staircase: tuple[tuple[float, float], ...]
    """The edge of what no plant beats, from corner to corner."""
    more: bool = False


def cloud(found: Exploration, criteria: Sequence[str] | None = None, by: str | None = None,
          product: str | None = None) -> Cloud:
    """Gather the dots of an exploration.

    Parameters
    ----------
    found : Exploration
    criteria : sequence of two str, optional
        What stands on the vertical axis, then on the horizontal one; names in `CRITERIA`.
    by : str, optional
        The choice whose words are the families; if left out, the first that varies of medium of the field, store, cycle
        and collector.
    product : str, optional
        ``"electricity"`` or ``"heat"``; the first there is if left out.

    Returns
    -------
    Cloud
    """
    from loopnet.explore.pareto import CRITERIA, criteria_of

    names = tuple(criteria or found.usual_criteria)
    up, along = criteria_of(names)
    product = product or next(iter(found.products), "")
    rows = [r for r in found.done if r["product"] == product and None not in (r.get(up.figure), r.get(along.figure))]
    edge = found.front(names, product)
    by = by or _telling(rows)
    counts: dict[str, int] = {}
    for row in rows:
        family = str(row.candidate.to_dict().get(by, ""))
        counts[family] = counts.get(family, 0) + 1
    many = sorted(counts, key=lambda f: (-counts[f], f))[:len(MARKS) - 1 if len(counts) > len(MARKS) else len(MARKS)]
    known = sorted(many)  # so that a family keeps its colour when a few plants more are known
    on = {row.key for row in edge}
    dots = []
    for row in sorted(rows, key=lambda row: row.key in on):  # the front is drawn last
        family = str(row.candidate.to_dict().get(by, ""))
        dots.append(Dot(along.factor * row[along.figure], up.factor * row[up.figure],
                        family if family in known else OTHER, row.key in on, str(row["title"])))
    kept = _trimmed(dots, up.more)
    places = [(d.x, d.y) for d in kept if d.on_front]
    axes = {name: f"{CRITERIA[name].doc} [{CRITERIA[name].unit}]" for name in names}
    return Cloud(tuple(kept), axes[names[1]], axes[names[0]], (*known, *([OTHER] if len(counts) > len(known) else [])),
                 len(dots) - len(kept), f"{len(rows):,} plants that deliver {product}: {names[0]} against {names[1]}",
                 _staircase(places, along.more, up.more), up.more)


def _telling(rows: Sequence[Row]) -> str:
    """The choice by which families are told apart: the first of those that people think in that varies."""
    words: dict[str, set[str]] = {}
    for row in rows:
        for name, word in row.candidate.words.items():
            words.setdefault(name, set()).add(word)
    varied = [name for name, found in words.items() if len(found) > 1]
    wished = [name for name in ("field_loop", "store", "cycle", "collector") if name in varied]
    return next(iter([*wished, *varied]), "")


def _trimmed(dots: list[Dot], more: bool) -> list[Dot]:
    """Without dots so bad on the vertical axis that all others would be pressed together; none of the front."""
    if len(dots) < 8:
        return dots
    y = np.array([d.y for d in dots]) * (-1.0 if more else 1.0)
    best, far = float(y.min()), float(np.percentile(y, 75))
    limit = best + TRIMMED * (far - best)
    return [d for d, v in zip(dots, y, strict=True) if v <= limit or d.on_front]


def _staircase(places: list[tuple[float, float]], x_more: bool, y_more: bool) -> tuple[tuple[float, float], ...]:
    """Along the front: between two plants nothing better is known than what is the worse of both in either."""
    worse_x, worse_y = min if x_more else max, min if y_more else max
    steps: list[tuple[float, float]] = []
    for x, y in sorted(places):
        if steps:
            steps.append((worse_x(steps[-1][0], x), worse_y(steps[-1][1], y)))
        steps.append((x, y))
    return tuple(steps)


# -- labels ------------------------------------------------------------------------------------------------------------


def place_labels(anchors: Sequence[tuple[float, float]], sizes: Sequence[tuple[float, float]],
                 room: Box, taken: Sequence[Box] = (), gap: float = 9.0) -> list[Box | None]:
    """Boxes beside anchors that meet neither each other nor what is taken, inside a room; None where there is no place.

    Parameters
    ----------
    anchors, sizes : sequence of (float, float)
        Where each label points to, and its width and height [pt].
    room : Box
        Where labels may be [pt].
    taken : sequence of Box
        Where none may be [pt].
    gap : float
        Least distance between anchor and box [pt].

    Returns
    -------
    list of Box or None
        The nearest place for each, in the order of the anchors.
    """
    used, found = [*taken, *(Box(x - 4, y - 4, x + 4, y + 4) for x, y in anchors)], list[Box | None]()
    for (x, y), (wide, high) in zip(anchors, sizes, strict=True):
        best: Box | None = None
        for far in (1.0, 2.0, 3.5, 5.5, 8.0, 11.0, 15.0, 20.0, 26.0):
            for angle in np.radians([215, 145, 180, 270, 90, 325, 35, 0]):
                mx, my = x + far * gap * np.cos(angle), y + far * gap * np.sin(angle)
                left = mx - wide if np.cos(angle) < -0.1 else mx if np.cos(angle) > 0.1 else mx - wide / 2
                low = my - high if np.sin(angle) < -0.1 else my if np.sin(angle) > 0.1 else my - high / 2
                box = Box(float(left), float(low), float(left + wide), float(low + high))
                inside = box.x0 >= room.x0 and box.x1 <= room.x1 and box.y0 >= room.y0 and box.y1 <= room.y1
                if inside and not any(box.meets(other, 2.0) for other in used):
                    best = box
                    break
            if best:
                break
        found.append(best)
        used += [best] if best else []
    return found


# -- picture -----------------------------------------------------------------------------------------------------------


def draw_pareto(found: Exploration | Cloud, ax: Axes | None = None, labels: int = 4) -> Axes:
    """Draw every plant as a dot, by family, the front that none beats, and the names of some on it.

    Parameters
    ----------
    found : Exploration or Cloud
        As `cloud` makes it with its defaults.
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.
    labels : int
        Plants of the front that are named, the best one first and the others spread along it [-].

    Returns
    -------
    matplotlib Axes
    """
    shown = found if isinstance(found, Cloud) else cloud(found)
    ax = new_axes(10.0, 6.4, (0.85, 0.75, 0.3, 1.15)) if ax is None else ax
    width, height = axes_size(ax)
    scale = min(width / 637.0, 1.2)
    size = 8.0 * scale
    text: dict[str, Any] = {"family": FONT, "fontsize": size, "parse_math": False}
    for place, family in enumerate(shown.families):
        colour = MUTED if family == OTHER else LOOPS[place % len(LOOPS)][0]
        some = [d for d in shown.dots if d.family == family]
        for front in (False, True):
            drawn = [d for d in some if d.on_front == front]
            rim: dict[str, Any] = {"linewidths": 0.9 * scale, "edgecolors": INK, "alpha": 1.0, "zorder": 5}
            ax.scatter([d.x for d in drawn], [d.y for d in drawn], s=(34 if front else 15) * scale**2, c=colour,
                       marker=MARKS[place % len(MARKS)],
                       **(rim if front else {"linewidths": 0, "alpha": 0.55, "zorder": 3}),
                       label=None if front else f"{family} ({len(some):,})", gid=f"family:{family}")
    if shown.staircase:
        ax.plot(*zip(*shown.staircase, strict=True), color=INK, linewidth=1.1 * scale, zorder=4, gid="front")
    ax.margins(0.06)
    _named(ax, shown, labels, size, text)
    for side in ("right", "top"):
        ax.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        ax.spines[side].set_color(MUTED)
    ax.xaxis.set_major_locator(MaxNLocator(8, steps=[1, 2, 2.5, 5, 10]))
    ax.yaxis.set_major_locator(MaxNLocator(7, steps=[1, 2, 2.5, 5, 10]))
    ax.tick_params(labelsize=size, labelfontfamily=FONT, colors=MUTED, length=3)
    ax.grid(color="#e4e7ea", linewidth=0.6, zorder=0)
    ax.set_axisbelow(True)
    more = f"; {shown.beyond:,} far out are not drawn" if shown.beyond else ""
    ax.set_xlabel(shown.x, color=MUTED, **{k: v for k, v in text.items() if k != "parse_math"})
    ax.set_ylabel(shown.y, color=MUTED, **{k: v for k, v in text.items() if k != "parse_math"})
    ax.text(0.0, 1.0 + 58 * scale / height, shown.title, transform=ax.transAxes, color=INK, weight="bold",
            family=FONT, fontsize=1.25 * size, va="bottom", parse_math=False)
    ax.text(0.0, 1.0 + 44 * scale / height, f"line and rimmed marks: no plant is better in both{more}",
            transform=ax.transAxes, color=MUTED, va="bottom", **text)
    if len(shown.families) > 1:
        key = ax.legend(loc="lower left", bbox_to_anchor=(-0.01, 1.0), ncols=4, frameon=False, handletextpad=0.2,
                        columnspacing=1.2, borderaxespad=0.2, prop={"family": FONT, "size": size}, markerscale=1.4)
        for entry in key.get_texts():
            entry.set_color(INK)
            entry.set_parse_math(False)
    return ax


def _named(ax: Axes, shown: Cloud, labels: int, size: float, text: dict[str, Any]) -> None:
    """Names of plants on the front, beside their dots; that of the best in bold."""
    along = sorted((d for d in shown.dots if d.on_front), key=lambda d: d.x)
    if not along or labels < 1:
        return
    lead = (max if shown.more else min)(along, key=lambda d: d.y)
    spread = [along[round(i)] for i in np.linspace(0, len(along) - 1, min(labels, len(along)))]
    chosen = list(dict.fromkeys([lead, *spread]))[:labels]
    width, height = axes_size(ax)
    (x0, x1), (y0, y1) = ax.get_xlim(), ax.get_ylim()

    def points(d: Dot) -> tuple[float, float]:
        return (d.x - x0) / (x1 - x0) * width, (d.y - y0) / (y1 - y0) * height

    def data(px: float, py: float) -> tuple[float, float]:
        return x0 + px / width * (x1 - x0), y0 + py / height * (y1 - y0)

    at = [points(d) for d in chosen]
    dots = [Box(px - 2.5, py - 2.5, px + 2.5, py + 2.5) for px, py in map(points, shown.dots)]
    blocks = [wrap(d.title, 0.3 * width, size, bold=d is lead) for d in chosen]
    sizes = [(max(line_width(line, size, bold=d is lead) for line in block), LINE * size * len(block))
             for d, block in zip(chosen, blocks, strict=True)]
    room = Box(2.0, 2.0, width - 2.0, height - 2.0)
    free = place_labels(at, sizes, room, dots)
    over = place_labels(at, sizes, room, [box for box in free if box])  # over dots, where there is no other way
    for d, block, box, (px, py) in zip(chosen, blocks, (a or b for a, b in zip(free, over, strict=True)), at,
                                       strict=True):
        if box is None:
            continue
        near = min(max(px, box.x0), box.x1), min(max(py, box.y0), box.y1)
        ax.plot(*zip(data(px, py), data(*near), strict=True), color=MUTED, linewidth=0.7, zorder=4.5)
        ax.text(*data(box.x0, box.y1), "\n".join(block), va="top", ha="left", color=INK, zorder=7,
                weight="bold" if d is lead else "normal", linespacing=LINE / 1.17, gid=f"label:{d.title}",
                bbox={"facecolor": PAPER, "alpha": 0.75, "edgecolor": "none", "pad": 0.5}, **text)
    ax.set_xlim(x0, x1)
    ax.set_ylim(y0, y1)
