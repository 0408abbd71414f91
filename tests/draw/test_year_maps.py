"""Maps of a year: what stands in them adds up to the year, and every hour is in one mode."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pandas as pd
import pytest

from loopnet import draw
from loopnet.draw.palette import LEAST_STEP, lightness, rgb
from loopnet.draw.year_map import RAMPS, SERIES, hour_grid
from loopnet.draw.year_modes import MODE_COLOURS, MODES
from loopnet.errors import ParameterError
from loopnet.year import Year

from .made_years import BLACK, HEADS, made_year
from .test_palette import EYES, seen

JOULE = {"MWh": 3.6e9, "GWh": 3.6e12}


@pytest.fixture(scope="module")
def year() -> Year:
    return made_year()


@pytest.mark.parametrize(("series", "total"), [("net", "net"), ("sun", "sun"), ("gross", "gross"),
                                               ("collected", "collected"), ("parasitic", "parasitic")])
def test_a_map_adds_up_to_the_year(year: Year, series: str, total: str) -> None:
    made = draw.hour_map(year, series)
    assert made.values.shape == (24, 365)
    size = {"kW": 1e3, "MW": 1e6}[made.unit]
    assert made.values.sum() * size * 3600.0 / 3.6e6 == pytest.approx(getattr(year, total), rel=1e-12)
    assert made.total is not None
    assert made.total * JOULE[made.total_unit] / 3.6e6 == pytest.approx(getattr(year, total), rel=1e-12)
    assert f"{made.total:,.4g} {made.total_unit}" in made.title


def test_hours_go_up_and_days_along_in_clock_time(year: Year) -> None:
    made = draw.hour_map(year, "sun")
    assert made.days[BLACK[0]] == pd.Timestamp("2001-04-11")
    assert not made.values[:, list(BLACK)].any()
    assert made.values[:, BLACK[0] - 1].argmax() in (11, 12)
    assert not made.values[:6].any()


def test_hours_without_data_are_no_numbers(year: Year) -> None:
    part = year.hourly.iloc[30:77]
    days, grid = hour_grid(part.index, part["sun"], 3600.0)
    assert list(days) == list(pd.date_range("2001-01-02", "2001-01-04"))
    assert np.isnan(grid).sum() == 3 * 24 - 47
    assert np.nansum(grid) == pytest.approx(part["sun"].sum(), rel=1e-12)
    assert grid[6, 0] == part["sun"].iloc[0]


def test_quarters_of_an_hour_have_rows_of_their_own() -> None:
    year = made_year(3, step=900.0)
    made = draw.hour_map(year, "net")
    assert made.values.shape == (96, 3)
    assert made.values.sum() * 1e6 * 900.0 / 3.6e6 == pytest.approx(year.net, rel=1e-12)
    assert sum(draw.mode_map(year).hours.values()) == pytest.approx(72.0, rel=1e-12)


def test_bad_series_and_steps_are_refused(year: Year) -> None:
    with pytest.raises(ParameterError, match="no such series"):
        draw.hour_map(year, "wind")
    with pytest.raises(ParameterError, match="does not divide the day"):
        hour_grid(year.hourly.index[:3], [1.0, 2.0, 3.0], 5000.0)


def test_every_column_of_a_year_has_words(year: Year) -> None:
    assert set(SERIES) - {"demand", "unmet"} == set(HEADS) == set(year.hourly)


@pytest.mark.parametrize("kind", RAMPS)
def test_ramps_darken_all_the_way(kind: str) -> None:
    levels = [lightness(rgb(colour)) for colour in RAMPS[kind]]
    assert all(a - b > LEAST_STEP for a, b in pairwise(levels))


# -- modes -------------------------------------------------------------------------------------------------------------


def test_modes_fill_the_year_each_hour_once(year: Year) -> None:
    made = draw.mode_map(year)
    assert sum(made.hours.values()) == 8760.0
    assert np.isfinite(made.codes).all()
    for code, name in enumerate(MODES):
        assert (made.codes == code).sum() == made.hours[name]


def test_modes_say_what_the_hours_say(year: Year) -> None:
    table, modes = year.hourly, draw.hour_modes(year)
    assert (modes[table["defocused"] > 1e-3] == "turned away").all()
    alone = table[modes == "store alone"]
    assert len(alone)
    assert not alone["to_store"].any()
    assert (alone["from_store"] > 0.0).all()
    both = table[modes == "both"]
    assert (both["to_store"] > 0.0).all()
    assert (both["generating"] > 0.0).all()
    rest = table[modes == "standby"]
    assert not rest[["to_store", "from_store", "gross"]].to_numpy().any()
    assert (modes[table["sun"].eq(0.0) & table["from_store"].eq(0.0)] == "standby").all()
    assert (modes == "charging").any()
    assert not (modes == "direct").any()


def test_an_idle_field_kept_from_freezing_is_named_unless_load_is_served(year: Year) -> None:
    table = year.hourly.assign(frost=np.where(year.hourly["sun"] > 0.0, 0.0, 2e5))
    modes, before = draw.hour_modes(replace(year, hourly=table)), draw.hour_modes(year)
    cold = (before == "standby") & (table["frost"] > 0.0)
    assert cold.any()
    assert (modes[cold] == "frost").all()
    assert (modes[~cold] == before[~cold]).all()
    assert (before == "store alone").any()


def test_without_a_store_the_field_serves_the_load_straight() -> None:
    hours = draw.mode_map(made_year(kept=False)).hours
    assert hours["direct"] > 0.0
    assert hours["both"] == hours["store alone"] == hours["charging"] == 0.0


@pytest.mark.book
@pytest.mark.parametrize("eye", EYES)  # matrices of Machado et al. (2009), from memory, as in test_palette
def test_modes_differ_in_lightness_for_any_eye(eye: str) -> None:
    levels = {name: lightness(seen(colour, EYES[eye])) for name, colour in MODE_COLOURS.items()}
    assert list(levels) == list(MODES)
    assert min(abs(levels[a] - levels[b]) for a, b in combinations(levels, 2)) >= LEAST_STEP, levels


def test_the_legend_names_the_modes_that_occur_and_no_other(year: Year) -> None:
    made = draw.mode_map(year)
    texts = " ".join(text.get_text() for text in draw.draw_mode_map(made).texts)
    for name, words in MODES.items():
        assert (words in texts) == bool(made.hours[name]), name
