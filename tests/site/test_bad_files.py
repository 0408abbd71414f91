"""Weather files that are bad: each refused with what, where, got, allowed and what to try; no traceback of pandas."""

from __future__ import annotations

import pickle
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loopnet.errors import DataError
from loopnet.site import Site, read_weather

HOME = Site(name="Dry Fork", latitude=31.2, longitude=-105.0, altitude=1000, timezone=-7)


def refused(path, what, where="", got="", **options):
    """Read, expect a refusal with all its facts, and compare three of them."""
    with pytest.raises(DataError) as caught:
        read_weather(path, **options)
    error = caught.value
    assert re.search(what, error.what), error
    assert re.search(where, error.where), error
    assert re.search(got, error.got), error
    assert error.where
    assert error.hint, error
    assert error.allowed or "Latin" in error.what, error
    assert "Traceback" not in str(error)
    assert str(pickle.loads(pickle.dumps(error))) == str(error)
    return error


def test_no_file_folder_empty(files, tmp_path, epw_lines):
    files.write(epw_lines[:3], "valley.epw")
    error = refused(tmp_path / "vally.epw", "no such file", "vally.epw")
    assert error.hint == "did you mean valley.epw"
    refused(tmp_path / "nowhere" / "x.epw", "no such file")
    refused(tmp_path, "not a file", got="a folder")
    refused("/dev/null", "not a file", got="not a regular file")
    refused("bad\0name", "no such file|cannot be read")
    for content in (b"", b" \n\n"):
        (tmp_path / "empty.epw").write_bytes(content)
        refused(tmp_path / "empty.epw", "empty", "empty.epw", f"{len(content)} bytes")


@pytest.mark.parametrize(("data", "got"), [
    (b"PK\x03\x04 and so on", "zip"), (b"\x1f\x8b\x08\x00abc", "gzip"), ("LOCATION,A".encode("utf-16"), "UTF-16"),
    (b"LOCATION,\x00\x01\x02", "binary"), (b"LOCATION,A\x07", "byte 0x07 at position 10")])
def test_not_text(tmp_path, data, got):
    (tmp_path / "x.epw").write_bytes(data)
    refused(tmp_path / "x.epw", "not a text file", got=got)


@pytest.mark.parametrize("text", ["hello", "<html>\n<body>\n", '{"dni": [1, 2]}', "a,b,c\n1,2,3\n4,5,6\n"])
def test_not_weather(files, text):
    refused(files.write([text]), "not a weather format", "row 1", text[:5].replace("{", r"\{"))


