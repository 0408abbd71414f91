"""Files of prices and demands: what is read, and what is said about files that cannot be used."""

from __future__ import annotations

import numpy as np
import pytest

from loopnet.errors import DataError, ParameterError
from loopnet.year import LoadProfile, PriceSeries, Series, read_series
from loopnet.year.series import series_of

PRICE = {"unit": "USD/J", "low": -1e-5, "high": 1e-5}
SHARE = {"unit": "-", "low": 0.0, "high": 1.0}


def written(folder, text):
    path = folder / "made.csv"
    path.write_text(text, encoding="utf-8")
    return path


def table(heading, values, first=0):
    return "\n".join([heading, *(f"{hour},{value}" for hour, value in enumerate(values, first))]) + "\n"


# 36 USD/MWh is 1e-8 USD/J, by hand; 50 % is 0.5.
@pytest.mark.book
@pytest.mark.parametrize(("heading", "number", "asked", "value"), [
    ("hour, price [USD/MWh]", 36.0, PRICE, 1e-8), ("hour, price [USD/kWh]", 0.036, PRICE, 1e-8),
    ("hour, demand [%]", 50.0, SHARE, 0.5), ("hour, demand [-]", 0.5, SHARE, 0.5)])
def test_the_heading_gives_the_unit(tmp_path, heading, number, asked, value):
    for first in (0, 1):
        read = read_series(written(tmp_path, "# made up\n" + table(heading, [number] * 24, first)), **asked)
        np.testing.assert_allclose(read.values, value, rtol=1e-12)
        assert read.name == "made.csv"


def test_one_column_and_a_whole_year_will_do(tmp_path):
    values = np.random.default_rng(1).random(8760).round(6)
    path = written(tmp_path, "\n".join(["demand [-]", *map(str, values)]))
    np.testing.assert_array_equal(LoadProfile(demand=path).demand.values, values)


@pytest.mark.parametrize(("text", "what", "where", "got"), [
    ("", "holds nothing", "made.csv", "no lines"),
    (table("hour, price", [1.0] * 24), "no unit", "line 1", "' price'".replace(" ", "")),
    (table("hour, price [EUR/t]", [1.0] * 24), "unit does not fit", "line 1", "[EUR/t]"),
    (table("hour, price [USD/MWh]", [1.0] * 23), "number of hours", "made.csv", "23 lines"),
    (table("hour, price [USD/MWh]", [1.0] * 8784), "number of hours", "made.csv", "8784 lines"),
    (table("hour, price [USD/MWh]", [1.0] * 24, first=3), "not in order", "line 2", "3"),
    (table("hour, price [USD/MWh]", [1.0] * 24).replace("\n7,", "\n9,"), "not in order", "line 9", "9"),
    (table("hour, price [USD/MWh]", [*[1.0] * 5, "", *[1.0] * 18]), "not a finite number", "line 7", "''"),
    (table("hour, price [USD/MWh]", [*[1.0] * 5, "nan", *[1.0] * 18]), "not a finite number", "line 7", "nan"),
    (table("hour, price [USD/MWh]", [*[1.0] * 5, "1,5", *[1.0] * 18]), "another length", "line 7", "3 columns"),
    (table("hour, price [USD/MWh]", [*[1.0] * 5, 1e9, *[1.0] * 18]), "out of range", "line 7", "1000000000"),
    (table("day, hour, price [USD/MWh]", [1.0] * 24), "one or two columns", "line 1", "3 columns"),
    (table("hour, price [USD/MWh]", [1.0] * 24).encode("utf-16"), "not a text file", "made.csv", "UTF-8")])
def test_bad_files_are_named_with_line_and_finding(tmp_path, text, what, where, got):
    path = tmp_path / "made.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(DataError) as caught:
        PriceSeries(prices=path)
    error = caught.value
    assert what in error.what
    assert where in error.where
    assert got in error.got
    assert error.allowed
    assert error.hint


def test_a_missing_file_is_said_to_be_missing(tmp_path):
    with pytest.raises(DataError, match="No such file"):
        PriceSeries(prices=tmp_path / "none.csv")


@pytest.mark.parametrize("given", [[0.5] * 7, [0.5] * 23 + [1.5], [0.5] * 23 + [float("nan")], 3.0, ["x"] * 24, None])
def test_numbers_are_checked_as_files_are(given):
    with pytest.raises(ParameterError, match=r"LoadProfile\.demand"):
        LoadProfile(demand=given)


def test_hours_of_the_day_repeat_and_hours_of_the_year_do_not():
    hours = np.array([0.0, 0.5, 23.75, 24.0, 8759.0, 8760.0])
    assert series_of(range(24), where="made", unit="-", low=0, high=99).over(hours).tolist() == [0, 0, 23, 0, 23, 0]
    year = series_of(range(8760), where="made", unit="-", low=0, high=9999)
    assert year.over(hours).tolist() == [0, 0, 23, 24, 8759, 0]
    assert year == Series(year.values.copy())
    assert hash(year) == hash(Series(year.values.copy()))
