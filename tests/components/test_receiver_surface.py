"""Radiation, convection and gas in gaps against handbooks, other correlations and CoolProp."""

from __future__ import annotations

import numpy as np
import pytest

from components.receiver_air import black_fraction
from components.receiver_gap import GASES, annular_convection, annulus_conductance, gap_conductance
from components.receiver_particles import curtain_transmission
from components.receiver_surface import (
    air_properties,
    blend,
    cavity_convection,
    cavity_emissivity,
    cylinder_convection,
    fourth_powers,
    grey_exchange,
    opening_wind,
    salt_cylinder_convection,
)
from loopnet.media.coolprop import sweep


# CoolProp 8, air and hydrogen at 1 atm: computed. Tolerance: what the docstrings claim.
@pytest.mark.book
def test_air_and_gases_against_coolprop():
    t = np.array([230.0, 300.0, 500.0, 800.0, 1000.0])
    k, mu, rho = sweep("HEOS", "Air", "PT", np.full(5, 101325.0), t, ("conductivity", "viscosity", "rhomass"))
    got_k, got_nu = air_properties(t)
    np.testing.assert_allclose(got_k, k, rtol=0.03)
    np.testing.assert_allclose(got_nu, mu / rho, rtol=0.045)
    t = np.array([280.0, 300.0, 500.0, 700.0, 800.0])
    for name, fluid in (("air", "Air"), ("hydrogen", "Hydrogen")):
        k = sweep("HEOS", fluid, "PT", np.full(5, 101325.0), t, ("conductivity",))[0]
        np.testing.assert_allclose(GASES[name].k(t), k, rtol=0.035)


# Incropera et al., Fundamentals of Heat and Mass Transfer, 7th ed., example 9.4 (memory): pipe of 0.1 m and emissivity
# 0.85 at 165 degC in a room at 23 degC: 325 W/m by convection, 441 W/m by radiation. Property tables: 2 %.
@pytest.mark.book
def test_pipe_in_still_air():
    area = np.pi * 0.1
    assert area * cylinder_convection(438.15, 296.15, 0.1, 0.0) * 142.0 == pytest.approx(325.0, rel=0.02)
    assert area * 0.85 * fourth_powers(438.15, 296.15) == pytest.approx(441.0, rel=0.005)


# Incropera et al., 7th ed., example 7.4 (memory): cylinder of 12.7 mm at 128.4 degC in 10 m/s of air at 26.2 degC:
# Churchill & Bernstein give Nu = 40.6, h = 96 W/m2K (102 measured). Free convection adds nothing there.
@pytest.mark.book
def test_cylinder_in_wind():
    assert cylinder_convection(401.55, 299.35, 0.0127, 10.0) == pytest.approx(96.0, rel=0.03)


# Siebers & Kraabel, SAND84-8717 (1984), in short: cavities lose 0.81 (Tw - Ta)^0.426 W/m2K (memory), against the
# full form with the properties of air. Tolerance 5 %: two forms of one fit.
@pytest.mark.book
@pytest.mark.parametrize("celsius", [400.0, 600.0, 800.0])
def test_cavity_convection_in_short_and_in_full(celsius):
    full = cavity_convection(celsius + 273.15, 293.15, 2.0, 2.0, 0.0)
    assert full == pytest.approx(0.81 * (celsius - 20.0) ** 0.426, rel=0.05)


# Incropera et al., 7th ed., example 9.5 (memory): annulus 0.10 to 0.12 m of air, 120 and 35 degC, 100 W/m by free
# convection over still air; here the closed form for a wider gap, k_eff/k = 0.386 (Pr/(0.861+Pr))^(1/4) Ra_c^(1/4)
# of eq. 9.59 (memory), is the same correlation written otherwise: 1 %.
@pytest.mark.book
def test_annulus_in_the_handbook_form():
    ri, ro, hot, cold = 0.035, 0.0545, 573.15, 373.15
    k, nu = air_properties(473.15)
    length = 2 * np.log(ro / ri) ** (4 / 3) / (ri**-0.6 + ro**-0.6) ** (5 / 3)
    ra = 9.80665 * 200 * length**3 * 0.7 / (473.15 * nu**2)
    conduct = 2 * np.pi * k * 0.386 * (0.7 / (0.861 + 0.7)) ** 0.25 * ra**0.25 / np.log(ro / ri)
    assert annular_convection(hot, cold, 2 * ri, 2 * ro) == pytest.approx(conduct, rel=0.01)


