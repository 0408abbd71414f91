"""Collectors: losses add up to the sun, published efficiencies, wind, prices by part, and what is refused."""

from __future__ import annotations

import pickle
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.catalogue import collector, collectors, receiver
from components.collector import Collector, CollectorPrices
from components.field import CollectorField
from components.fixed import Fixed, SeasonalTilt
from components.incidence import BiaxialModifier
from components.receiver import CavityLoss, TubeLoss
from components.row import Row
from components.soiling import Ageing, Soiling
from components.tracking import OneAxis, TwoAxis
from loopnet.errors import ParameterError
from loopnet.money import price_book

MADE = {name: collector(name) for name in collectors()}
CLEAN = Soiling(rate=0.0, washed=1.0)


def site(zenith, azimuth, dni=900.0, wind=3.0):
    return {key: np.atleast_1d(np.asarray(value, float)) for key, value in
            {"zenith": zenith, "azimuth": azimuth, "dni": dni, "wind": wind}.items()}


def over_the_basin(n: int = 400):
    """Suns that stand over 31.2 degrees north, day and night."""
    draw = np.random.default_rng(11)
    f, d, w = np.radians(31.2), np.radians(draw.uniform(-23.4, 23.4, n)), draw.uniform(-np.pi, np.pi, n)
    up = np.sin(f) * np.sin(d) + np.cos(f) * np.cos(d) * np.cos(w)
    north = np.sin(d) * np.cos(f) - np.cos(d) * np.sin(f) * np.cos(w)
    return site(np.arccos(up), np.arctan2(-np.cos(d) * np.sin(w), north), draw.uniform(0, 1000, n),
                draw.uniform(0, 25, n))


# -- laws --------------------------------------------------------------------------------------------------------------


@pytest.mark.law
@pytest.mark.parametrize("name", collectors())
def test_losses_add_up_to_the_sun_and_no_more_than_the_optics_is_absorbed(name):
    here = over_the_basin()
    light = MADE[name].collect(here)
    total = light.absorbed + sum(light.losses.values())
    np.testing.assert_allclose(total, light.sun, atol=1e-9)
    assert np.all(light.sun[np.cos(here["zenith"]) <= 0] == 0)
    # a modifier fitted to tests passes 1 by less than a thousandth at small angles
    bound = light.sun * MADE[name].efficiency() * MADE[name].soiling.mean * 1.001
    assert np.all(light.absorbed <= bound + 1e-9)
    assert np.all(light.absorbed >= 0)
    assert light.absorbed.sum() > 0.1 * light.sun.sum()
    for label, lost in light.losses.items():
        assert label == "incidence modifier" or np.all(lost >= -1e-9), label


@pytest.mark.law
@given(zenith=st.floats(0, 3.1), azimuth=st.floats(0, 6.2), dni=st.floats(0, 1200), wind=st.floats(0, 40),
       reflectance=st.floats(0.05, 1), intercept=st.floats(0.05, 1), glass=st.floats(0.05, 1), stow=st.floats(0.5, 100))
@settings(max_examples=60)
def test_any_collector_closes_its_balance(zenith, azimuth, dni, wind, reflectance, intercept, glass, stow):
    made = Collector(reflectance=reflectance, intercept=intercept, transmittance=glass, stow_wind=stow)
    light = made.collect(site(zenith, azimuth, dni, wind))
    assert sum(float(x[0]) for x in light.losses.values()) + light.absorbed[0] == pytest.approx(light.sun[0], abs=1e-9)
    assert 0 <= light.absorbed[0] <= light.sun[0] * made.efficiency() + 1e-9
    if wind > stow:
        assert light.losses["wind stow"][0] == light.sun[0]
        assert light.absorbed[0] == 0


@pytest.mark.law
def test_two_axes_absorb_at_least_what_one_does_and_one_what_none_does():
    """One aperture with the same optics, alone on its ground; the fixed one faces the noon sun of the equinox."""
    here = over_the_basin() | {"wind": np.zeros(400)}
    alone = {"row_spacing": 500.0, "focal_length": 0.0}
    optics = {"concentration": 1.0, "modifier": None}
    none = Collector(tracking=Fixed(tilt="31.2 deg", ground_cover=0.0), **optics).collect(here).absorbed
    east_west = Collector(tracking=OneAxis(azimuth=np.pi / 2, **alone), **optics).collect(here).absorbed
    seasonal = Collector(tracking=SeasonalTilt(latitude="31.2 deg", adjustments=12, ground_cover=0.0),
                         **optics).collect(here).absorbed
    two = Collector(tracking=TwoAxis(ground_cover=0.0), **optics).collect(here).absorbed
    # rows 500 m apart shade each other only within a degree of the horizon
    high = np.cos(here["zenith"]) > 0.05
    assert np.all(none[high] <= east_west[high] + 1e-9)
    assert np.all(seasonal[high] <= east_west[high] + 1e-9)
    assert np.all(east_west <= two + 1e-9)
    assert none.sum() < seasonal.sum() < east_west.sum() < two.sum()


