"""Steel and insulation against pipe tables, thin-wall stress and the usual class of mineral wool."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from components.piping import Insulation, Steel, steel_mass, wall_thickness
from loopnet.errors import ParameterError


# Mineral wool pipe sections, usual class at mean temperatures of 50 to 300 degC (memory, tolerance 8 %).
@pytest.mark.book
def test_conductivity_of_mineral_wool():
    t = np.array([50, 100, 150, 200, 250, 300.0]) + 273.15
    np.testing.assert_allclose(Insulation().conductivity(t), [0.040, 0.046, 0.054, 0.064, 0.076, 0.0905], rtol=0.03)
    mean = quad(lambda x: float(Insulation().conductivity(x)), 320.0, 660.0)[0] / 340.0
    assert Insulation().conductivity(660.0, 320.0) == pytest.approx(mean, rel=1e-10)


# Steel pipe tables (memory): NPS 10 schedule 40, 273.05 x 9.27 mm, 60.3 kg/m; NPS 24 schedule 20, 609.6 x 9.53 mm,
# 141.1 kg/m. Tolerance 0.3 %.
@pytest.mark.book
@pytest.mark.parametrize(("outer", "wall", "mass"), [(0.27305, 9.27e-3, 60.3), (0.6096, 9.53e-3, 141.1)])
def test_steel_mass_of_table_pipes(outer, wall, mass):
    assert steel_mass(outer - 2 * wall, wall, Steel()) == pytest.approx(mass, rel=3e-3)


# Thin-wall hoop stress, sigma = p D / (2 t): Beer & Johnston, Mechanics of Materials (memory), exact.
@pytest.mark.book
def test_wall_holds_the_hoop_stress():
    steel = Steel(allowance=0.0, minimum=0.0, allowable="100 MPa")
    wall = wall_thickness(4e6, 0.5, steel)
    assert 4e6 * 0.5 / (2 * wall) == pytest.approx(1e8)
    assert wall_thickness(1e5, 0.1, Steel()) == Steel().minimum


@pytest.mark.parametrize("bad", [{"thickness": -0.1}, {"bridges": 0.5}, {"emissivity": 2.0}])
def test_bad_insulation_is_refused(bad):
    with pytest.raises(ParameterError, match=next(iter(bad))):
        Insulation(**bad)
