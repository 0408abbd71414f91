"""Small turbines are worse and dearer: the curve against published machines, and plants that use it."""

from __future__ import annotations

import numpy as np
import pytest

from components.turbine_size import SIZES, efficiency_of_size
from loopnet.money import price_book
from loopnet.solve import size

from .small_plants import rated, steam_plant


# EPA Catalog of CHP Technologies, steam turbines with back pressure, editions of 2008 and 2015 (from memory): 0.5 MW 50
# and 52.5 %, 3 MW 70 and 61.2 %, 15 MW 80 and 78.0 %. Condensing machines some points better: up to 6 here.
@pytest.mark.book
@pytest.mark.parametrize(("power", "low", "high"), [(0.5e6, 0.50, 0.56), (3e6, 0.612, 0.74), (15e6, 0.78, 0.86)])
def test_published_machines(power, low, high):
    assert low <= efficiency_of_size(power) <= high


@pytest.mark.law
def test_larger_is_never_worse():
    sizes = np.geomspace(1e3, 2e9, 400)
    found = efficiency_of_size(sizes)
    assert np.all(np.diff(found) >= -1e-12)
    assert found[0] == SIZES[5e3]  # held at the ends
    assert found[-1] == SIZES[5e8]
    assert np.abs(np.diff(found)).max() < 0.01


@pytest.mark.law
def test_a_plant_takes_the_efficiency_of_its_size():
    found, price = [], []
    for power, watt in (("20 kW", 2e4), ("1 MW", 1e6), ("20 MW", 2e7), ("200 MW", 2e8)):
        sized = size(steam_plant("430 degC", "400 degC", "40 bar", fluid="quartz sand", net_power=power))
        v = sized.view("turbine")
        assert v["efficiency"][0] == pytest.approx(efficiency_of_size(watt))
        found.append(float(v["efficiency"][0]))
        line = next(x for x in sized.plant.components["turbine"].costs(v, price_book()) if "turbine" in x.item)
        price.append(line.usd / v["power"][0])
        half = rated(sized, turbine__load=[1.0, 0.5])("turbine")
        assert half["power"][0] == pytest.approx(v["power"][0], rel=1e-8)  # what was built stays
        assert bool(line.warning) == (power == "20 kW")  # cheaper ones are not known: said
    assert np.all(np.diff(found) > 0.01)
    assert np.all(np.diff(price) < 0)


@pytest.mark.law
def test_an_efficiency_that_is_given_stands():
    assert size(steam_plant(turbine={"efficiency": 0.8})).values["turbine.efficiency"] == 0.8
