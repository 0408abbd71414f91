"""Nonsense and gaps in weather: found by stated limits, filled by a stated rule, noted with rows, or refused."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.site.formats import Table
from loopnet.site.humid import dew_point
from loopnet.site.place import Site
from loopnet.site.source import row_text
from loopnet.site.sun import extraterrestrial
from loopnet.site.weather import COLUMNS

__all__ = ["repaired"]

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

LONGEST_GAP = 3
"""Longest run of bad values that is filled [h]; for sunlight only hours with the sun up count. Common practice, no
source."""
MOST_FILLED = 0.05
"""Largest share of a column that may be filled, once more than `FEW_FILLED` values are [-]. Common practice, no
source."""
FEW_FILLED = 24
BEAM_MARGIN = 1.02
"""Direct normal may exceed the extraterrestrial of its day by this factor, for rounding and the solar constant [-].
Common practice, no source."""
NIGHT_SHARE = 0.005
"""Largest share of the direct sunlight that may come with the sun down, before the time zone is suspected [-]. Common
practice, no source."""
NIGHT_OFFSET = -4.0
"""Lowest global and diffuse that a pyranometer may report at night [W/m2]: Long and Dutton, BSRN Global Network
recommended QC tests V2.0 (2002), from memory, as are the highest, used below."""
AMBIENT, DEW, WIND, PRESSURE = (-60.0, 60.0), (-90.0, 45.0), (0.0, 60.0), (31000.0, 120000.0)
"""Limits of dry bulb and dew point [degC], wind [m/s] and pressure [Pa]. Pressure: EPW data dictionary; the others:
common practice, no source (records: -89 and 57 degC, WMO)."""
DEW_ABOVE = 0.5
"""Dew point above dry bulb by up to this is rounding and is set to dry bulb [K]. Common practice, no source."""
CLOSURE = 0.10
"""Global against direct x cos(zenith) + diffuse over the file, before a note is made [-]. Common practice, no
source."""


@dataclass
class _Desk:
    """What one repair needs at hand."""

    table: Table
    allowed: bool
    step: int
    up: Mask
    notes: list[str]

    @property
    def rows(self) -> NDArray[Any]:
        return np.array(self.table.stamps.body.rows)

    def label(self, key: str) -> str:
        return self.table.labels.get(key, key)

    def refuse(self, what: str, mask: Mask, key: str, got: str, allowed: str, hint: str) -> None:
        raise self.table.stamps.body.error(what, rows=list(self.rows[mask]), column=self.label(key), got=got,
                                           allowed=allowed, hint=hint)

    def change(self, mask: Mask, key: str, reason: str, done: str) -> None:
        """Note a repair, or refuse it where none is wanted."""
        if not self.allowed:
            self.refuse(reason, mask, key, f"{int(mask.sum())} values", "no repairs, as asked for with repair=False",
                        f"repair=True, which would do this: {done}")
        self.notes.append(f"{row_text(list(self.rows[mask]), most=400)}, {self.label(key)}: {reason}; {done}")


def repaired(table: Table, site: Site, moments: NDArray[Any], sun: dict[str, Array], step: int, allowed: bool
             ) -> tuple[dict[str, Array], tuple[str, ...]]:
    """Check every value, fill short gaps, and convert to SI.

    Parameters
    ----------
    table : Table
        What the file says.
    site : Site
        Where, for the pressure if the file has none.
    moments : ndarray of datetime64, shape (n,)
        Moments of the rows, in standard time.
    sun : dict
        From `sunlit`: ``zenith`` [rad], ``up`` [-].
    step : int
        Length of an interval [s].
    allowed : bool
        Whether values may be repaired.

    Returns
    -------
    columns : dict of ndarray, shape (n,)
        The columns of `COLUMNS`, in SI.
    notes : tuple of str
        Each repair with rows, column and reason, and warnings.

    Raises
    ------
    DataError
        If a gap is longer than `LONGEST_GAP`, too much is bad, the time zone seems wrong, or repairs are not allowed.

    Notes
    -----
    Blank cells, the format's marks for missing values, and values outside the limits are gaps. Sunlight is set to 0
    where the sun is down; gaps of up to `LONGEST_GAP` hours are filled by straight lines between their neighbours (at
    the ends of the data the neighbour's value is held).
    """
    desk = _Desk(table, allowed, step, sun["up"] > 0, [])
    columns = {key: values.copy() for key, values in table.columns.items()}
    _make_up(desk, columns, site)
    outside = extraterrestrial(moments)
    height = np.maximum(np.cos(sun["zenith"]), 0.0)
    limits: dict[str, tuple[Any, Any]] = {
        "dni": (0.0, BEAM_MARGIN * outside), "ghi": (NIGHT_OFFSET, 1.5 * outside * height**1.2 + 100),
        "dhi": (NIGHT_OFFSET, 0.95 * outside * height**1.2 + 50), "ambient": AMBIENT, "dew_point": DEW, "wind": WIND,
        "pressure": PRESSURE}
    for key in COLUMNS:
        columns[key] = _clean(desk, key, columns[key], *limits[key])
    _dew_not_above(desk, columns)
    _closure(desk, columns, height)
    for key in ("ambient", "dew_point"):
        columns[key] = np.round(columns[key] + 273.15, 4)  # no last digits from the sum
    return {key: columns[key] for key in COLUMNS}, tuple(desk.notes)


def _make_up(desk: _Desk, columns: dict[str, Array], site: Site) -> None:
    """A pressure or a dew point that the file does not have at all."""
    size = desk.up.size
    whole = np.ones(size, bool)
    for key in ("pressure", "dew_point"):
        codes = desk.table.codes.get(key, ())
        if key in columns and not (np.isnan(columns[key]) | np.isin(columns[key], codes)).all():
            continue
        if key == "pressure":
            desk.change(whole, key, "no pressure in the file", f"mean pressure at this height, {site.pressure:.0f} Pa")
            columns[key] = np.full(size, site.pressure)
        elif "humidity" in columns:
            desk.change(whole, key, "no dew point in the file", "computed from dry bulb and relative humidity")
            humid = columns["humidity"]
            humid = np.where((humid > 0) & (humid <= 110), humid, np.nan)
            with np.errstate(all="ignore"):
                columns[key] = dew_point(columns["ambient"] + 273.15, np.minimum(humid, 100.0) / 100) - 273.15


def _clean(desk: _Desk, key: str, values: Array, low: Any, high: Any) -> Array:
    missing = np.isnan(values) | np.isin(values, desk.table.codes.get(key, ()))
    with np.errstate(invalid="ignore"):
        wrong = ~missing & ((values < low) | (values > high))
    light = key in ("dni", "ghi", "dhi")
    night = light & ~desk.up & (missing | wrong)
    dark = _night_sun(desk, values, missing | wrong) if key == "dni" else np.zeros(values.size, bool)
    out = values.copy()
    for mask, reason in ((night, "missing or nonsense while the sun is down"),
                         (dark, "direct sun while the sun is down")):
        if mask.any():
            desk.change(mask, key, reason, "set to 0")
            out[mask] = 0.0
    for mask, reason in ((missing & ~night, "missing"), (wrong & ~night, "outside the limits")):
        if mask.any():
            top = np.broadcast_to(high, values.shape)[mask].max()
            bottom = np.broadcast_to(low, values.shape)[mask].min()
            _fillable(desk, key, mask, (missing | wrong) & ~night, values, reason, f"{bottom:g} to {top:g}")
    bad = (missing | wrong) & ~night
    if bad.any():
        good = np.flatnonzero(~bad)
        out[bad] = np.interp(np.flatnonzero(bad), good, out[good])
    return out


def _night_sun(desk: _Desk, values: Array, bad: Mask) -> Mask:
    """Direct sun with the sun down: a few rows are rounding, many are a wrong time zone or longitude."""
    night = ~bad & ~desk.up & (values > 0)
    total, dark = float(values[~bad].sum()), float(values[night].sum())
    if total > 0 and dark > NIGHT_SHARE * total:
        desk.refuse("direct sun while the sun is below the horizon", night, "dni",
                    f"{100 * dark / total:.1f} % of the direct sunlight in {int(night.sum())} rows",
                    f"up to {100 * NIGHT_SHARE:g} %",
                    "check time zone (hours east of UTC, negative in the Americas) and longitude (east positive)")
    return night


def _fillable(desk: _Desk, key: str, mask: Mask, bad: Mask, values: Array, reason: str, limits: str) -> None:
    """Refuse what is too long or too much; else note that it is filled."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], bad.astype(int), [0]])))
    runs = edges.reshape(-1, 2)
    shown = sorted({f"{value:g}" for value in values[mask][:50]})
    got = f"{', '.join(shown[:4])}{', ...' if len(shown) > 4 else ''}".replace("nan", "blank")
    hint = "fill it from a neighbouring station or another year, or take another file"
    for start, end in runs:
        if (end - start) * desk.step > LONGEST_GAP * 3600 and mask[start:end].any():
            where = np.zeros(bad.size, bool)
            where[start:end] = True
            desk.refuse(f"a gap of {end - start} rows: values {reason}", where, key, got,
                        f"{limits}; gaps of up to {LONGEST_GAP} hours are filled", hint)
    number = int(bad.sum())
    if number == bad.size or number > max(FEW_FILLED, MOST_FILLED * bad.size):
        desk.refuse(f"too many values are {reason}", bad, key, f"{number} of {bad.size} values ({got})",
                    f"{limits}; up to {100 * MOST_FILLED:g} % are filled", hint)
    desk.change(mask, key, f"{reason} ({got}; allowed {limits})", "filled linearly")


def _dew_not_above(desk: _Desk, columns: dict[str, Array]) -> None:
    above = columns["dew_point"] - columns["ambient"]
    if (above > DEW_ABOVE).any():
        rows = above > DEW_ABOVE
        values = np.where(rows, np.nan, columns["dew_point"])
        shown = np.where(rows, columns["dew_point"], np.nan)
        _fillable(desk, "dew_point", rows, rows, shown, "above dry bulb", "up to dry bulb")
        values[rows] = np.interp(np.flatnonzero(rows), np.flatnonzero(~rows), values[~rows])
        columns["dew_point"] = values
    slight = columns["dew_point"] > columns["ambient"]
    if slight.any():
        desk.change(slight, "dew_point", f"slightly above dry bulb (up to {above[slight].max():.2g} K, rounding)",
                    "set to dry bulb")
        columns["dew_point"] = np.minimum(columns["dew_point"], columns["ambient"])


def _closure(desk: _Desk, columns: dict[str, Array], height: Array) -> None:
    both = float((columns["dni"] * height + columns["dhi"]).sum())
    whole = float(columns["ghi"].sum())
    if whole > 0 and abs(both - whole) > CLOSURE * whole:
        desk.notes.append(f"warning: direct x cos(zenith) + diffuse is {100 * (both / whole - 1):+.0f} % off global "
                          "over the file; columns may be mixed up, or the time zone or longitude wrong")
