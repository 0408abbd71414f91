"""Reading bench tests: units, times and facts; every unusable file is refused by row, column and a way out."""

from __future__ import annotations

import pickle

import numpy as np
import pandas as pd
import pytest

from components.bench_data import read_bench
from components.bench_heat import GivenLiquid, liquid, read_along
from components.bench_screen import Steadiness, averaged, steady_rows
from loopnet.errors import DataError, ParameterError

GOOD = """# collector: dish
# aperture: 3 m2
# anything: goes here
time,dni [W/m2],ambient (degC),inlet [C],outlet [degF],flow [lpm],wind [km/h],colour
2026-05-03 10:00,900,20,50,140,2.0,3.6,7
2026-05-03 10:10,910,21,50,141,2.0,7.2,8
"""


def written(tmp_path, text, encoding="utf-8"):
    path = tmp_path / "bench.csv"
    path.write_bytes(text.encode(encoding))
    return path


def test_units_become_si_and_rows_are_those_of_the_file(tmp_path):
    data = read_bench(written(tmp_path, GOOD))
    assert data.rows.tolist() == [5, 6]
    assert data.time.tolist() == [0.0, 600.0]
    assert data.columns["ambient"].tolist() == [293.15, 294.15]
    assert data.columns["inlet"].tolist() == [323.15, 323.15]
    assert data.columns["outlet"][0] == pytest.approx(333.15)  # 140 degF is 60 degC
    assert data.columns["flow volume"][0] == pytest.approx(2e-3 / 60)
    assert data.columns["wind"].tolist() == pytest.approx([1.0, 2.0])
    assert data.facts == {"collector": "dish", "aperture": "3 m2"}
    assert data.notes == ("anything: goes here", "column 'colour' is not used")
    assert data.to_frame().loc[6, "dni"] == 910.0


@pytest.mark.parametrize("parted", [",", ";", "\t"])
def test_cells_may_be_parted_in_three_ways_and_a_mark_of_utf8_may_stand_first(tmp_path, parted):
    data = read_bench(written(tmp_path, "\ufeff" + GOOD.replace(",", parted)))
    assert data.columns["dni"].tolist() == [900.0, 910.0]


def test_data_is_read_only_and_pickles(tmp_path):
    data = read_bench(written(tmp_path, GOOD))
    with pytest.raises(ValueError, match="read-only"):
        data.columns["dni"][0] = 1.0
    back = pickle.loads(pickle.dumps(data))
    pd.testing.assert_frame_equal(back.to_frame(), data.to_frame())
    assert read_bench(data) is data


@pytest.mark.parametrize(("old", "new", "words"), [
    ("910,21", "nan,21", ("row 6", "dni [W/m2]", "a value is missing", "'nan'")),
    ("910,21", ",21", ("row 6", "a value is missing", "delete the row")),
    ("910,21", "much,21", ("row 6", "not a number", "'much'")),
    ("910,21", "910,21,4", ("row 6", "another number of cells", "got 9 cells", "decimal points")),
    ("910,21", "910", ("row 6", "another number of cells", "a value in every column")),
    ("910,21", "91000,21", ("row 6", "outside what can be", "got 91000 W/m2", "1500 W/m^2", "check the unit")),
    ("dni [W/m2]", "dni", ("column 'dni'", "no unit", "'dni [W/m2]'")),
    ("dni [W/m2]", "dni [suns]", ("column 'dni [suns]'", "unit is not known", "'suns'")),
    ("dni [W/m2]", "dni [K]", ("column 'dni [K]'", "unit is not known")),
    ("colour", "beam [W/m2]", ("column 'beam [W/m2]'", "twice")),
    ("time,", "hour,", ("no column of the time", "time [min]")),
    ("2026-05-03 10:10", "2026-05-03 09:10", ("row 6", "time does not go on", "'2026-05-03 09:10'")),
    ("2026-05-03 10:10", "3rd of May", ("row 6", "cannot read this time", "year first")),
    ("2026-05-03 10:10", "2026-05-03 10:00", ("row 6", "time does not go on")),
])
def test_what_cannot_be_used_is_refused_by_row_and_column(tmp_path, old, new, words):
    with pytest.raises(DataError) as caught:
        read_bench(written(tmp_path, GOOD.replace(old, new)))
    assert caught.value.where.startswith("bench.csv")
    for word in words:
        assert word in str(caught.value)
    assert caught.value.hint


def test_decimal_commas_are_named(tmp_path):
    text = GOOD.replace(",", ";").replace("910", "910,5")
    with pytest.raises(DataError, match=r"row 6, column 'dni \[W/m2\]': a decimal comma; got '910,5'.*910.5 with"):
        read_bench(written(tmp_path, text))


def test_files_that_are_no_tables(tmp_path):
    with pytest.raises(DataError, match="row 1: the file is not UTF-8 text; got byte 0xb0"):
        read_bench(written(tmp_path, "inlet [°C]\n", encoding="latin-1"))
    for text in ("", "# only words\n", "time,dni [W/m2]\n"):
        with pytest.raises(DataError, match="no table of measurements"):
            read_bench(written(tmp_path, text))
    with pytest.raises(DataError, match="no such file"):
        read_bench(tmp_path / "other.csv")
    with pytest.raises(DataError, match="not a file"):
        read_bench(tmp_path)
    (tmp_path / "wide.csv").write_bytes("time".encode("utf-16"))
    with pytest.raises(DataError):
        read_bench(tmp_path / "wide.csv")


