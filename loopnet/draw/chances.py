"""How sure a ranking is: a curve of each plant's possible costs on one scale, and how often it is first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from loopnet.draw.figure import axes_size, new_axes
from loopnet.draw.palette import INK, KINDS, MUTED, PAPER, darker, lighter
from loopnet.draw.text import FONT

if TYPE_CHECKING:
    from loopnet.study.uncertainty import Uncertainty

__all__ = ["CostCurve", "cost_curves", "draw_chances"]

Array = NDArray[np.float64]
OVERLAP = 1.7
"""Height of the highest curve over the distance of two rows [-]."""


class CostCurve(NamedTuple):
    """Density of one plant's cost [1/(USD/kWh)] over a grid of costs, its median [USD/kWh], and the probability that
    it is first [-]."""

    plant: str
    grid: Array
    density: Array
    median: float
    first: float


def cost_curves(result: Uncertainty, points: int = 240) -> list[CostCurve]:
    """Smoothed densities of the costs, most often first on top.

    Parameters
    ----------
    result : Uncertainty
    points : int
        Of each curve [-].

    Returns
    -------
    list of CostCurve
        On one grid, by a Gaussian kernel of Silverman's width; each curve has an area of one.

    References
    ----------
    B. W. Silverman, Density Estimation for Statistics and Data Analysis, Chapman and Hall (1986); from memory.
    """
    # the middle 99.8 % of all draws, with room for the kernel
    low, high = (float(v) for v in np.percentile(result.costs, (0.1, 99.9)))
    widths = [max(1.06 * float(np.std(c)) * len(c) ** -0.2, 1e-3 * (high - low) + 1e-12) for c in result.costs]
    grid = np.linspace(low - 4 * max(widths), high + 4 * max(widths), points)
    curves = []
    for name, costs, wide in zip(result.plants, result.costs, widths, strict=True):
        fine = np.linspace(grid[0] - 4 * wide, grid[-1] + 4 * wide, 2048)
        count, edges = np.histogram(np.clip(costs, fine[0], fine[-1]), bins=fine)
        middle, step = 0.5 * (edges[1:] + edges[:-1]), edges[1] - edges[0]
        reach = np.arange(-int(4 * wide / step) - 1, int(4 * wide / step) + 2) * step
        kernel = np.exp(-0.5 * (reach / wide) ** 2)
        density = np.convolve(count / (len(costs) * step), kernel / kernel.sum(), mode="same")
        curves.append(CostCurve(name, grid, np.interp(grid, middle, density), float(np.median(costs)),
                                result.probability_first[name]))
    return sorted(curves, key=lambda c: (-c.first, c.median))


def draw_chances(result: Uncertainty, ax: Axes | None = None) -> Axes:
    """Draw the curves of all plants, overlapping, with a line at each median.

    Parameters
    ----------
    result : Uncertainty
    ax : matplotlib Axes, optional
        Where; none makes a figure of its own.

    Returns
    -------
    matplotlib Axes
        Costs in US ct/kWh, a row for each plant.
    """
    curves = cost_curves(result)
    rows = len(curves)
    if ax is None:
        ax = new_axes(10.0, 1.75 + 0.52 * rows, (1.5, 0.85, 1.35, 0.62))
    scale = min(axes_size(ax)[0] / 516.0, 1.2)
    size, top = 8.0 * scale, max(float(c.density.max()) for c in curves)
    text: dict[str, Any] = {"family": FONT, "fontsize": size, "parse_math": False}
    for row, curve in enumerate(curves):
        base = float(rows - 1 - row)
        height = base + OVERLAP * curve.density / top
        lead = row == 0
        colour = darker(KINDS["heat"], 0.14) if lead else lighter(KINDS["electricity"], 0.62)
        ax.fill_between(100 * curve.grid, base, height, color=colour, alpha=0.85, linewidth=0, zorder=2 + 2 * row,
                        gid=f"curve:{curve.plant}")
        risen = np.where(height - base > 0.01, height, np.nan)  # no line where there is nothing
        ax.plot(100 * curve.grid, risen, color=PAPER, linewidth=1.1 * scale, zorder=3 + 2 * row)
        peak = float(np.interp(curve.median, curve.grid, height))
        ax.plot((100 * curve.median,) * 2, (base, peak), color=INK, linewidth=0.9 * scale, zorder=3 + 2 * row)
        ax.text(-0.012, base + 0.1, curve.plant, transform=ax.get_yaxis_transform(), ha="right", va="bottom", color=INK,
                weight="bold" if lead else "normal", **text)
        ax.text(1.012, base + 0.1, f"{100 * curve.first:.1f} % first", transform=ax.get_yaxis_transform(), ha="left",
                va="bottom", color=INK, weight="bold" if lead else "normal", **text)
    ax.set_ylim(-0.04, rows - 1 + OVERLAP * 1.06)
    ax.set_xlim(100 * curves[0].grid[0], 100 * curves[0].grid[-1])
    ax.set_yticks([])
    for side in ("left", "right", "top"):
        ax.spines[side].set_visible(False)
    ax.spines["bottom"].set_color(MUTED)
    ax.xaxis.set_major_locator(MaxNLocator(9, steps=[1, 2, 2.5, 5, 10]))
    ax.tick_params(axis="x", labelsize=size, labelfontfamily=FONT, colors=MUTED, length=3)
    ax.grid(axis="x", color="#e4e7ea", linewidth=0.6, zorder=0)
    ax.set_axisbelow(True)
    ax.set_xlabel(f"US cents per kWh of {result.product}; line: median of {result.samples:,} draws, the same for all; "
                  f"standard error of the shares up to {100 * max(result.standard_error.values()):.2f} %", color=MUTED,
                  family=FONT, fontsize=size)
    figure: Any = ax.get_figure(root=True)
    if len(figure.axes) == 1:
        figure.text(10 / (figure.get_size_inches()[0] * 72), 1 - 14 / (figure.get_size_inches()[1] * 72),
                    "How sure is the order? What each plant may cost, and how often it is the cheapest", weight="bold",
                    family=FONT, fontsize=size + 3.5, color=INK, va="top", parse_math=False)
    return ax
