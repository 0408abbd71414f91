"""Sized plants shared by all tests of a run; nothing may change them, for plants and results are frozen."""

from __future__ import annotations

import pytest

from loopnet.plants import find_plant
from loopnet.solve import Sized, size


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
