"""Weather files written for the tests: the demo year, or a plain clear one, in three formats."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from loopnet.site import Site, Weather, tamarisk_basin
from loopnet.site.sun import sunlit

TMY3_HEAD = ("Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),DNI (W/m^2),DHI (W/m^2),Dry-bulb (C),Dew-point (C),RHum (%),"
             "Pressure (mbar),Wspd (m/s)")
NSRDB_HEAD = "Year,Month,Day,Hour,Minute,DHI,DNI,GHI,Dew Point,Temperature,Pressure,Wind Speed,Cloud Type"


class Files:
    """Writes weather as text, and text as files."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def write(self, lines: list[str], name: str = "year.csv", encoding: str = "utf-8", end: str = "\n") -> Path:
        path = self.folder / name
        path.write_bytes((end.join(lines) + end).encode(encoding))
        return path

    @staticmethod
    def plain(site: Site, start: str, end: str, step: int = 3600) -> Weather:
        """A dull but possible stretch: 600 W/m2 whenever the sun is up."""
        times = np.arange(np.datetime64(start, "s"), np.datetime64(end, "s"), np.timedelta64(step, "s"))
        sun = sunlit(times.astype("M8[ms]") + np.timedelta64(step * 500, "ms"), step, site)
        dni = np.where(sun["up"] == 1, 600.0, 0.0)
        dhi = np.where(sun["up"] == 1, 80.0, 0.0)
        full = np.full(times.size, 1.0)
        return Weather(name=site.name, site=site, times=times, step=step, centre=step / 2, source="test", columns={
            "dni": dni, "dhi": dhi, "ghi": np.round(dni * np.cos(sun["zenith"]) + dhi, 1), "ambient": 293.25 * full,
            "dew_point": 278.35 * full, "wind": 3.1 * full, "pressure": 90100 * full})

    @staticmethod
    def epw(w: Weather) -> list[str]:
        s = w.site
        head = [f"LOCATION,{s.name},-,Nowhere,test,0,{s.latitude},{s.longitude},{s.timezone},{s.altitude}",
                "DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0",
                "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,invented", "COMMENTS 2,",
                f"DATA PERIODS,1,{3600 // w.step},Data,Sunday, 1/ 1,12/31"]
        return head + [
            f"{t.year},{t.month},{t.day},{t.hour + 1},{(t.minute + w.step // 60) if w.step < 3600 else 0},?9,"
            f"{a:.1f},{d:.1f},50,{p:.0f},0,0,300,{g},{b},{f},0,0,0,0,0,{v:.1f},0,0,9999,99999,9,999999999,0,0,0,88,0,0,0"
            for t, b, g, f, a, d, v, p in _rows(w)]

    @staticmethod
    def tmy3(w: Weather) -> list[str]:
        s = w.site
        return [f'0,"{s.name}",XX,{s.timezone},{s.latitude},{s.longitude},{s.altitude}', TMY3_HEAD] + [
            f"{t:%m/%d/%Y},{t.hour + 1:02d}:00,{g},{b},{f},{a:.1f},{d:.1f},50,{p / 100:.1f},{v:.1f}"
            for t, b, g, f, a, d, v, p in _rows(w)]

    @staticmethod
    def nsrdb(w: Weather, minute: int | None = None) -> list[str]:
        s, late = w.site, w.step // 120 if minute is None else minute
        return ["Source,Location ID,City,State,Country,Latitude,Longitude,Time Zone,Elevation,Local Time Zone",
                f"made up,1,-,-,-,{s.latitude},{s.longitude},{s.timezone},{s.altitude},{s.timezone}", NSRDB_HEAD] + [
            f"{t.year},{t.month},{t.day},{t.hour},{t.minute + late},{f},{b},{g},{d:.1f},{a:.1f},{p / 100:.1f},{v:.1f},"
            for t, b, g, f, a, d, v, p in _rows(w)]

    @staticmethod
    def put(lines: list[str], row: int, column: int, text: str) -> list[str]:
        """A copy with one cell replaced; row counted from 1, column from 0."""
        cells = lines[row - 1].split(",")
        cells[column] = text
        return [*lines[:row - 1], ",".join(cells), *lines[row:]]


def _rows(w: Weather):
    c = w.columns
    return zip(w.times.astype("M8[s]").tolist(), c["dni"], c["ghi"], c["dhi"], c["ambient"] - 273.15,
               c["dew_point"] - 273.15, c["wind"], c["pressure"], strict=True)


@pytest.fixture(scope="session")
def year() -> Weather:
    return tamarisk_basin()


@pytest.fixture
def files(tmp_path: Path) -> Files:
    return Files(tmp_path)


@pytest.fixture(scope="session")
def epw_lines(year: Weather) -> list[str]:
    return Files.epw(year)


@pytest.fixture(scope="session")
def tmy3_lines(year: Weather) -> list[str]:
    return Files.tmy3(year)


@pytest.fixture(scope="session")
def nsrdb_lines(year: Weather) -> list[str]:
    return Files.nsrdb(year)