@pytest.mark.law
def test_a_batch_equals_its_points():
    here = over_the_basin(20)
    for made in MADE.values():
        light = made.collect(here).to_dict()
        for i in range(0, 20, 7):
            one = made.collect({key: value[i:i + 1] for key, value in here.items()}).to_dict()
            assert list(one) == list(light)
            for key, value in light.items():
                assert one[key][0] == pytest.approx(value[i], rel=1e-12, abs=1e-9), key


# -- outside numbers ---------------------------------------------------------------------------------------------------


# Optical efficiency at normal incidence, clean: trough of SAND94-1884 (Dudley et al. 1994) 0.733 (seen), space-frame
# trough 0.75 (Geyer et al. 2002, memory), linear Fresnel with a bare coated tube, sun overhead, 0.65 to 0.67 (memory,
# weak: 15 %).
@pytest.mark.book
@pytest.mark.parametrize(("name", "low", "high"), [
    ("trough_1990s", 0.7325, 0.7335), ("trough", 0.74, 0.76), ("fresnel", 0.65, 0.67),
])
def test_published_optical_efficiencies(name, low, high):
    light = replace(MADE[name], soiling=CLEAN).collect(site(0.0, 0.0))
    assert low <= light.absorbed[0] / light.sun[0] <= high


# SAND94-1884, cermet receiver with vacuum, washed mirrors, normal incidence: direct sun, wind, air, inlet and outlet
# (inputs seen, outlet and efficiency from memory). A physical model keeps within 3.5 points; the report's own fit is
# off by up to 4.
@pytest.mark.book
@pytest.mark.parametrize(("dni", "wind", "air", "inlet", "outlet", "percent"), [
    (933.7, 2.6, 21.2, 102.2, 124.0, 72.51), (968.2, 3.7, 22.4, 151.0, 173.3, 70.90),
    (982.3, 2.5, 24.3, 197.5, 219.5, 70.17), (909.5, 3.3, 26.2, 250.7, 269.4, 70.25),
    (937.9, 1.0, 28.8, 297.8, 316.9, 67.98), (880.6, 2.9, 27.5, 299.0, 317.2, 68.92),
    (920.9, 2.6, 29.5, 379.5, 398.0, 62.34), (903.2, 4.2, 31.1, 355.9, 374.0, 63.83),
])
def test_trough_of_the_catalogue_against_its_test(dni, wind, air, inlet, outlet, percent):
    trough, tube = replace(MADE["trough_1990s"], soiling=CLEAN), receiver("evacuated_tube_1990s")
    light = trough.collect(site(0.0, 0.0, dni, wind))
    loss = tube(273.15 + (inlet + outlet) / 2, 273.15 + air, wind, dni)
    assert 100 * (light.absorbed[0] - loss) / dni == pytest.approx(percent, abs=3.5)


# Modifier of the same report, cosine included (seen as quoted): 0.8442 at 30 degrees, 0.3598 at 60. Rows along
# north-south with the sun in the south meet the beam at the zenith angle.
@pytest.mark.book
@pytest.mark.parametrize(("degrees", "k"), [(30.0, 0.8442), (60.0, 0.3598)])
def test_modifier_of_the_same_test(degrees, k):
    trough = replace(MADE["trough_1990s"], soiling=CLEAN)
    light = trough.collect(site(np.radians(degrees), np.pi))
    end = 1 - trough.tracking.focal_length * np.tan(np.radians(degrees)) / trough.tracking.row_length
    assert light.absorbed[0] / light.sun[0] == pytest.approx(trough.efficiency() * k * end, abs=1e-4)


# -- parts -------------------------------------------------------------------------------------------------------------


