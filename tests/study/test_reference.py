"""What others cost: boilers and batteries against worked numbers and annuities, ranges as their sources give them."""

from types import SimpleNamespace

import numpy as np
import numpy_financial as npf
import pandas as pd
import pytest

from loopnet.money import Finance
from loopnet.money.prices import STATUSES
from loopnet.study import after_dark, references
from loopnet.study.reference import gas_heat, solar_with_battery, through_battery


# 1 MMBtu = 293.071 kWh (Btu of 1055.056 J, ISO 80000-5, from memory); price of gas at Henry Hub in 2024 and 2022: U.S.
# EIA, second-hand
@pytest.mark.book
@pytest.mark.parametrize(("dollars", "cents"), [(2.21, 0.887), (6.45, 2.589)])
def test_heat_from_gas(dollars, cents):
    kwh = 1e6 * 1055.056 / 3.6e6
    assert 100 * gas_heat(dollars / kwh, 0.85) == pytest.approx(cents, abs=6e-4)
    cheap = next(r for r in references("heat") if "American" in r.name)
    assert any(100 * end == pytest.approx(cents, abs=6e-4) for end in (cheap.low, cheap.high))


# computed with numpy-financial
@pytest.mark.book
def test_battery_is_an_annuity():
    assert through_battery(165, 0.07, 15, 350, 0.88) == pytest.approx(-npf.pmt(0.07, 15, 165) / 350 / 0.88, rel=1e-12)


# 104 USD/MWh for 97 % of all hours in Las Vegas from solar and 17 GWh of batteries: Ember, June 2025, second-hand.
# Our lower bound leaves out clouds and seasons, so it must lie below that, and above solar by day
@pytest.mark.book
def test_bound_for_day_and_night_lies_between_day_and_what_is_published():
    through = through_battery(165, 0.07, 20, 350, 0.88)
    assert 0.043 < solar_with_battery(0.043, 0.55, through, 0.88) < 0.104
    assert solar_with_battery(0.043, 0.0, through, 0.88) == 0.043


def test_every_reference_says_where_it_comes_from():
    every = [*references("electricity"), *references("heat")]
    assert len(every) >= 7
    for r in every:
        assert r.low <= r.high
        assert r.status in STATUSES
        assert r.source
        assert 2000 < r.year < 2100
        assert r.span() in repr(r)
    dear, cheap = (next(r for r in references("electricity", share=0.5, finance=Finance(rate=rate))
                        if "same hours" in r.name) for rate in (0.1, 0.03))
    assert dear.low > cheap.low
    assert "50 % after dark" in dear.name


def test_share_after_dark():
    hourly = pd.DataFrame({"gross": [0.0, 2.0, 2.0, 4.0]})
    a = SimpleNamespace(year=SimpleNamespace(hourly=hourly))
    assert after_dark(a, np.array([500.0, 500.0, 10.0, 0.0])) == pytest.approx(0.75)
    a.year.hourly = pd.DataFrame({"gross": [0.0]})
    assert after_dark(a, np.zeros(1)) == 0.0
