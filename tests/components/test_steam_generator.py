"""Steam generator: heat of its surfaces against IAPWS-IF97 and the salt equations, pinch, and rating."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from iapws import IAPWS97

from loopnet.errors import LoopnetError
from loopnet.money import price_book
from loopnet.solve import size

from .small_plants import C, rated, steam_plant

PARTS = ("economiser", "evaporator", "superheater")


def salt(celsius):
    """Enthalpy of 60/40 nitrate salt [J/kg], from the heat capacity 1443 + 0.172 T [degC]: Zavoico, SAND2001-2100."""
    return 1443.0 * celsius + 0.086 * celsius**2


# IAPWS R7-97 through iapws 1.5 (computed), which differs from IAPWS-95 by up to 2e-4; salt as above (from memory).
@pytest.mark.book
def test_heat_of_each_surface_and_salt_flow():
    sized = size(steam_plant())
    v = sized.view("boiler")
    boiling = IAPWS97(P=10.0, x=0.0).T - C
    enters = IAPWS97(P=10.0 / 0.94, T=v.water.inlet.T[0]).h
    pre = IAPWS97(P=10.0, T=boiling - 4.0 + C).h
    dry, steam = IAPWS97(P=10.0, x=1.0).h, IAPWS97(P=10.0, T=371.0 + C).h
    boiler = sized.plant.components["boiler"]
    heat = [boiler._taken(v, part)[0] / v.water.m[0] for part in PARTS]
    assert heat == pytest.approx([1e3 * (pre - enters), 1e3 * (dry - pre), 1e3 * (steam - dry)], rel=1e-3)
    per_steam = 1e3 * (steam - pre) / (salt(385.0) - salt(boiling + 6.0))
    assert v.hot.m[0] / v.water.m[0] == pytest.approx(per_steam, rel=1e-3)
    back = salt(boiling + 6.0) - 1e3 * (pre - enters) / per_steam
    assert salt(v.hot.outlet.T[0] - C) == pytest.approx(back, rel=1e-3)


# Logarithmic mean difference as every textbook has it (Incropera et al., eq. 11.15).
@pytest.mark.book
def test_surfaces_follow_the_logarithmic_mean():
    sized = size(steam_plant())
    v, boiler = sized.view("boiler"), sized.plant.components["boiler"]
    ends = {name: d[0] for name, d in boiler.differences(v).items()}
    for part in PARTS:
        a, b = ends[f"{part} hot end"], ends[f"{part} cold end"]
        assert v[f"UA_{part}"][0] == pytest.approx(boiler._taken(v, part)[0] / ((a - b) / np.log(a / b)), rel=1e-9)
    assert ends["evaporator cold end"] == pytest.approx(6.0)
    assert ends["superheater hot end"] == pytest.approx(14.0)
    assert v.water.inlet.p[0] * 0.94 == pytest.approx(v.water.outlet.p[0])


@pytest.mark.law
@settings(max_examples=15, deadline=None)
@given(st.floats(330.0, 545.0), st.floats(2.0, 50.0), st.floats(1.0, 40.0), st.floats(20e5, 150e5), st.integers(0, 6),
       st.booleans())
def test_no_temperature_crosses_after_sizing(steam, approach, pinch, pressure, heaters, reheat):
    """Any steam a little hotter than boiling; sand, which stands any temperature here."""
    boiling = IAPWS97(P=pressure / 1e6, x=0.0).T - C
    steam = max(steam, boiling + 10.0)
    plant = steam_plant(max(steam + approach, boiling + pinch + 5.0) + C, steam + C, pressure, reheat=reheat,
                        fluid="quartz sand", boiler={"pinch": pinch}, turbine={"heaters": heaters})
    sized = size(plant)
    v, boiler = sized.view("boiler"), plant.components["boiler"]
    assert sized.certificate.worst < 1e-8
    assert sized.certificate.pinch > 0
    assert min(d[0] for d in boiler.differences(v).values()) == pytest.approx(sized.certificate.pinch)
    assert all(v[f"UA_{part}"][0] > 0 for part in boiler.parts)
    assert v.water.outlet.T[0] == pytest.approx(steam + C)


@pytest.mark.law
@pytest.mark.parametrize("fluid", ["nitrate salt", "quartz sand", "air"])
@pytest.mark.parametrize("reheat", [False, True])
def test_rating_at_the_design_point_gives_it_back(fluid, reheat):
    sized = size(steam_plant(reheat=reheat, fluid=fluid))
    view = rated(sized, turbine__load=1.0)
    for name, value in view("boiler").frame.values.items():
        assert value[0] == pytest.approx(sized.values[name], rel=1e-8), name


@pytest.mark.law
def test_part_load_closes_the_pinch_and_heats_the_steam():
    sized = size(steam_plant())
    view = rated(sized, turbine__load=[1.0, 0.75, 0.5, 0.25])
    v, boiler = view("boiler"), sized.plant.components["boiler"]
    ends = boiler.differences(v)
    assert np.all(np.diff(ends["evaporator cold end"]) < 0)
    assert np.all(np.diff(v.water.outlet.T) > 0)
    assert np.all(np.diff(v.hot.m / v.water.m) < 0)
    assert all(np.all(d > 0) for d in ends.values())
    for part in PARTS:  # the surface is what was built; its UA follows the flows to the power 0.8, half on each side
        ua = v.design(f"UA_{part}") / (0.5 * v.hot.ratio**-0.8 + 0.5 * v.water.ratio**-0.8)
        a, b = ends[f"{part} hot end"], ends[f"{part} cold end"]
        assert boiler._taken(v, part) == pytest.approx(ua * (a - b) / np.log(a / b), rel=1e-8)


@pytest.mark.law
def test_a_closer_pinch_costs_surface_and_cools_the_salt():
    wide, close = (size(steam_plant(boiler={"pinch": pinch})) for pinch in (15.0, 3.0))
    assert close.view("boiler").hot.outlet.T < wide.view("boiler").hot.outlet.T
    areas = []
    for sized in (wide, close):
        (line,) = sized.plant.components["boiler"].costs(sized.view("boiler"), price_book())
        areas.append(line.quantity)
        assert line.quantity == pytest.approx(sum(sized.values[f"boiler.UA_{part}"] for part in PARTS) / 600.0)
    assert areas[1] > 1.2 * areas[0]


@pytest.mark.parametrize(("hot", "steam", "pinch"), [("385 degC", "386 degC", 6.0), ("330 degC", "325 degC", 25.0)])
def test_what_cannot_be_is_refused(hot, steam, pinch):
    with pytest.raises(LoopnetError, match=r"cross|no solution"):
        size(steam_plant(hot, steam, boiler={"pinch": pinch}))