def test_drives_by_axis():
    assert [MADE[n].axes for n in ("seasonal_trough", "trough", "fresnel", "dish", "heliostat")] == [0, 1, 1, 2, 2]
    assert Collector(tracking=TwoAxis(), drive_power=0.2).drives(100.0) == pytest.approx(40.0)
    assert Collector(tracking=Fixed(), concentration=1.0, drive_power=0.2).drives(100.0) == 0.0


def test_each_part_is_a_line_and_yearly_work_follows_its_interval():
    book = price_book()
    made = replace(MADE["concrete_trough"], soiling=Soiling(interval=10))
    lines = {line.item: line for line in made.costs(book, "field", 1000.0)}
    assert list(lines) == ["reflector", "structure", "drive", "foundation", "wiring", "assembly", "washing"]
    assert lines["reflector"].life == 10.0
    assert lines["structure"].own_life is None
    assert lines["washing"].quantity == pytest.approx(1000 * 36.525)
    assert lines["washing"].kind == "yearly"
    two = {line.item: line.quantity for line in MADE["light_dish"].costs(book, "field", 1000.0)}
    assert (two["drive"], two["wiring"]) == (2000.0, 1000.0)
    fixed = {line.item: line.quantity for line in MADE["seasonal_trough"].costs(book, "field", 1000.0)}
    assert fixed["adjusting"] == 4000.0
    assert "drive" not in fixed
    whole = [line.price.key for line in MADE["trough"].costs(book, "field", 1.0)]
    assert whole == ["collector.trough", "washing"]


def test_receiver_is_priced_by_what_its_price_is_for():
    field = CollectorField(outlet=600.0, row=Row(aperture=100.0, length=20.0))
    assert field._receivers(None, "m", 1000.0) == 200.0
    assert field._receivers(None, "m2", 1000.0) == 1000.0
    with pytest.raises(ParameterError, match="receiver_price"):
        CollectorField(outlet=600.0, receiver_price="receiver.bare_tube")._receivers(None, "m", 1000.0)


def test_what_absorbs_is_told_once():
    bare = Collector(tracking=TwoAxis(), absorptance=None)
    field = CollectorField(collector=bare, receiver=CavityLoss(absorptance=0.9), outlet=900.0)
    assert field.efficiency() == pytest.approx(0.94 * 0.87 * 0.96 * 0.9)
    with pytest.raises(ParameterError, match="absorptance"):
        CollectorField(collector=bare, outlet=900.0).efficiency()


def test_light_shows_itself():
    light = MADE["light_dish"].collect(site([0.2, 1.0], [3.0, 2.0]))
    assert "absorbed" in repr(light)
    assert "<table" in light._repr_html_()
    frame = light.to_frame()
    assert len(frame) == 2
    np.testing.assert_allclose(frame.drop(columns="sun").sum(axis=1), frame["sun"])
    assert pickle.loads(pickle.dumps(MADE["fresnel"])) == MADE["fresnel"]


@pytest.mark.parametrize(("make", "words"), [
    (lambda: Collector(concentration=300.0), "second law"),
    (lambda: Collector(tracking=Fixed(), concentration=1.2), "second law"),
    (lambda: Collector(tracking=SeasonalTilt(latitude=0.5, acceptance="20 deg"), concentration=3.0), "second law"),
    (lambda: Collector(tracking=Fixed(acceptance="20 deg", focus="point"), concentration=9.0), "second law"),
    (lambda: Collector(modifier=BiaxialModifier()), "two angles"),
    (lambda: Collector(tracking="north"), "does not track"),
    (lambda: CollectorField(outlet=600.0, receiver=TubeLoss(aperture_width=3.0)), "width of the aperture"),
    (lambda: CollectorField(outlet=600.0, receiver=CavityLoss(concentration=400.0)), "more concentration"),
])
def test_what_does_not_go_together_is_refused(make, words):
    with pytest.raises(ParameterError, match=words):
        make()


def test_just_within_the_second_law_is_allowed():
    rows = SeasonalTilt(latitude=0.5, acceptance="20 deg")
    assert Collector(tracking=rows, concentration=1 / np.sin(np.radians(20.0))).limit == pytest.approx(2.9238, abs=1e-4)
    points = Fixed(acceptance="20 deg", focus="point")
    assert Collector(tracking=points, concentration=8.5).limit == pytest.approx(8.5486, abs=1e-4)
    assert Ageing(decay=0.0, life=3.0).mean == 1.0
    assert CollectorPrices().washing == "washing"
