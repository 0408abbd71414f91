"""The picture of a bench test: fit with its confidence band above, residuals below; dark on light, shapes tell points
that are left out, so that it survives a photocopy."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np

from loopnet.site.source import row_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from components.bench_result import CollectorFit

__all__ = ["picture"]

INK, MUTED, LINE, BAND, OUT = "#22262b", "#5b626b", "#b0461e", "#f1d3c3", "#0f2850"
NAMED = 4
"""Points left out that are named beside their cross."""


def _canvas() -> Axes:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7.6, 6.0), facecolor="white")
    FigureCanvasAgg(figure)
    return figure.add_axes((0.105, 0.09, 0.87, 0.82))


def picture(fit: CollectorFit, ax: Axes | None = None) -> Axes:
    """Draw a fit: efficiency over temperature, or heat over sun where all points have nearly one temperature.

    Points are shown at the middle of all other conditions, to which the fit brings them, so that their distance from
    the line is their residual.

    Parameters
    ----------
    fit : CollectorFit
        The result.
    ax : matplotlib Axes, optional
        Where; its lower part becomes the residuals. None makes a figure of its own.

    Returns
    -------
    matplotlib Axes
        The axes of the fit; those of the residuals are the last of its figure.
    """
    from mpl_toolkits.axes_grid1 import make_axes_locatable  # type: ignore[import-untyped]

    ax = _canvas() if ax is None else ax
    low, high = fit.tested["over"]
    x = "dni" if high - low < max(10.0, 0.3 * high) else "over"
    below: Any = make_axes_locatable(ax).append_axes("bottom", size="38%", pad=0.12, sharex=ax)
    points = fit.points
    scale = _curve(fit, ax, x)
    at, useful, _ = _middle(fit, x, points[x].to_numpy())
    used = points["used"].to_numpy()
    kinds: tuple[tuple[Any, dict[str, Any], str], ...] = (
        (used, {"marker": "o", "s": 22, "facecolor": "white", "edgecolor": INK}, "measured"),
        (~used, {"marker": "X", "s": 48, "facecolor": OUT, "edgecolor": "white"}, "left out"))
    residual = points["residual"].to_numpy()
    for which, style, name in kinds:
        if which.any():
            ax.scatter(at[which], (useful + residual)[which] * scale, linewidth=0.9, zorder=4, label=name, **style)
            below.scatter(at[which], residual[which], linewidth=0.9, zorder=4, **style)
    below.axhline(0.0, color=LINE, linewidth=1.3, zorder=2)
    below.axhspan(-2 * fit.scatter, 2 * fit.scatter, color=BAND, zorder=1, linewidth=0)
    reach = 1.2 * max(float(np.abs(residual).max()), 3.0 * fit.scatter, 1e-9)
    below.set_ylim(-reach, reach)
    for place in np.flatnonzero(~used)[:NAMED]:
        right = at[place] > 0.5 * (at.min() + at.max())
        below.annotate(row_text(points["rows"].iloc[place]), (at[place], residual[place]),
                       xytext=(-8 if right else 8, 0), textcoords="offset points", ha="right" if right else "left",
                       va="center", fontsize=8, color=OUT, parse_math=False)
    ax.set_ylabel("useful heat, W/m2" if x == "dni" else "efficiency, %", color=INK)
    below.set_ylabel("measured less\nfitted, W/m2", color=INK)
    below.set_xlabel("direct normal sun, W/m2" if x == "dni" else
                     f"{'water' if fit.method == 'boil-off' else 'mean of the liquid'} above the air, K", color=INK)
    ax.tick_params(labelbottom=False)
    ax.legend(loc="upper left" if x == "dni" else "lower left", frameon=False, fontsize=8.5)
    said = ",  ".join(f"{c.name} = {c.value:.3g} ± {(c.high - c.low) / 2:.1g}" for c in fit.coefficients)
    ax.set_title("\n".join([fit.name, *textwrap.wrap(said, 92)]), loc="left", fontsize=9.5, color=INK, parse_math=False)
    for each in (ax, below):
        each.grid(color="#e3e5e8", linewidth=0.6, zorder=0)
        each.set_axisbelow(True)
        each.spines[["top", "right"]].set_visible(False)
        each.tick_params(colors=MUTED, labelsize=8.5)
    return ax


def _middle(fit: CollectorFit, x: str, at: Any) -> tuple[Any, Any, Any]:
    """Useful heat and its standard uncertainty [W/m2] along one condition, at the median of the others."""
    used = fit.points[fit.points["used"]]
    sunny = used[used["beam"] > 100.0]
    usual = (sunny if len(sunny) else used)[["over", "dni", "wind", "ambient", "angle"]].median().to_dict()
    given = {key: np.full(np.shape(at), value) for key, value in usual.items()} | {x: np.asarray(at, dtype=float)}
    useful, error = fit.useful(given["over"], given["dni"], wind=given["wind"], ambient=given["ambient"],
                               incidence=np.radians(given["angle"]))
    return given[x], useful, error


def _curve(fit: CollectorFit, ax: Axes, x: str) -> float:
    """The fit and its band, dashed beyond the points; returns what one W/m2 is on the axis."""
    from scipy.stats import norm

    used = fit.points[fit.points["used"]]
    low, high = fit.tested[x]
    at, useful, error = _middle(fit, x, np.linspace(min(0.0, low) if x == "over" and fit.has_loss else low, high, 200))
    sunny = used[used["beam"] > 100.0] if (used["beam"] > 100.0).any() else used
    facing = float((sunny["dni"] * np.cos(np.radians(sunny["angle"]))).median())
    scale = 1.0 if x == "dni" else 100.0 / max(facing, 1e-9)
    held = {"over": f"{sunny['dni'].median():.0f} W/m2 of sun", "dni": f"{sunny['over'].median():.0f} K above the air"}
    half = float(norm.ppf(0.5 + fit.confidence / 2)) * error
    ax.fill_between(at, (useful - half) * scale, (useful + half) * scale, color=BAND, linewidth=0, zorder=1,
                    label=f"{100 * fit.confidence:g} % sure that the fit lies here")
    inside = at >= low - 1e-9
    ax.plot(at[inside], useful[inside] * scale, color=LINE, linewidth=1.8, zorder=3, label=f"fit at {held[x]}")
    if not inside.all():
        ax.plot(at[~inside], useful[~inside] * scale, color=LINE, linewidth=1.5, zorder=3, linestyle=(0, (4, 3)),
                label="drawn out beyond the points")
    return scale