@pytest.mark.parametrize("kind", ["epw", "tmy3", "nsrdb"])
class TestEveryFormat:
    @pytest.fixture
    def lines(self, kind, request):
        return request.getfixturevalue(f"{kind}_lines")

    @pytest.fixture
    def head(self, kind):
        return {"epw": 8, "tmy3": 2, "nsrdb": 3}[kind]

    def test_headers_only(self, files, lines, head):
        refused(files.write(lines[:head]), "ends after its headers", f"row {head}")

    def test_broken_off_in_mid_line(self, files, lines, head):
        cut = [*lines[:1000], lines[1000][:len(lines[1000]) // 2]]
        refused(files.write(cut), "the last row breaks off", "row 1001", "values")

    def test_lost_comma(self, files, lines):
        bad = [*lines[:99], lines[99].replace(",", "", 1), *lines[100:]]
        refused(files.write(bad), "wrong number of values", "row 100$", f"{lines[99].count(',')} values")
        bad = [*lines[:99], lines[99] + ",7", *lines[100:]]
        refused(files.write(bad), "wrong number of values", "row 100$")

    def test_8759_rows(self, files, lines, head, kind):
        # 10 March 02:00-03:00 is the hour with 0-based number 68 * 24 + 2
        at = head + 68 * 24 + 2
        clock = "02:30" if kind == "nsrdb" else "03:00"
        refused(files.write(lines[:at] + lines[at + 1:]), f"2001-03-10 {clock} is missing", f"row {at + 1}$",
                "8759 rows, 1 missing")

    def test_first_or_last_row_lost(self, files, lines, head, kind):
        first, last = ("00:30", "23:30") if kind == "nsrdb" else ("01:00", "24:00")
        refused(files.write(lines[:head] + lines[head + 1:]), f"2001-01-01 {first} is missing", f"row {head + 1}$")
        refused(files.write(lines[:-1]), f"2001-12-31 {last} is missing", f"row {head + 8760}$", "8759 rows")

    def test_part_of_a_year(self, files, lines, head):
        path = files.write(lines[:head + 100])
        refused(path, "is missing", f"row {head + 101}", "100 rows")
        assert len(read_weather(path, partial=True)) == 100
        refused(files.write(lines[:head + 50] + lines[head + 53:head + 100]), "to 2001-01-03 0[45]:[03]0 is missing",
                partial=True)

    def test_double_and_unsorted_rows(self, files, lines, head):
        at = head + 500
        refused(files.write([*lines[:at], lines[at - 1], *lines[at:]]), "is there 2 times", f"rows {at}-{at + 1}$")
        refused(files.write([*lines[:at], lines[at + 1], lines[at], *lines[at + 2:]]), "not in the order of time",
                f"rows {at + 1}-{at + 2}$")

    def test_text_for_a_number(self, files, lines, kind):
        column = {"epw": 14, "tmy3": 3, "nsrdb": 6}[kind]
        label = {"epw": r"direct normal \(15\)", "tmy3": r"DNI \(W/m\^2\)", "nsrdb": "DNI"}[kind]
        refused(files.write(files.put(lines, 200, column, "sunny")), "text where a number", f"row 200, column {label}$",
                "'sunny'")
        refused(files.write(files.put(lines, 200, column, "1_000")), "text where a number", "row 200", "'1_000'")

    def test_nan_stretch(self, files, lines, kind, head):
        column = {"epw": 6, "tmy3": 5, "nsrdb": 9}[kind]
        bad = lines = lines[:head + 744]
        for row in range(300, 304):
            bad = files.put(bad, row, column, "NaN")
        refused(files.write(bad), "a gap of 4 rows: values missing", "rows 300-303", "blank", partial=True)
        path = files.write(files.put(lines, 300, column, ""))
        assert "row 300" in read_weather(path, partial=True).notes[0]
        refused(path, "missing", "row 300", repair=False, partial=True)

    def test_site_off_the_earth(self, files, lines, kind):
        row, column = {"epw": (1, 6), "tmy3": (1, 4), "nsrdb": (2, 5)}[kind]
        refused(files.write(files.put(lines, row, column, "131.2")), "not on earth: out of range", "latitude",
                "131.2 deg")
        refused(files.write(files.put(lines, row, column, "north")), "lacks a number",
                f"row {row}, column latitude|Latitude", "'north'")

    def test_no_such_time(self, files, lines, kind):
        column, text = {"epw": (1, "13"), "tmy3": (0, "13/01/2001"), "nsrdb": (1, "13")}[kind]
        refused(files.write(files.put(lines, 400, column, text)), "no such time", "row 400, column month", "13")
        column, text = {"epw": (3, "noon"), "tmy3": (1, "noon"), "nsrdb": (3, "noon")}[kind]
        refused(files.write(files.put(lines, 400, column, text)), "not a (whole number|time stamp)", "row 400, column",
                "noon")
        column, text = {"epw": (3, "25"), "tmy3": (1, "25:00"), "nsrdb": (3, "24")}[kind]
        refused(files.write(files.put(lines, 400, column, text)), "no such time", "row 400, column hour", "2[45]")

    @pytest.mark.parametrize(("cell", "text", "reason"), [
        ("dni", "-5", "outside the limits"), ("dni", "1600", "outside the limits"), ("wind", "-1", "outside the"),
        ("wind", "61", "outside the limits"), ("ambient", "75", "outside"), ("dew", "38", "above dry bulb"),
        ("dhi", "900", "outside"), ("ghi", "inf", "outside")])
    def test_nonsense_is_refused_or_filled(self, files, lines, head, kind, cell, text, reason):
        column = {"epw": {"dni": 14, "wind": 21, "ambient": 6, "dew": 7, "ghi": 13, "dhi": 15},
                  "tmy3": {"dni": 3, "wind": 9, "ambient": 5, "dew": 6, "ghi": 2, "dhi": 4},
                  "nsrdb": {"dni": 6, "wind": 11, "ambient": 9, "dew": 8, "ghi": 7, "dhi": 5}}[kind][cell]
        noon, lines = head + 20 * 24 + 12, lines[:head + 744]
        path = files.write(files.put(lines, noon, column, text))
        refused(path, reason, f"row {noon},", repair=False, partial=True)
        w = read_weather(path, partial=True)
        assert f"row {noon}," in w.notes[0]
        assert reason in w.notes[0]
        long = lines
        for row in range(noon - 2, noon + 2):
            long = files.put(long, row, column, text)
        refused(files.write(long), f"a gap of 4 rows: values .*{reason}", f"rows {noon - 2}-{noon + 1}",
                partial=True)


def test_missing_or_renamed_column(files, tmy3_lines, nsrdb_lines):
    head = tmy3_lines[1].replace("DNI (W/m^2)", "DNI (Wh/m^2)")
    error = refused(files.write([tmy3_lines[0], head, *tmy3_lines[2:]]), "a column is missing", r"row 2, column DNI")
    assert "rename 'DNI (Wh/m^2)'" in error.hint
    head = nsrdb_lines[2].replace("Wind Speed", "Wind")
    refused(files.write([*nsrdb_lines[:2], head, *nsrdb_lines[3:]]), "a column is missing", "row 3, column Wind Speed")
    head = nsrdb_lines[2].replace("GHI", "DNI")
    refused(files.write([*nsrdb_lines[:2], head, *nsrdb_lines[3:]]), "a column is missing", "column GHI")
    head = nsrdb_lines[2].replace("Cloud Type", "DNI")
    refused(files.write([*nsrdb_lines[:2], head, *nsrdb_lines[3:]]), "twice", "column DNI")
    head = nsrdb_lines[0].replace("Time Zone", "Zone")
    refused(files.write([head, *nsrdb_lines[1:]]), "lacks a number|missing", "Time Zone")
    refused(files.write(nsrdb_lines[:2]), "ends within its headers", "row 2")


def test_epw_header_cut_short(files, epw_lines):
    refused(files.write(epw_lines[:5]), "eight lines", "row 5")
    refused(files.write(epw_lines[:6] + epw_lines[7:]), "eight lines", "row 8")


def test_wrong_zone_shows_in_the_sun(files, epw_lines):
    wrong = [epw_lines[0].replace(",-7.0,", ",7.0,"), *epw_lines[1:]]
    error = refused(files.write(wrong), "direct sun while the sun is below the horizon", "direct normal",
                    "% of the direct")
    assert "time zone" in error.hint
    east = [epw_lines[0].replace(",-107.3,", ",107.3,"), *epw_lines[1:]]
    refused(files.write(east), "below the horizon")


def test_too_much_is_bad(files, epw_lines):
    bad = [line if row < 9 or row % 6 else files.put([line], 1, 21, "999")[0] for row, line in enumerate(epw_lines, 1)]
    refused(files.write(bad), "too many values", "wind speed", "of 8760")


def test_leap_year_lacks_an_hour(files):
    lines = files.nsrdb(files.plain(HOME, "2024-01-01", "2025-01-01"))
    at = 3 + 59 * 24 + 5
    refused(files.write(lines[:at] + lines[at + 1:]), "2024-02-29 05:30 is missing", f"row {at + 1}", "8783 rows")
    assert "8784 rows" in refused(files.write(lines[:-1]), "2024-12-31 23:30 is missing").allowed


def test_uneven_steps(files):
    lines = files.nsrdb(files.plain(HOME, "2023-06-01", "2023-06-03"))
    refused(files.write(files.put(lines, 20, 4, "31")), "does not fit into the steps", "row 20, column minute", "31",
            partial=True)
    seven = [line for i, line in enumerate(files.nsrdb(files.plain(HOME, "2023-06-01", "2023-06-03", 60)))
             if i < 3 or (i - 3) % 7 == 0]
    refused(files.write(seven), "does not divide an hour", got="7 minutes", partial=True)


@pytest.mark.parametrize("kind", ["epw", "tmy3", "nsrdb"])
@pytest.mark.parametrize("text", ["99999999999999999999", "1e400", "-1", "2.5"])
def test_stamps_beyond_any_number(files, kind, text, request):
    lines = request.getfixturevalue(f"{kind}_lines")[:200]
    refused(files.write(files.put(lines, 100, 1, text)), "whole number|no such time|not a time stamp",
            "row 100, column", partial=True)


@pytest.mark.law
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(kind=st.sampled_from(["epw", "tmy3", "nsrdb"]), place=st.floats(0, 1), number=st.integers(0, 9),
       scrap=st.sampled_from([b"", b",", b"\n", b"\r", b'"', b"nan", b"1e400", b"\xe9", b"-9900", b"9999999999999999"]))
def test_a_damaged_file_is_read_or_refused(files, year, kind, place, number, scrap):
    """Whatever a transfer does to a file, the answer is weather or a DataError with where and hint."""
    data = ("\n".join(getattr(files, kind)(year.slice(0, 72))) + "\n").encode()
    at = round(place * len(data))
    path = files.folder / "damaged.csv"
    path.write_bytes(data[:at] + scrap + data[at + number:])
    try:
        assert 0 < len(read_weather(path, partial=True)) <= 72
    except DataError as error:
        assert error.where.startswith("damaged.csv")  # noqa: PT017
        assert error.hint  # noqa: PT017
