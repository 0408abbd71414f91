"""Plants assessed once over four days, one of them under a name that attacks, and the page about them."""

from __future__ import annotations

from pathlib import Path

import pytest

from components.back_up import GasBoiler
from components.catalogue import collector
from components.field import CollectorField
from components.heat_user import HeatUser
from components.mover import Mover
from components.receiver import TubeLoss
from loopnet.page import write_report
from loopnet.plant import Design, Plant
from loopnet.plants import find_plant
from loopnet.site import Weather, tamarisk_basin
from loopnet.study import Assessment, assess

DATE = "2026-03-01"
EVIL = "<script>alert(1)</script>"
EVIL_TITLE = '"><img src=x onerror=alert(2)></title></svg>{{ 7*7 }} $x$ \x1b[31m'


def hot_oil() -> Plant:
    """A field that serves a user of heat while the sun shines; gas does the rest."""
    plant = Plant("hot_oil", title="Oil for a kiln", design=Design(net_power=None))
    oil = plant.loop("oil", "diphenyl oil", pressure="14 bar")
    field = plant.add("field", CollectorField(collector=collector("light_trough"), receiver=TubeLoss(),
                                              outlet="390 degC", inlet_guess="250 degC"))
    pump = plant.add("pump", Mover())
    user = plant.add("user", HeatUser(demand="5 MW", back="250 degC", back_up=GasBoiler()))
    oil.through(field, user, pump, field)
    return plant


def evil() -> Plant:
    """A good plant under a name that a careless page would run."""
    plant = find_plant("salt_tower").copy()
    plant.name, plant.title = EVIL, EVIL_TITLE
    return plant


@pytest.fixture(scope="session")
def sky() -> Weather:
    """Four days of spring."""
    return tamarisk_basin().slice(2160, 96)


@pytest.fixture(scope="session")
def found(sky: Weather) -> tuple[Assessment, ...]:
    """Two plants for electricity, one of them under a bad name, and one for heat."""
    return tuple(assess(plant, sky) for plant in (find_plant("sand_silo"), evil(), hot_oil()))


@pytest.fixture(scope="session")
def page(found: tuple[Assessment, ...], sky: Weather, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page about them."""
    return write_report(found, tmp_path_factory.mktemp("page") / "report.html", weather=sky, date=DATE,
                        command="loopnet report '<b>a & b</b>'")
