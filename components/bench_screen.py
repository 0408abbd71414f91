"""Which rows of a bench test are steady, and their means: one point for each stretch that the collector remembers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from components.bench_data import BenchData
from loopnet.params import Parameters, param

__all__ = ["LeftOut", "Points", "Steadiness", "averaged", "steady_rows"]

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Steadiness(Parameters):
    """How much may change within a window for its last row to count as steady: largest less smallest reading.

    The window is the time that the collector remembers: that in which the liquid passes through it, if `content` is
    known, and at least ten minutes. Steady-state tests of ISO 9806 allow (from memory) 50 W/m2 and 1.5 K of ambient to
    either side, 1 % of flow and some tenths of a kelvin of inlet; the limit of flow here is wider: common practice, no
    source.
    """

    window: Any = param("10 min", unit="s", low=1.0, high=14400.0, source="ISO 9806, from memory")
    dni: Any = param(100.0, unit="W/m^2", low=0.0, high=1500.0, source="ISO 9806, from memory")
    ambient: Any = param(3.0, unit="K", low=0.0, high=50.0, source="ISO 9806, from memory")
    inlet: Any = param(0.5, unit="K", low=0.0, high=500.0, source="common practice, no source")
    flow: Any = param(0.05, unit="-", low=0.0, high=10.0, source="common practice, no source", doc="over the mean")


class LeftOut(NamedTuple):
    """Rows of the file that the fit does not use, the kind of reason, and the reason."""

    rows: tuple[int, ...]
    kind: str
    reason: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Points:
    """Means over stretches of rows: `columns` and `time`, shape (points,) [SI]; `rows` are those of the file.

    `rate` is the change of the mean temperature of inlet and outlet with time [K/s].
    """

    time: Array
    columns: Mapping[str, Array]
    rate: Array
    rows: tuple[NDArray[np.int64], ...]

    def __len__(self) -> int:
        return len(self.time)


def _window(data: BenchData, steadiness: Steadiness, content: float | None, density: float) -> float:
    """The time that the collector remembers [s]."""
    if content is None:
        return float(steadiness.window)
    volume = data.columns.get("flow volume")
    volume = data.columns["flow"] / density if volume is None and "flow" in data.columns else volume
    return float(steadiness.window) if volume is None else max(float(steadiness.window),
                                                               content / float(np.median(volume)))


def steady_rows(data: BenchData, steadiness: Steadiness, content: float | None = None, density: float = 1000.0,
                ) -> tuple[NDArray[np.bool_], tuple[LeftOut, ...], float, bool]:
    """Judge each row by what changed within the window that ends with it.

    Parameters
    ----------
    data : BenchData
        The test.
    steadiness : Steadiness
        Window and limits.
    content : float, optional
        Liquid in the collector [m3], for the time that it takes to pass through.
    density : float
        Of the liquid [kg/m3].

    Returns
    -------
    steady : array of bool, shape (rows,)
        True where nothing changed more than its limit.
    left_out : tuple of LeftOut
        Stretches that are not steady, with what changed.
    window : float
        The window [s].
    judged : bool
        False where rows lie further apart than half the window: each is then taken as the mean of a steady stretch.
    """
    window = _window(data, steadiness, content, density)
    steps = np.diff(data.time)
    step = float(np.median(steps)) if steps.size else np.inf
    if step > window / 2:
        return np.ones(len(data), bool), (), window, False
    start = np.concatenate([[True], steps > max(window, 3 * step)])
    begun = data.time[np.maximum.accumulate(np.where(start, np.arange(len(data)), 0))]
    reasons = np.full(len(data), "", dtype=object)
    reasons[data.time - begun < window - step / 2] = "less than one window after the start or a gap"
    limits = (("dni", "dni", steadiness.dni, 1.0, "W/m2"), ("inlet", "inlet", steadiness.inlet, 1.0, "K"),
              ("ambient", "ambient", steadiness.ambient, 1.0, "K"), ("flow", "flow", steadiness.flow, 100.0, "%"),
              ("flow volume", "flow", steadiness.flow, 100.0, "%"))
    for key, word, limit, shown, unit in limits:
        if key not in data.columns:
            continue
        series = pd.Series(data.columns[key], index=pd.to_timedelta(data.time, unit="s"))
        rolling = series.rolling(pd.Timedelta(seconds=window), closed="both")
        change = (rolling.max() - rolling.min()).to_numpy()
        if unit == "%":
            change = change / np.maximum(rolling.mean().to_numpy(), 1e-300)
        for place in np.flatnonzero((change > limit) & (reasons == "")):
            reasons[place] = f"{word} changes by more than {limit * shown:g} {unit} within {window / 60:g} min"
    edges = np.flatnonzero(np.diff(np.concatenate([[False], reasons == "", [False]]).astype(int)))
    for first, last in zip(edges[::2], edges[1::2] - 1, strict=True):
        if data.time[last] - data.time[first] < window / 2 - step:
            reasons[first:last + 1] = "steady for less than half a window"
    return reasons == "", _stretches(data, reasons), window, True


def _stretches(data: BenchData, reasons: NDArray[np.object_]) -> tuple[LeftOut, ...]:
    """Neighbours with one reason are one stretch."""
    cuts = np.flatnonzero(reasons[1:] != reasons[:-1]) + 1
    parts = np.split(np.arange(len(reasons)), cuts)
    return tuple(LeftOut(tuple(int(r) for r in data.rows[part]), "unsteady", str(reasons[part[0]]))
                 for part in parts if reasons[part[0]])


def averaged(data: BenchData, use: NDArray[np.bool_], window: float, average: bool = True) -> Points:
    """Means over stretches of neighbouring rows, each about one window long.

    Neighbouring readings share their errors and their past; counted one by one they would promise more than they know.

    Parameters
    ----------
    data : BenchData
        The test.
    use : array of bool, shape (rows,)
        Rows that count.
    window : float
        Length of a stretch [s].
    average : bool
        False makes each row a point of its own.

    Returns
    -------
    Points
    """
    tm = 0.5 * (data.columns["inlet"] + data.columns["outlet"]) if {"inlet", "outlet"} <= set(data.columns) else None
    picked = np.flatnonzero(use)
    runs = np.split(picked, np.flatnonzero((np.diff(picked) > 1) | (np.diff(data.time[picked]) > window)) + 1)
    blocks: list[NDArray[np.int64]] = []
    for run in (r for r in runs if r.size):
        if not average:
            blocks += [np.array([i]) for i in run]
            continue
        t = data.time[run]
        count = max(1, round(float(t[-1] - t[0]) / window))
        which = np.minimum((count * (t - t[0]) / max(float(t[-1] - t[0]), 1e-9)).astype(int), count - 1)
        blocks += [run[which == k] for k in range(count) if np.any(which == k)]
    slopes = np.zeros(len(blocks))
    if tm is not None and len(data) > 1:
        each = np.gradient(tm, data.time)  # its mean is what the stretch gained, whatever the course
        slopes = np.array([each[b].mean() for b in blocks])
    return Points(time=np.array([data.time[b].mean() for b in blocks]), rate=slopes,
                  columns={key: np.array([values[b].mean() for b in blocks]) for key, values in data.columns.items()},
                  rows=tuple(data.rows[b] for b in blocks))

