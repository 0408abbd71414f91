"""Weather files that are good: three formats, their hours, zones, leap years, and pvlib's own reading beside ours."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pvlib
import pytest

from loopnet.site import Site, read_weather

SHIPPED = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
HOME = Site(name="Dry Fork", latitude=31.2, longitude=-105.0, altitude=1000, timezone=-7)


@pytest.mark.book
def test_shipped_typical_year_against_pvlib():
    # TMY3 file 723170 as shipped with pvlib; read by pvlib.iotools.read_tmy3, the reference library (computed). Direct
    # normal 1,477 kWh/m2 a year, computed from it. Equal but for three rows with 2 to 5 W/m2 at night, noted.
    w = read_weather(SHIPPED)
    reference, place = pvlib.iotools.read_tmy3(SHIPPED)
    assert (w.site.latitude, w.site.longitude, w.site.altitude, w.site.timezone) == tuple(
        place[key] for key in ("latitude", "longitude", "altitude", "TZ"))
    changed = w.columns["dni"] != reference["dni"].to_numpy()
    assert changed.sum() == 3
    assert reference["dni"].to_numpy()[changed].max() < 20
    assert "rows 1149, 1173, 7617, DNI (W/m^2): direct sun while the sun is down; set to 0" in w.notes
    assert w.summary()["dni_kwh_m2"] == pytest.approx(1477, abs=1)
    for key, name, scale, shift in (("ghi", "ghi", 1, 0), ("dhi", "dhi", 1, 0), ("ambient", "temp_air", 1, 273.15),
                                    ("dew_point", "temp_dew", 1, 273.15), ("wind", "wind_speed", 1, 0),
                                    ("pressure", "pressure", 100, 0)):
        assert w.columns[key] == pytest.approx(reference[name].to_numpy() * scale + shift, abs=1e-3)
    assert "typical year, months from 10 years" in w.notes[0]
    assert str(w.frame.index[0]) == "2001-01-01 00:00:00-05:00"
    assert str(w.frame.index[-1]) == "2001-12-31 23:00:00-05:00"


@pytest.mark.book
def test_hours_of_the_shipped_year_fit_the_sun():
    # The file's own global, direct and diffuse close best when the sun is taken where our convention says (end-of-hour
    # stamps, middle of the lit part), and worse when the rows are moved by one hour either way. Computed.
    w = read_weather(SHIPPED)
    height = np.maximum(np.cos(w.conditions()["zenith"]), 0)
    c = w.columns
    error = [np.abs(c["ghi"] - c["dni"] * np.roll(height, move) - c["dhi"]).sum() / c["ghi"].sum()
             for move in (-1, 0, 1)]
    assert error[1] < 0.03
    assert min(error[0], error[2]) > 3 * error[1]


@pytest.mark.parametrize("kind", ["epw", "tmy3", "nsrdb"])
def test_the_same_year_in_three_formats(files, year, kind, request):
    # the suffix does not matter; written and read back, every number and every moment is the same
    w = read_weather(files.write(request.getfixturevalue(f"{kind}_lines"), "year.dat", end="\r\n"))
    assert w.fingerprint == year.fingerprint
    assert not w.invented
    assert w.notes == ()
    assert (w.sun.to_numpy() == year.sun.to_numpy()).all()
    assert year.name in w.name or kind == "nsrdb"
    strict = read_weather(files.write(request.getfixturevalue(f"{kind}_lines")), repair=False)
    assert strict == w


@pytest.mark.law
def test_noon_is_in_the_middle_of_the_day(files):
    # On the zone's meridian, in mid April, sun and clock agree (equation of time 0): hours 12 and 13 of an EPW file
    # (11:00-12:00 and 12:00-13:00) mirror each other, and so do all others.
    w = read_weather(files.write(files.epw(files.plain(HOME, "2023-01-01", "2024-01-01"))))
    day = w.slice(104 * 24, 24).conditions()
    assert day["zenith"] == pytest.approx(day["zenith"][::-1], abs=8e-3)  # the declination moves
    assert day["up"] == pytest.approx(day["up"][::-1], abs=0.02)
    assert set(day["zenith"].argsort()[:2]) == {11, 12}
    assert day["azimuth"][8] < np.pi < day["azimuth"][15]
    assert w.columns["dni"][104 * 24 + 11] == 600


@pytest.mark.law
def test_file_zones_of_the_same_moments_have_the_same_sun(files):
    local = files.plain(HOME, "2023-01-01", "2024-01-01")
    shifted = local.with_site(timezone=-5)
    one = read_weather(files.write(files.nsrdb(local)))
    two = read_weather(files.write(files.nsrdb(shifted), "later.csv"), partial=True)
    assert two.site.timezone == -5
    assert (one.frame.index == two.frame.index).all()
    assert (one.sun.to_numpy() == two.sun.to_numpy()).all()


@pytest.mark.parametrize("minutes", [30, 15, 5])
def test_steps_below_an_hour(files, minutes):
    plain = files.plain(HOME, "2023-06-01", "2023-06-08", minutes * 60)
    for kind in ("nsrdb", "epw"):
        lines = files.epw(plain) if kind == "epw" else files.nsrdb(plain, minute=15 if minutes == 30 else 0)
        w = read_weather(files.write(lines, f"{kind}.csv"), partial=True)
        assert (w.step, len(w)) == (minutes * 60, 7 * 1440 // minutes)
        assert (w.times == plain.times).all()
        moment = minutes != 30 and kind == "nsrdb"
        assert w.centre == (0 if moment else minutes * 30)
        assert any("values of that moment" in note for note in w.notes) is moment
        if not moment:
            assert (w.sun.to_numpy() == plain.sun.to_numpy()).all()
        assert w.summary()["dni_kwh_m2"] == pytest.approx(plain.summary()["dni_kwh_m2"], rel=0.01)


def test_leap_year_keeps_its_hours(files):
    w = read_weather(files.write(files.nsrdb(files.plain(HOME, "2024-01-01", "2025-01-01"))))
    assert len(w) == 8784
    assert w.frame.index[59 * 24].strftime("%m-%d") == "02-29"
    assert (w.sun.to_numpy()[-24:] == files.plain(HOME, "2024-12-31", "2025-01-01").sun.to_numpy()).all()


def test_leap_year_without_its_day(files):
    lines = [line for line in files.nsrdb(files.plain(HOME, "2024-01-01", "2025-01-01"))
             if not line.startswith("2024,2,29")]
    w = read_weather(files.write(lines))
    assert len(w) == 8760
    assert any("2024-02-29 is left out" in note for note in w.notes)
    assert (w.sun.to_numpy()[-24:] == files.plain(HOME, "2024-12-31", "2025-01-01").sun.to_numpy()).all()


def test_typical_year_with_months_of_leap_years(files, tmy3_lines):
    years = (1988, 2000, 1991, 1976, 2003, 1996, 1999, 1980, 1980, 1985, 2001, 2004)
    lines = tmy3_lines[:2] + [line[:6] + str(years[int(line[:2]) - 1]) + line[10:] for line in tmy3_lines[2:]]
    w = read_weather(files.write(lines))
    assert len(w) == 8760
    assert "months from 11 years (1976 to 2004)" in w.notes[0]
    assert w.fingerprint == read_weather(files.write(tmy3_lines)).fingerprint


def test_latin_1_names_and_byte_order_marks(files, epw_lines):
    lines = [epw_lines[0].replace("Tamarisk Basin", "Valle del Sueño"), *epw_lines[1:]]
    w = read_weather(files.write(lines, encoding="latin-1"))
    assert w.name.startswith("Valle del Sueño")
    assert w.notes == ("row 1: byte 0xf1 is not UTF-8; the file is read as Latin-1",)
    for encoding in ("utf-8", "utf-8-sig"):
        again = read_weather(files.write(lines, encoding=encoding))
        assert (again.name, again.notes) == (w.name, ())


def test_short_gaps_are_filled_and_noted(files, epw_lines):
    # noon of 1 June: rows 8 + 151 * 24 + 12 and on
    row = 8 + 151 * 24 + 12
    lines = epw_lines
    for at in (row, row + 1, row + 2):
        lines = files.put(lines, at, 14, "9999")
    lines = files.put(lines, row + 40, 6, "")
    lines = files.put(lines, 9, 14, "9999")  # at night
    lines = files.put(lines, 8 + 8760, 21, "999")
    w = read_weather(files.write(lines))
    dni = w.columns["dni"][row - 10:row - 5]
    assert dni == pytest.approx(np.linspace(dni[0], dni[-1], 5))
    assert w.columns["wind"][-1] == w.columns["wind"][-2]
    ambient = w.columns["ambient"][row + 30:row + 33]
    assert ambient[1] == pytest.approx((ambient[0] + ambient[2]) / 2, abs=1e-4)
    assert [note.split(":")[0] for note in w.notes] == [
        "row 9, direct normal (15)", f"rows {row}-{row + 2}, direct normal (15)", f"row {row + 40}, dry bulb (7)",
        "row 8768, wind speed (22)"]


def test_what_a_file_may_lack(files, year, nsrdb_lines):
    def without(lines, *places, rename=None):
        out = [",".join(c for i, c in enumerate(line.split(",")) if i not in places) for line in lines[2:]]
        return [*lines[:2], out[0].replace(*rename) if rename else out[0], *out[1:]]

    w = read_weather(files.write(without(nsrdb_lines, 10)))
    assert w.columns["pressure"] == pytest.approx(year.site.pressure)
    assert any("no pressure in the file" in note for note in w.notes)
    humid = [line if i < 3 else files.put([line], 1, 8, "50") [0] for i, line in enumerate(nsrdb_lines)]
    w = read_weather(files.write(without(humid, rename=("Dew Point", "Relative Humidity"))))
    assert any("computed from dry bulb and relative humidity" in note for note in w.notes)
    assert (w.columns["dew_point"] < w.columns["ambient"]).all()


def test_warnings_of_a_strange_zone_and_mixed_up_columns(files):
    plain = files.plain(HOME, "2023-01-01", "2024-01-01")
    utc = read_weather(files.write(files.nsrdb(plain.with_site(timezone=0))), partial=True)
    assert any("the time zone, +0 h, is 7.0 h from the sun's" in note for note in utc.notes)
    dim = replace(plain, columns={**plain.columns, "ghi": np.round(0.8 * plain.columns["ghi"], 1)})
    mixed = read_weather(files.write(files.nsrdb(dim)))
    assert any("columns may be mixed up" in note for note in mixed.notes)
