"""Sized plants and their years, shared by all tests of a run; nothing may change them, for they are frozen."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, settings

from loopnet.plants import find_plant
from loopnet.site import Weather, tamarisk_basin
from loopnet.solve import Sized, size
from loopnet.year import Year, run_year

# The same examples in every run, and no verdict on the speed of the machine.
settings.register_profile("suite", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("suite")


@pytest.fixture(scope="session")
def sized_oil() -> Sized:
    """The oil loop with salt tanks at its design point."""
    return size(find_plant("oil_salt"))


@pytest.fixture(scope="session")
def sized_air() -> Sized:
    """The air loop with a rock bed at its design point."""
    return size(find_plant("air_rock"))


@pytest.fixture(scope="session")
def sized_sand() -> Sized:
    """Falling sand with silos at its design point."""
    return size(find_plant("sand_silo"))


@pytest.fixture(scope="session")
def all_sized(sized_oil: Sized, sized_air: Sized, sized_sand: Sized) -> dict[str, Sized]:
    """All three by name."""
    return {sized.plant.name: sized for sized in (sized_oil, sized_air, sized_sand)}


@pytest.fixture(scope="session")
def basin() -> Weather:
    """The invented year of Tamarisk Basin."""
    return tamarisk_basin()


@pytest.fixture(scope="session")
def years(all_sized: dict[str, Sized], basin: Weather) -> dict[str, Year]:
    """A whole year of all three, by name."""
    return {name: run_year(sized, basin) for name, sized in all_sized.items()}
