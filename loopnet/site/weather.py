"""Weather of a site: a frozen table of equal intervals in SI, with the sun's position beside it."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from html import escape
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopnet.errors import ParameterError
from loopnet.site.humid import wet_bulb
from loopnet.site.place import Site
from loopnet.site.sun import sunlit

__all__ = ["COLUMNS", "Weather"]

Array = NDArray[np.float64]

COLUMNS = {"dni": "W/m2", "ghi": "W/m2", "dhi": "W/m2", "ambient": "K", "dew_point": "K", "wind": "m/s",
           "pressure": "Pa"}
"""What every weather has, with units."""


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Weather:
    """A stretch of weather, usually a year. Made by `read_weather` and `tamarisk_basin`; never changed afterwards.

    Attributes
    ----------
    name : str
        Short name for tables and charts.
    site : Site
        Where it was measured or made up.
    source : str
        Where the numbers come from.
    times : ndarray of datetime64[s], shape (n,)
        Start of each interval, in the site's standard time.
    columns : dict of ndarray, shape (n,)
        The columns of `COLUMNS`, read-only; `frame` shows them with their times.
    step : int
        Length of an interval [s].
    centre : float
        From the start of an interval to the moment its sun position is taken for [s]; half a step unless the file
        gives values of a moment.
    invented : bool
        True if no station ever measured this.
    notes : tuple of str
        Every repair and warning, with rows of the file.
    """

    name: str
    site: Site
    source: str
    times: NDArray[Any]
    columns: Mapping[str, Array]
    step: int = 3600
    centre: float = 1800.0
    invented: bool = False
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        times = np.array(self.times, "M8[s]")
        columns = {key: np.array(self.columns[key], float) for key in COLUMNS}
        for key, values in columns.items():
            if values.shape != times.shape or not np.isfinite(values).all():
                raise ParameterError("column does not match the times or holds numbers that are not finite",
                                     where=f"Weather.columns[{key!r}]", got=f"shape {values.shape}",
                                     allowed=f"{times.size} finite values", hint="read_weather, which reports rows")
            values.setflags(write=False)
        times.setflags(write=False)
        object.__setattr__(self, "times", times)
        object.__setattr__(self, "columns", columns)

    def __len__(self) -> int:
        return int(self.times.size)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Weather) and self.fingerprint == other.fingerprint

    def __hash__(self) -> int:
        return hash(self.fingerprint)

    @property
    def frame(self) -> Any:
        """DataFrame of `COLUMNS`, shape (n, 7), indexed by the start of the interval in standard time."""
        import pandas as pd

        index = pd.DatetimeIndex(self.times, name="start").tz_localize(self.site.tz)
        return pd.DataFrame(dict(self.columns), index=index)

    @property
    def sun(self) -> Any:
        """DataFrame, shape (n, 4): ``zenith``, ``apparent_zenith``, ``azimuth`` [rad] and ``up`` [-]; see `sunlit`."""
        import pandas as pd

        return pd.DataFrame(self._sun, index=self.frame.index)

    @cached_property
    def _sun(self) -> dict[str, Array]:
        return sunlit(self.times.astype("M8[ms]") + np.timedelta64(round(self.centre * 1000), "ms"), self.step,
                      self.site)

    @property
    def hour(self) -> Array:
        """Hours from 1 January 00:00 to the start of each interval, shape (n,) [h]."""
        return np.asarray((self.times - self.times.astype("M8[Y]")) / np.timedelta64(3600, "s"), float)

    def conditions(self) -> dict[str, Array]:
        """What a solver needs, as plain arrays of shape (n,).

        Returns
        -------
        dict
            ``dni``, ``ghi``, ``dhi`` [W/m2], ``ambient``, ``dew_point``, ``wet_bulb`` [K], ``wind`` [m/s], ``pressure``
            [Pa], ``zenith``, ``apparent_zenith``, ``azimuth`` [rad], ``up`` [-], ``hour`` [h].
        """
        bulb = wet_bulb(self.columns["ambient"], self.columns["dew_point"], self.columns["pressure"])
        return {**{key: values.copy() for key, values in self.columns.items()}, "wet_bulb": bulb,
                **{key: values.copy() for key, values in self._sun.items()}, "hour": self.hour}

    def to_frame(self) -> Any:
        """Everything in one DataFrame, shape (n, 12): `frame`, the wet bulb and the sun."""
        frame, conditions = self.frame, self.conditions()
        return frame.assign(**{key: values for key, values in conditions.items() if key not in (*COLUMNS, "hour")})

    def summary(self) -> dict[str, Any]:
        """The stretch in a few numbers, in the units people use (named in the keys).

        Returns
        -------
        dict
            Sums of sunlight [kWh/m2], means of the air [degC], [m/s], [Pa], hours of data, with the sun up, and with
            direct sun above 120 W/m2 (sunshine as the WMO defines it, WMO-No. 8 ch. 8) [h].
        """
        hours = self.step / 3600.0
        energy = {f"{key}_kwh_m2": float(self.columns[key].sum() * hours / 1000) for key in ("dni", "ghi", "dhi")}
        air, humid = self.columns["ambient"] - 273.15, self.columns["dew_point"] - 273.15
        return {"name": self.name, "invented": self.invented, "hours": len(self) * hours, **energy,
                "hours_sun_up": float(self._sun["up"].sum() * hours),
                "hours_sunshine": float((self.columns["dni"] > 120.0).sum() * hours),
                "dni_highest_w_m2": float(self.columns["dni"].max()),
                "ambient_mean_degc": float(air.mean()), "ambient_lowest_degc": float(air.min()),
                "ambient_highest_degc": float(air.max()), "dew_point_mean_degc": float(humid.mean()),
                "wind_mean_m_s": float(self.columns["wind"].mean()),
                "wind_highest_m_s": float(self.columns["wind"].max()),
                "pressure_mean_pa": float(self.columns["pressure"].mean()), "notes": len(self.notes)}

    def to_dict(self) -> dict[str, Any]:
        """`summary` with site, source, notes and fingerprint: what a report quotes."""
        return {**self.summary(), "site": self.site.to_dict(), "source": self.source, "step_s": self.step,
                "notes": list(self.notes), "fingerprint": self.fingerprint}

    @cached_property
    def fingerprint(self) -> str:
        """SHA-256 of site, times and columns: the same on every machine for the same data."""
        digest = hashlib.sha256()
        place = (self.site.latitude, self.site.longitude, self.site.altitude, self.site.offset, self.step, self.centre)
        digest.update(np.array(place, "<f8").tobytes())
        digest.update(self.times.astype("<i8").tobytes())
        for key in COLUMNS:
            digest.update(self.columns[key].astype("<f8").tobytes())
        return digest.hexdigest()

    def slice(self, start_hour: float, hours: float) -> Weather:
        """A shorter stretch.

        Parameters
        ----------
        start_hour : float
            Hours from the start of this weather to the start of the stretch [h].
        hours : float
            Length [h].

        Returns
        -------
        Weather
            With the same name, site and notes.

        Raises
        ------
        ParameterError
            If the stretch is empty, leaves this weather, or does not begin and end with an interval.
        """
        first, number = start_hour * 3600 / self.step, hours * 3600 / self.step
        if first % 1 or number % 1 or first < 0 or number < 1 or first + number > len(self):
            raise ParameterError("no such stretch", where="Weather.slice", got=f"{hours} h from hour {start_hour}",
                                 allowed=f"within 0 to {len(self) * self.step / 3600:g} h, in steps of {self.step} s",
                                 hint="a start and a length inside the data")
        part = slice(int(first), int(first + number))
        return replace(self, times=self.times[part], columns={k: v[part] for k, v in self.columns.items()})

    def with_site(self, site: Site | None = None, **changes: Any) -> Weather:
        """The same weather at another place, or with another notation of time.

        Parameters
        ----------
        site : Site, optional
            The new place; else this site with `changes`.
        **changes
            Fields of `Site`.

        Returns
        -------
        Weather
            The rows keep their moments: with another time zone the same moment gets another clock time. Marked as
            invented if the place moved.
        """
        new = replace(site or self.site, **changes)
        moved = (new.latitude, new.longitude, new.altitude) != (self.site.latitude, self.site.longitude,
                                                                self.site.altitude)
        note = (f"data of {self.site!r} used at {new!r}",) if moved else ()
        shift = np.timedelta64(round(new.offset - self.site.offset), "s")
        return replace(self, site=new, times=self.times + shift, invented=self.invented or moved,
                       notes=self.notes + note)

    def __repr__(self) -> str:
        hours = self.step / 3600
        return (f"Weather({self.name!r}, {len(self)} x {self.step} s from {self.times[0]}, "
                f"direct normal {self.columns['dni'].sum() * hours / 1000:.0f} kWh/m2, mean "
                f"{self.columns['ambient'].mean() - 273.15:.1f} degC{', invented' if self.invented else ''}, "
                f"{len(self.notes)} notes)")

    def _repr_html_(self) -> str:
        rows = {**self.summary(), "site": repr(self.site), "source": self.source}
        cells = "".join(f"<tr><th>{escape(key.replace('_', ' '))}</th><td>"
                        f"{escape(f'{value:.6g}' if isinstance(value, float) else str(value))}</td></tr>"
                        for key, value in rows.items())
        notes = "".join(f"<li>{escape(note)}</li>" for note in self.notes)
        return f"<table>{cells}</table><ul>{notes}</ul>" if notes else f"<table>{cells}</table>"
