"""Places, the sun's position and moist air, against published examples and the laws they obey."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.errors import ParameterError
from loopnet.site import Site, dew_point, relative_humidity, wet_bulb
from loopnet.site.place import standard_pressure, utc_offset
from loopnet.site.sun import extraterrestrial, position, sunlit

few = settings(max_examples=25, deadline=None)


@pytest.mark.book
def test_solar_position_example():
    # Reda and Andreas, NREL/TP-560-34302 (rev. 2008), appendix example: zenith without refraction 50.127954 deg, with
    # it 50.111622 deg (820 mbar, 11 degC), azimuth 194.340241 deg. Seen. 1e-6 deg is the report's last digit; the
    # apparent one also carries our pressure (standard, 812 mbar) and 12 degC: 2e-4 deg of 0.0163 deg refraction.
    site = Site(latitude=39.742476, longitude=-105.1786, altitude=1830.14, timezone="Etc/GMT+7")
    sun = position(np.array(["2003-10-17T12:30:30"], "M8[s]"), site)
    assert np.degrees(sun["zenith"][0]) == pytest.approx(50.127954, abs=2e-6)
    assert np.degrees(sun["azimuth"][0]) == pytest.approx(194.340241, abs=2e-6)
    assert np.degrees(sun["apparent_zenith"][0]) == pytest.approx(50.111622, abs=3e-4)


@pytest.mark.book
def test_sunrise_and_sunset_of_the_example():
    # Same example: sunrise 06:12:43, sunset 17:20:19, seen. The report works in days of UTC, so the sunset is that of
    # the evening of the 16th in local time. Both are for 0.8333 deg below the horizon, which is
    # 0.8333 / (15 cos(latitude) sin(azimuth)) h, some 4.4 minutes, from the true horizon.
    # Tolerance 8 s: the parabola, the slope.
    site = Site(latitude=39.742476, longitude=-105.1786, altitude=1830.14, timezone=-7)
    up = [sunlit(np.datetime64(f"2003-10-{day}T00:30", "ms") + np.arange(24) * np.timedelta64(1, "h"), 3600, site)["up"]
          for day in (16, 17)]
    latitude, declination = np.radians(39.742476), np.radians([-9.0, -9.35])
    depth = 0.8333 / (15 * np.cos(latitude) * np.sin(np.arccos(np.sin(declination) / np.cos(latitude))))
    assert 17 + up[0][17] + depth[0] == pytest.approx(17 + (20 + 19 / 60) / 60, abs=8 / 3600)
    assert 7 - up[1][6] - depth[1] == pytest.approx(6 + (12 + 43 / 60) / 60, abs=8 / 3600)


@pytest.mark.book
@pytest.mark.parametrize(("altitude", "pressure"), [(0, 101325), (500, 95461), (1000, 89876), (3000, 70121)])
def test_standard_atmosphere(altitude, pressure):
    # U.S. Standard Atmosphere 1976, table of pressure: 95,461, 89,876 and 70,121 Pa (geometric height). From memory.
    # The handbook's fit is within 0.05 %.
    assert standard_pressure(altitude) == pytest.approx(pressure, rel=5e-4)


@pytest.mark.book
def test_wet_bulb_of_handbook_examples():
    # ASHRAE Handbook Fundamentals, psychrometrics, example 1: 40 degC dry bulb, 20 degC wet bulb, 101.325 kPa has a dew
    # point of 7 degC and 14 % humidity. From memory; both rounded to whole numbers, so 0.3 K.
    assert wet_bulb(313.15, 280.15, 101325.0) - 273.15 == pytest.approx(20.0, abs=0.3)
    assert relative_humidity(313.15, 280.15) == pytest.approx(0.14, abs=0.005)
    # Stull, J. Appl. Meteorol. Climatol. 50 (2011) 2267, worked example: 20 degC, 50 %: 13.7 degC. From memory; his
    # stated error is up to 0.65 K, 0.3 K near the middle of his range.
    assert wet_bulb(293.15, dew_point(293.15, 0.5), 101325.0) - 273.15 == pytest.approx(13.7, abs=0.3)


@pytest.mark.book
@pytest.mark.parametrize("pressure", [101325.0, 88240.0])
@pytest.mark.parametrize(("ambient", "humidity"), [(278.15, 0.8), (293.15, 0.2), (308.15, 0.1), (313.15, 0.4)])
def test_wet_bulb_against_moist_air_tables(ambient, humidity, pressure):
    # Computed with CoolProp's HAPropsSI (Herrmann, Kretzschmar and Gatley, ASHRAE RP-1485: thermodynamic wet bulb).
    # A ventilated psychrometer reads within a few tenths of it: 0.3 K.
    from CoolProp.HumidAirProp import HAPropsSI

    dew, bulb = (HAPropsSI(key, "T", ambient, "R", humidity, "P", pressure) for key in "DB")
    if dew > 273.15:  # below, its dew point is that of frost
        assert dew_point(ambient, humidity) == pytest.approx(dew, abs=0.1)
    assert wet_bulb(ambient, dew_point(ambient, humidity), pressure) == pytest.approx(bulb, abs=0.3)


@pytest.mark.book
def test_extraterrestrial():
    # Sun's distance on 3 January and 4 July: 0.9833 and 1.0167 AU (astronomical almanac, from memory), so 1366.1 W/m2
    # divided by its square; Spencer's series is good to 0.05 %.
    found = extraterrestrial(np.array(["2001-01-03", "2001-07-04"], "M8[D]"))
    assert found == pytest.approx([1366.1 / 0.9833**2, 1366.1 / 1.0167**2], rel=1e-3)


@pytest.mark.law
@few
@given(st.floats(-62, 62), st.floats(-180, 180), st.integers(0, 364), st.sampled_from([3600, 1800, 900]))
def test_lit_share_is_the_share_of_moments_with_sun(latitude, longitude, day, step):
    site = Site(latitude=latitude, longitude=longitude, timezone=round(longitude / 15))
    start = np.datetime64("2001-01-01", "ms") + np.timedelta64(day, "D")
    centres = start + (np.arange(86400 // step) * step * 1000 + step * 500).astype("m8[ms]")
    sun = sunlit(centres, step, site)
    fine = start + (np.arange(0, 86400, 30) * 1000 + 15000).astype("m8[ms]")
    light = (position(fine, site)["zenith"] < np.pi / 2).reshape(-1, step // 30)
    assert sun["up"] == pytest.approx(light.mean(axis=1), abs=40 / step)
    assert ((sun["up"] > 0) == (sun["zenith"] < np.pi / 2)).all()
    assert (sun["apparent_zenith"] <= sun["zenith"] + 1e-12).all()


@pytest.mark.law
@few
@given(st.floats(-89, 89), st.integers(0, 8759))
def test_same_moment_in_two_zones_has_the_same_sun(latitude, hour):
    here = Site(latitude=latitude, longitude=20, timezone="+05:30")
    there = Site(latitude=latitude, longitude=20, timezone="Etc/GMT+7")
    moment = np.array([np.datetime64("2001-01-01T00:00") + np.timedelta64(hour, "h")], "M8[s]")
    one, two = position(moment, here), position(moment - np.timedelta64(750, "m"), there)
    assert all((one[key] == two[key]).all() for key in one)


@pytest.mark.law
def test_middle_of_the_lit_part_where_the_sun_rises():
    site = Site(latitude=31.2, longitude=-105, timezone=-7)
    centres = np.datetime64("2001-03-05T00:30", "ms") + np.arange(24) * np.timedelta64(1, "h")
    sun = sunlit(centres, 3600, site)
    rising = np.flatnonzero((sun["up"] > 0) & (sun["up"] < 1))[0]
    middle = centres[rising] + np.timedelta64(round((1 - sun["up"][rising]) * 1.8e6), "ms")
    again = position(np.array([middle]), site)
    assert sun["zenith"][rising] == pytest.approx(again["zenith"][0], abs=1e-6)
    assert sun["azimuth"][rising] == pytest.approx(again["azimuth"][0], abs=1e-6)
    plain = position(centres, site)
    whole = sun["up"] == 1
    assert (sun["zenith"][whole] == plain["zenith"][whole]).all()


@pytest.mark.law
def test_polar_day_and_night():
    site = Site(latitude=80, longitude=0, timezone=0)
    noon = lambda date: np.datetime64(date, "ms") + np.arange(24) * np.timedelta64(1, "h")  # noqa: E731
    assert (sunlit(noon("2001-06-21"), 3600, site)["up"] == 1).all()
    assert (sunlit(noon("2001-12-21"), 3600, site)["up"] == 0).all()


@pytest.mark.law
@few
@given(st.floats(250, 325), st.floats(0.02, 1), st.floats(60000, 105000))
def test_wet_bulb_lies_between_dew_point_and_dry_bulb(ambient, humidity, pressure):
    dew = float(dew_point(ambient, humidity))
    bulb = float(wet_bulb(ambient, dew, pressure))
    assert dew - 1e-6 <= bulb <= ambient + 1e-6
    assert relative_humidity(ambient, dew) == pytest.approx(humidity, rel=1e-9)
    assert wet_bulb(ambient, ambient, pressure) == pytest.approx(ambient, abs=1e-6)
    assert wet_bulb(ambient, dew, pressure * 0.9) <= bulb + 1e-9


def test_zones_as_people_write_them():
    assert [utc_offset(z) for z in ("Etc/GMT+7", -7, "UTC-7", "UTC-07:00", "-07:00", "America/Phoenix")] == [-7.0] * 6
    assert [utc_offset(z) for z in ("UTC", "Asia/Kolkata", "+05:45", "Etc/GMT-9")] == [0.0, 5.5, 5.75, 9.0]
    assert Site(latitude=0, longitude=0, timezone="Etc/GMT+7") == Site(latitude=0, longitude=0, timezone=-7)


@pytest.mark.parametrize("zone", ["America/Denver", "Tamarisk/Basin", 15, float("nan"), None, "../etc/passwd"])
def test_bad_zone_is_refused(zone):
    with pytest.raises(ParameterError) as caught:
        Site(latitude=0, longitude=0, timezone=zone)
    assert caught.value.where == "Site.timezone"
    assert caught.value.hint
    assert caught.value.allowed


def test_site_round_trip_and_range():
    site = Site(name="A", latitude="31.2 deg", longitude=-107.3, altitude="1.15 km", timezone=-7)
    assert site.altitude == 1150
    assert Site(**site.to_dict()) == site
    with pytest.raises(ParameterError, match=r"Site.latitude: out of range; got 131.2 deg"):
        Site(latitude=131.2, longitude=0)