def test_near_misses_are_guessed(tmp_path):
    text = GOOD.replace("# aperture", "# apperture").replace("colour", "wind sped [m/s]")
    notes = read_bench(written(tmp_path, text)).notes
    assert "apperture: 3 m2 (not understood; did you mean 'aperture'?)" in notes
    assert "column 'wind sped [m/s]' is not used; did you mean 'wind speed'?" in notes


# -- liquids -----------------------------------------------------------------------------------------------------------


def test_a_given_liquid_integrates_its_heat_capacity():
    """Trapezium by hand: 1900 to 2600 J/kgK over 250 K is 562.5 kJ/kg; beyond the ends straight lines go on."""
    oil = GivenLiquid(read_along("1.9 kJ/kg/K at 0 degC, 2.6 kJ/kg/K at 250 degC", "J/kg/K"),
                      read_along("900 kg/m3 at 0 degC, 700 kg/m3 at 250 degC", "kg/m^3"))
    assert float(oil.h(523.15) - oil.h(273.15)) == pytest.approx(562.5e3, rel=1e-12)
    assert float(oil.rho(573.15)) == pytest.approx(660.0)
    T = np.linspace(250.0, 600.0, 50)
    slope = np.gradient(oil.h(T), T)[1:-1]
    np.testing.assert_allclose(slope, 1900 + 2.8 * (T[1:-1] - 273.15), rtol=1e-9)
    assert float(liquid(None, "2 kJ/kg/K", None).h(313.15)) == pytest.approx(40e3)
    with pytest.raises(ParameterError, match="needs the density"):
        liquid("oil", 2000.0, None).rho(300.0)
    with pytest.raises(ParameterError, match="heat capacity must be positive"):
        liquid("oil", -1.0, None)


# -- steadiness --------------------------------------------------------------------------------------------------------


def log(**changes):
    n = 90
    table = {"time [min]": np.arange(n, dtype=float), "dni [W/m2]": np.full(n, 900.0),
             "ambient [degC]": np.full(n, 20.0), "inlet [degC]": np.full(n, 80.0), "outlet [degC]": np.full(n, 95.0),
             "flow [kg/s]": np.full(n, 0.1)}
    for key, change in changes.items():
        head = next(h for h in table if h.startswith(key))
        table[head] = change(table[head])
    return read_bench(pd.DataFrame(table))


def jump(by, at=40):
    return lambda x: x + by * (np.arange(x.size) >= at)


@pytest.mark.parametrize(("key", "below", "above"), [
    ("dni", -99.0, -101.0), ("inlet", 0.49, 0.51), ("ambient", 2.9, 3.1), ("flow", 0.0048, 0.0053)])
def test_the_window_after_a_change_is_left_out(key, below, above):
    steady, out, window, judged = steady_rows(log(**{key: jump(below)}), Steadiness())
    assert (window, judged) == (600.0, True)
    assert [x.rows for x in out] == [tuple(range(1, 11))]  # the start: nobody knows what was before
    steady, out, _, _ = steady_rows(log(**{key: jump(above)}), Steadiness())
    assert out[1].rows == tuple(range(41, 51))  # the change itself is in the windows that end with rows 41 to 50
    assert out[1].kind == "unsteady"
    assert f"{key} changes by more than" in out[1].reason
    assert steady.sum() == 70


def test_a_gap_is_a_new_start_and_far_rows_are_not_judged():
    gap = log(time=lambda t: t + 60.0 * (np.arange(t.size) >= 40))
    _, out, _, _ = steady_rows(gap, Steadiness())
    assert [x.rows for x in out] == [tuple(range(1, 11)), tuple(range(41, 51))]
    far = log(time=lambda t: 30 * t, inlet=lambda x: x + np.arange(x.size))
    steady, out, _, judged = steady_rows(far, Steadiness())
    assert steady.all()
    assert (out, judged) == ((), False)


def test_the_window_is_at_least_the_time_of_passage():
    """20 litres at 0.1 kg/s and 1000 kg/m3 take 200 s, 120 litres 20 minutes."""
    assert steady_rows(log(), Steadiness(), 0.020, 1000.0)[2] == 600.0
    assert steady_rows(log(), Steadiness(), 0.120, 1000.0)[2] == pytest.approx(1200.0)


def test_means_are_over_about_one_window_and_keep_all_rows():
    data = log(inlet=lambda x: x + 0.01 * np.arange(x.size), outlet=lambda x: x + 0.01 * np.arange(x.size))
    points = averaged(data, np.ones(90, bool), 600.0)
    assert len(points) == 9
    assert sorted(int(r) for rows in points.rows for r in rows) == list(range(1, 91))
    for block, value in zip(points.rows, points.columns["inlet"], strict=True):
        assert value == pytest.approx(353.15 + 0.01 * (np.mean(block) - 1), abs=1e-9)
    np.testing.assert_allclose(points.rate, 0.01 / 60.0, rtol=1e-9)  # 0.01 K a minute
    assert len(averaged(data, np.ones(90, bool), 600.0, average=False)) == 90
