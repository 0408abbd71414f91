"""Correlations of packed beds against handbook examples and reference libraries."""

import fluids
import ht
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.bed_correlations import (
    axial_dispersion,
    bed_volume,
    biot_correction,
    ergun,
    nusselt_wakao,
    stagnant_conductivity,
    volumetric_exchange,
)

positive = st.floats(1e-4, 10.0)


@pytest.mark.book
def test_ergun_example_of_fluids():
    # fluids.packed_bed.Ergun, docstring example; seen
    drop = ergun(1e-3 * 1000, length=1.0, diameter=8e-4, void=0.4, rho=1000.0, mu=1e-3)
    assert drop == pytest.approx(1338.8671874999995, rel=1e-12)


@pytest.mark.book
@pytest.mark.parametrize("speed", [0.01, 0.3, 2.0])
def test_ergun_as_in_fluids(speed):
    # computed with fluids.packed_bed.Ergun, hot air over stones
    ours = ergun(speed * 0.6, length=6.0, diameter=0.03, void=0.38, rho=0.6, mu=3e-5)
    assert ours == pytest.approx(fluids.Ergun(dp=0.03, voidage=0.38, vs=speed, rho=0.6, mu=3e-5, L=6.0), rel=1e-12)


@pytest.mark.book
def test_ergun_air_over_spheres():
    # Geankoplis, Transport Processes and Unit Operations, example 3.1-4 (inputs seen, result 0.0497e5 Pa from memory):
    # air at 311 K, spheres 12.7 mm, bed 0.61 m by 2.44 m, 0.358 kg/s, inlet 1.10 atm; density at mean pressure; 1 %
    inlet, drop = 1.10 * 101325, 0.0
    for _ in range(20):
        rho = (inlet - drop / 2) * 0.02897 / (8.31446 * 311)
        drop = ergun(0.358 / (np.pi / 4 * 0.61**2), length=2.44, diameter=0.0127, void=0.38, rho=rho, mu=1.9e-5)
    assert drop == pytest.approx(0.0497e5, rel=0.01)


@pytest.mark.book
def test_ergun_gas_through_catalyst():
    # Fogler, Elements of Chemical Reaction Engineering, example 4-4 (inputs partly seen, result from memory):
    # 104.4 lb/h over 0.01414 ft2, 1/4 inch, void 0.45, mu 0.0673 lb/(ft h), rho 0.413 lb/ft3: 0.0775 atm/ft; 1 %
    pound, foot = 0.45359237, 0.3048
    drop = ergun(104.4 * pound / 3600 / (0.01414 * foot**2), length=foot, diameter=0.25 * 0.0254, void=0.45,
                 rho=0.413 * pound / foot**3, mu=0.0673 * pound / foot / 3600)
    assert drop / 101325 == pytest.approx(0.0775, rel=0.01)


@pytest.mark.law
@given(flux=positive, diameter=st.floats(1e-3, 0.1), void=st.floats(0.3, 0.5))
@settings(max_examples=30, deadline=None)
def test_ergun_is_odd_in_the_flow_and_linear_in_length(flux, diameter, void):
    def drop(flux, length=1.0):
        return ergun(flux, length=length, diameter=diameter, void=void, rho=0.6, mu=3e-5)

    assert drop(-flux) == -drop(flux) < 0
    assert drop(flux, 3.0) == pytest.approx(3 * drop(flux))
    assert drop(1.1 * flux) > drop(flux)


@pytest.mark.book
@pytest.mark.parametrize(("reynolds", "nusselt"), [(10, 5.88829), (100, 17.47956), (1000, 63.62525), (2000, 95.40641)])
def test_wakao_table(reynolds, nusselt):
    # Re 2000: docstring of ht.conv_packed_bed.Nu_Wakao_Kagei, seen; the others computed with it; Pr 0.7
    assert nusselt_wakao(reynolds, 0.7) == pytest.approx(nusselt, abs=6e-6)
    assert nusselt_wakao(reynolds, 0.7) == pytest.approx(ht.Nu_Wakao_Kagei(reynolds, 0.7), rel=1e-12)


@pytest.mark.book
def test_surface_per_volume_of_cylinders():
    # Geankoplis, example 3.1-3; seen: bulk 962, solid 1600 kg/m3, diameter = height = 0.02 m: void 0.399, 180.4 1/m
    assert volumetric_exchange(1.0, diameter=0.02, void=1 - 962 / 1600) == pytest.approx(180.4, abs=0.05)


@pytest.mark.book
def test_time_to_charge_aluminium_spheres():
    # Incropera, Fundamentals of Heat and Mass Transfer, ch. 5 problem (from memory): spheres 75 mm, rho 2700, c 950,
    # h 75 W/m2K: time constant 427 s, 90 % of the heat after 984 s
    void = 0.4
    constant = (1 - void) * 2700 * 950 / volumetric_exchange(75.0, diameter=0.075, void=void)
    assert constant == pytest.approx(427, abs=0.6)
    assert -constant * np.log(0.1) == pytest.approx(984, abs=0.6)


@pytest.mark.book
def test_conduction_inside_a_sphere():
    # computed: slowest mode of a sphere with surface coefficient (Carslaw and Jaeger, x cot x = 1 - Bi, equation
    # from memory); its decay equals the lumped one with h/(1+Bi/5) to a few parts in a thousand up to Bi = 0.5
    from scipy.optimize import brentq

    for biot in (0.05, 0.2, 0.5):
        root = brentq(lambda x, biot=biot: x / np.tan(x) - 1 + biot, 1e-6, 3.1)
        lumped = 3 * biot_correction(biot, diameter=2.0, conductivity=1.0)
        assert lumped == pytest.approx(root**2, rel=4e-3)
        assert lumped != pytest.approx(3 * biot, rel=4e-3)


@pytest.mark.law
@given(gas=st.floats(0.02, 0.08), ratio=st.floats(2, 200), void=st.floats(0.22, 0.47))
@settings(max_examples=30, deadline=None)
def test_bed_conducts_between_series_and_parallel(gas, ratio, void):
    solid = gas * ratio
    bed = stagnant_conductivity(gas, solid, void)
    assert 1 / (void / gas + (1 - void) / solid) <= bed <= void * gas + (1 - void) * solid


@pytest.mark.law
def test_dispersion_is_half_a_stone_of_mixing():
    # 0.5 Re Pr k = 0.5 G cp d: a mixing length of half a stone
    flux, cp, d, mu, k = 0.3, 1050.0, 0.03, 3e-5, 0.045
    assert axial_dispersion(flux * d / mu, mu * cp / k, k) == pytest.approx(0.5 * flux * cp * d)


@pytest.mark.law
@given(heat=st.floats(1e9, 1e14), void=st.floats(0.3, 0.5), usable=st.floats(0.3, 1.0))
@settings(max_examples=30, deadline=None)
def test_volume_holds_the_heat(heat, void, usable):
    volume = bed_volume(heat, rise=5e5, density=2600.0, void=void, usable=usable)
    assert volume * (1 - void) * 2600.0 * 5e5 * usable == pytest.approx(heat)