# The two ends of gas conduction, from kinetic theory: continuum 2 pi k / ln(D/d), exact; and free molecules between
# surfaces of full accommodation, p (g+1)/(g-1) sqrt(R / (8 pi M T)) per area (Kennard, memory), which jumps at both
# walls refer to the mean 2 / (1/d + 1/D) of the diameters. The mean free path comes from the molecule's diameter
# instead of the viscosity: 25 %.
@pytest.mark.book
def test_gas_from_molecules_to_continuum():
    inner, outer, t = 0.07, 0.109, 500.0
    thick = annulus_conductance(t, inner, outer, GASES["air"], 1e5)
    assert thick == pytest.approx(2 * np.pi * GASES["air"].k(t) / np.log(outer / inner), rel=1e-3)
    free = 0.001 * (2.4 / 0.4) * np.sqrt(8.314 / (8 * np.pi * 0.02896 * t)) * np.pi * 2 / (1 / inner + 1 / outer)
    assert annulus_conductance(t, inner, outer, GASES["air"], 0.001) == pytest.approx(free, rel=0.25)


# Incropera et al., 7th ed., table 12.2, parts of black radiation at lambda T [um K] (memory).
@pytest.mark.book
@pytest.mark.parametrize(("product", "part"), [(1000, 0.000321), (2000, 0.066728), (4000, 0.480877), (8000, 0.856288)])
def test_parts_of_black_radiation(product, part):
    assert black_fraction(product / 1000.0 * 1e-6, 1000.0) == pytest.approx(part, abs=1e-4)


# Siebers & Kraabel, SAND84-8717 (1984) (memory): at high Reynolds numbers every roughness ends on 0.0455 Re^0.81;
# still air: 0.098 Gr^(1/3) (Tw/Ta)^-0.14 times pi/2.
@pytest.mark.book
def test_salt_cylinder_ends():
    hot, cold, d = 700.0, 300.0, 20.0
    k, nu = air_properties(500.0)
    wind = 6e6 * nu / d
    forced = 0.0455 * 6e6**0.81 * k / d
    assert salt_cylinder_convection(hot, cold, d, 2 * d * 900e-5, wind) == pytest.approx(forced, rel=0.03)
    k, nu = air_properties(cold)
    still = 0.098 * k * (9.80665 * 400 / (cold * nu**2)) ** (1 / 3) * (7 / 3) ** -0.14 * np.pi / 2
    assert salt_cylinder_convection(hot, cold, d, 0.05, 0.0) == pytest.approx(still, rel=1e-6)


@pytest.mark.law
def test_limits():
    assert grey_exchange(1.0, 1.0) == 1.0
    assert grey_exchange(0.1, 0.5, 0.0) == pytest.approx(0.1)  # in a large room
    assert cavity_emissivity(0.3, 1.0) == pytest.approx(0.3)
    assert cavity_emissivity(0.3, 1e9) == pytest.approx(1.0)
    assert cavity_convection(1000.0, 300.0, 1.0, 1.0, np.pi / 2) == pytest.approx(0.0, abs=1e-9)
    assert opening_wind(1000.0, 300.0, 1.0, 0.0) == 0.0
    assert blend(0.0, 0.0) == pytest.approx(0.0, abs=1e-20)
    assert curtain_transmission(0.0, 4.0, 3e-4, 3300.0) == 1.0
    still = annulus_conductance(300.0, 0.07, 0.109, GASES["air"], 101325.0)
    assert gap_conductance(300.0, 300.0, 0.07, 0.109, "air", 101325.0) == pytest.approx(float(still))


@pytest.mark.law
def test_more_wind_more_convection_and_rougher_more_still():
    wind = np.linspace(0.0, 25.0, 251)
    for got in (cylinder_convection(600.0, 300.0, 0.1, wind), opening_wind(900.0, 300.0, 3.0, wind),
                salt_cylinder_convection(800.0, 300.0, 5.0, 0.02, wind)):
        assert np.all(np.diff(got) >= 0.0)
    smooth, rough = (salt_cylinder_convection(800.0, 300.0, 5.0, tube, wind) for tube in (0.005, 0.09))
    assert np.all(rough >= smooth - 1e-9)


# A sphere's shadow is pi d^2 / 4; one kilogram of grains shades 3 / (2 rho d): counted by throwing spheres at random.
@pytest.mark.book
def test_transmission_by_counting_shadows():
    rng = np.random.default_rng(3)
    d, density, speed, flow = 2e-3, 2650.0, 3.0, 4.0
    per_area = flow / speed / (density * np.pi / 6 * d**3)  # grains behind one square metre
    side = 0.2
    count = rng.poisson(per_area * side**2)
    grains, rays = rng.uniform(0, side, (count, 2)), rng.uniform(d, side - d, (4000, 2))
    hit = np.array([np.any(np.sum((grains - ray) ** 2, axis=1) < d**2 / 4) for ray in rays])
    assert curtain_transmission(flow, speed, d, density) == pytest.approx(1 - hit.mean(), abs=0.03)
