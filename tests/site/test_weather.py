"""The weather object and the invented year."""

from __future__ import annotations

import pickle

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopnet.errors import ParameterError
from loopnet.site import Site, Weather, tamarisk_basin
from loopnet.site.sun import extraterrestrial


@pytest.mark.law
@settings(max_examples=20, deadline=None)
@given(start=st.integers(0, 8736), hours=st.integers(1, 24))
def test_demo_closes_and_stays_below_the_sun_outside(year, start, hours):
    part = year.slice(start, hours)
    c = part.conditions()
    both = c["dni"] * np.cos(c["zenith"]) + c["dhi"]
    assert c["ghi"] == pytest.approx(both, abs=0.051)  # written to 0.1 W/m2
    assert (c["dni"] <= extraterrestrial(part.times)).all()
    assert (c["dni"][c["zenith"] > np.pi / 2] == 0).all()
    assert ((c["up"] > 0) == (c["zenith"] < np.pi / 2)).all()
    assert (c["dew_point"] <= c["wet_bulb"] + 1e-6).all()
    assert (c["wet_bulb"] <= c["ambient"] + 1e-6).all()
    assert min(c[key].min() for key in ("dni", "ghi", "dhi", "wind")) >= 0
    # a stretch has the sun of the whole year's same hours
    assert (c["zenith"] == year.conditions()["zenith"][start:start + hours]).all()


def test_demo_is_what_it_says(year):
    total = year.summary()
    assert 2400 <= total["dni_kwh_m2"] <= 2600
    assert year.invented
    assert "nvented" in year.source + year.notes[0]
    assert total["hours"] == 8760 == len(year)
    assert -10 < total["ambient_lowest_degc"] < 5
    assert 33 < total["ambient_highest_degc"] < 45
    for key, scale, shift in (("ambient", 10, 273.15), ("dew_point", 10, 273.15), ("wind", 10, 0)):
        tenths = (year.columns[key] - shift) * scale
        assert tenths == pytest.approx(np.round(tenths), abs=1e-6)
    months = year.frame["dni"].groupby(year.frame.index.month).sum()
    assert months[5] > months[12]
    assert months[5] > months[7]  # the rains


def test_demo_is_the_same_every_time_and_on_every_machine(year):
    assert tamarisk_basin().fingerprint == year.fingerprint


@pytest.mark.frozen
def test_demo_has_not_changed(year):
    assert year.fingerprint.startswith("dfbcee76384fb5b6")


@pytest.mark.law
def test_fingerprint_sees_every_column_and_the_place(year):
    part = year.slice(0, 24)
    seen = {part.fingerprint, part.with_site(longitude=-107.4).fingerprint, year.slice(24, 24).fingerprint}
    for key in part.columns:
        changed = {**part.columns, key: part.columns[key] + np.eye(24)[5] * 0.1}
        seen.add(Weather(name="x", site=part.site, source="", times=part.times, columns=changed).fingerprint)
    assert len(seen) == 3 + len(part.columns)
    assert Weather(name="x", site=part.site, source="", times=part.times, columns=part.columns) == part


@pytest.mark.law
def test_another_notation_of_time_keeps_the_sun(year):
    part = year.slice(4000, 48)
    other = part.with_site(timezone="+05:30")
    assert other.frame.index[0] == part.frame.index[0]
    assert other.times[0] != part.times[0]
    assert (other.sun.to_numpy() == part.sun.to_numpy()).all()
    assert other.notes == part.notes
    moved = part.with_site(Site(name="south", latitude=-31.2, longitude=-107.3, altitude=1150, timezone=-7))
    assert moved.invented
    assert "used at" in moved.notes[-1]
    assert moved.sun["zenith"].iloc[12] != part.sun["zenith"].iloc[12]


def test_measured_weather_moved_elsewhere_is_invented(files):
    home = Site(name="Dry Fork", latitude=31.2, longitude=-105.0, altitude=1000, timezone=-7)
    plain = files.plain(home, "2023-06-01", "2023-06-02")
    assert not plain.with_site(timezone=-6).invented
    assert plain.with_site(altitude=1200).invented


def test_frozen_pickled_shown(year):
    part = year.slice(24, 48)
    with pytest.raises(AttributeError):
        part.name = "x"  # type: ignore[misc]
    with pytest.raises(ValueError):
        part.columns["dni"][0] = 1.0
    frame = part.frame
    frame.iloc[0, 0] = -5.0
    part.conditions()["dni"][:] = -5.0
    assert part.columns["dni"].min() >= 0
    again = pickle.loads(pickle.dumps(part))
    assert again == part
    assert (again.sun.to_numpy() == part.sun.to_numpy()).all()
    assert "\n" not in repr(part)
    assert "invented" in repr(part)
    assert "<table>" in part._repr_html_()
    assert "Invented data" in part._repr_html_()
    frame = part.to_frame()
    assert list(frame.columns) == ["dni", "ghi", "dhi", "ambient", "dew_point", "wind", "pressure", "wet_bulb",
                                   "zenith", "apparent_zenith", "azimuth", "up"]
    assert str(frame.index[0]) == "2001-01-02 00:00:00-07:00"
    assert part.conditions()["hour"][0] == 24.0
    assert part.to_dict()["fingerprint"] == part.fingerprint


@pytest.mark.parametrize(("start", "hours"), [(-1, 5), (8750, 24), (0, 0), (0.5, 3)])
def test_no_such_stretch(year, start, hours):
    with pytest.raises(ParameterError, match=r"Weather.slice: no such stretch"):
        year.slice(start, hours)


def test_broken_columns_are_refused(year):
    part = year.slice(0, 24)
    for bad in (np.full(24, np.nan), np.zeros(23)):
        with pytest.raises(ParameterError, match="dni"):
            Weather(name="x", site=part.site, source="", times=part.times, columns={**part.columns, "dni": bad})
