"""Supply against the size of the store: figures read off made years, and a short stretch of a real plant."""

from __future__ import annotations

import pickle

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopnet.errors import ParameterError, SpecificationError
from loopnet.plant import Design, Plant
from loopnet.plants import find_plant
from loopnet.site import Weather
from loopnet.solve import Sized
from loopnet.study import SupplyCurve, supply_curve
from loopnet.study.supply import Demand, demand_of, spells, supply_point
from loopnet.year import Year

FULL = Demand(delivery=20e6, draw=50e6)
KWH = 3.6e6


def hours(load: np.ndarray, to_store: np.ndarray, net: np.ndarray | None = None) -> Year:
    """A year of which only what counts here is filled in."""
    power = 20e6 * load if net is None else net
    index = pd.date_range("2001-01-01", periods=len(load), freq="h", tz="Etc/GMT+7")
    table = pd.DataFrame({"load": load, "generating": (load > 0).astype(float), "to_store": to_store,
                          "collected": to_store, "gross": np.maximum(power, 0.0), "net": power}, index=index)
    return Year(Plant("made", design=Design()), "made sky", pd.DataFrame(), table, 3600.0, 0.0, 5.0, "", (), 0)


def point(year: Year, firm: float = 0.8):
    return supply_point(year, FULL, store=3600.0, firm=firm)


def test_a_dark_spell_that_was_put_there_is_found() -> None:
    """Sun in every hour but for 31 hours from hour 100 and 9 from hour 300; load holds through the short one only."""
    sun, load = np.full(500, 60e6), np.ones(500)
    sun[100:131] = sun[300:309] = 0.0
    load[120:131] = 0.25
    found = point(hours(load, sun))
    assert (found.darkest, found.bridged_full, found.bridged) == (31 * 3600.0, 9 * 3600.0, 31 * 3600.0)
    load[125] = 0.0
    assert point(hours(load, sun)).bridged == 9 * 3600.0
    load[304] = 0.0
    assert point(hours(load, sun)).bridged == 0.0


def test_a_glimpse_of_sun_does_not_end_a_dark_spell() -> None:
    sun = np.full(100, 60e6)
    sun[20:60] = 0.0
    sun[40] = 0.09 * FULL.draw
    assert point(hours(np.ones(100), sun)).darkest == 40 * 3600.0
    sun[40] = 0.11 * FULL.draw
    assert point(hours(np.ones(100), sun)).darkest == 20 * 3600.0


def test_shares_of_hours_and_of_energy() -> None:
    load, sun = np.repeat([1.0, 0.5, 0.0, 1.0], 100), np.full(400, 60e6)
    found = point(hours(load, sun))
    assert (found.full, found.stopped, found.delivered) == (0.5, 0.25, 0.625)
    more = point(hours(load, sun, 30e6 * load))  # more than full supply is not counted, less is
    assert more.delivered == pytest.approx((100 + 75 + 0 + 100) / 400)
    less = point(hours(load, sun, np.where(load > 0.0, 20e6 * load, -1e6)))
    assert less.delivered == 0.625


def test_months_above_the_firm_level() -> None:
    load = np.ones(8760)
    load[:31 * 24] = 0.75
    load[31 * 24:31 * 24 + 28 * 12] = 0.5
    year = hours(load, np.full(8760, 60e6))
    assert [point(year, firm).months for firm in (0.5, 0.75, 0.76, 1.0)] == [1.0, 1.0, 10 / 12, 10 / 12]


@given(flags=st.lists(st.booleans(), max_size=40))
def test_spells_are_the_runs_of_true(flags: list[bool]) -> None:
    again = np.zeros(len(flags), bool)
    for at, long in spells(flags):
        assert long > 0
        assert at == 0 or not flags[at - 1]
        assert at + long == len(flags) or not flags[at + long]
        again[at:at + long] = True
    assert again.tolist() == flags


# -- a real plant ------------------------------------------------------------------------------------------------------


def test_full_supply_is_the_design_point(sized_sand: Sized) -> None:
    full = demand_of(sized_sand)
    assert full.delivery == 20e6
    assert full.draw == pytest.approx(float(sized_sand.view("silos").discharge.heat[0]), rel=0.02)  # return lift warms


@pytest.fixture(scope="module")
def curve(basin: Weather) -> tuple[SupplyCurve, list[tuple[str, float]]]:
    """Twenty days of spring for four sizes of silo."""
    said: list[tuple[str, float]] = []
    found = supply_curve(find_plant("sand_silo"), basin.slice(60 * 24, 20 * 24), firm=0.6,
                         store_hours=["16 hour", "4 hour", 8 * 3600.0, "32 hour"],
                         progress=lambda what, share: said.append((what, share)))
    return found, said


@pytest.mark.law
def test_a_larger_store_supplies_no_less(curve: tuple[SupplyCurve, list[tuple[str, float]]]) -> None:
    found = curve[0]
    assert (found.series("store") / 3600.0).tolist() == [4.0, 8.0, 16.0, 32.0]
    for name in ("full", "delivered"):
        assert np.diff(found.series(name)).min() > -0.005, name  # its own loss, and heat left in it at the end
    assert found.series("full")[-1] > found.series("full")[0] + 0.1
    assert np.diff(found.series("stopped")).max() < 0.005
    assert len(set(found.series("darkest"))) == 1  # sun and field are the same
    assert (found.series("bridged_full") <= found.series("bridged")).all()
    assert (found.series("bridged") <= found.series("darkest")).all()


def test_no_spell_is_bridged_that_is_longer_than_the_store(curve: tuple[SupplyCurve, list[tuple[str, float]]]) -> None:
    """At full load a store of so many hours lasts no longer; what dim sun and the vessels' heel add is little."""
    found = curve[0]
    assert (found.series("bridged_full") <= found.series("store") + 2 * 3600.0).all()


def test_the_curve_as_a_result(curve: tuple[SupplyCurve, list[tuple[str, float]]]) -> None:
    found, said = curve
    table = found.to_frame()
    assert len(table) == 4
    assert table["hours below full load"].tolist() == pytest.approx((480.0 * (1.0 - found.series("full"))).tolist())
    assert "months above 60 %, %" in table
    assert "4 stores of 4 to 32 h" in repr(found)
    assert "<table" in found._repr_html_()
    assert pickle.loads(pickle.dumps(found)) == found
    assert found.to_dict()["points"][0]["store"] == 4 * 3600.0
    shares = [share for _, share in said]
    assert shares == sorted(shares)
    assert said[-1] == ("done", 1.0)
    assert said[0][0] == "store of 4 h: sizing"


def test_the_store_for_a_share_of_full_load(curve: tuple[SupplyCurve, list[tuple[str, float]]]) -> None:
    found = curve[0]
    for p in found.points[:2]:
        assert found.store_for(p.full) == pytest.approx(p.store, rel=1e-9)
    between = (found.points[0].full + found.points[1].full) / 2
    assert found.store_for(between) == pytest.approx(6 * 3600.0, rel=1e-9)
    with pytest.raises(ParameterError, match="does not pass"):
        found.store_for(0.9999)


def test_what_cannot_be_studied_is_refused(basin: Weather) -> None:
    plant = find_plant("sand_silo")
    for wrong in ([], [12], ["20 minute"], ["8 MW"]):
        with pytest.raises(ParameterError):
            supply_curve(plant, basin, store_hours=wrong)
    with pytest.raises(ParameterError, match="out of range"):
        supply_curve(plant, basin, firm=1.2)
    with pytest.raises(SpecificationError, match="without a store"):
        supply_curve(Plant("bare"), basin)
