"""Too few and too many specifications: said in the user's words, before any number is computed."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from components.exchanger import Exchanger
from components.field import CollectorField, Row
from components.heat_user import HeatUser
from components.mover import Mover
from loopnet.errors import SpecificationError
from loopnet.plant import Component, Design, Equation, Plant, SideRef, Stream
from loopnet.plants import find_plant
from loopnet.solve import rate, size, solution


@pytest.fixture(autouse=True)
def no_numbers(request, monkeypatch):
    """Nothing in this file may be solved, except where a test says so."""
    if "solves" not in request.fixturenames:
        monkeypatch.setattr(solution, "solve_block", lambda *a, **k: pytest.fail("a number was computed"))


@pytest.fixture
def solves() -> None:
    """Marks a test that needs numbers."""


def refusal(plant: Plant, act=size) -> SpecificationError:
    with pytest.raises(SpecificationError) as caught:
        act(plant)
    text = str(caught.value).lower()
    assert not any(word in text for word in ("singular", "matrix", "jacobian", "residual", "m[", "h[", "p["))
    assert caught.value.hint
    return caught.value


@dataclass(frozen=True, kw_only=True)
class FixedFlow(Exchanger):
    """An exchanger whose hot flow is fixed on top of all else."""

    def equations(self):
        return (*super().equations(), Equation("hot_flow", lambda v: v.hot.m - 100.0))


@dataclass(frozen=True, kw_only=True)
class Undecided(HeatUser):
    """A user who does not say how much heat it wants."""

    def equations(self):
        return tuple(e for e in super().equations() if e.name not in ("demand", "load"))


@dataclass(frozen=True, kw_only=True)
class Torn(HeatUser):
    """A user who asks for two loads."""

    def equations(self):
        return (*super().equations(), Equation("second_demand", lambda v: v["heat"] - 2e7, when="sizing"))


@dataclass(frozen=True, kw_only=True)
class Booster(Mover):
    """A pump that makes a fixed part of the pressure."""

    def equations(self):
        return (*super().equations(), Equation("fixed_rise", lambda v: v["rise"] - 1e5))


def kiln_loop(user: Component, *movers: Component) -> Plant:
    plant = Plant("small")
    field = plant.add("field", CollectorField(outlet="390 degC", row=Row(aperture=2600, length=480)))
    kiln = plant.add("kiln", user)
    pumps = [plant.add(f"pump_{i + 1}", mover) for i, mover in enumerate(movers)]
    plant.loop("oil", "diphenyl oil", pressure="14 bar").through(field, kiln, *pumps, field)
    return plant


def with_charger(charger: Component) -> Plant:
    plant = find_plant("oil_salt").copy()
    plant.components["charger"] = charger
    return plant


def without(name: str) -> Plant:
    """The oil plant with one component taken out of its path."""
    plant = find_plant("oil_salt").copy()
    before = next(s for s in plant.streams if s.target.component == name)
    after = next(s for s in plant.streams if s.source.component == name)
    at = plant.streams.index(before)
    plant.streams[at] = Stream(before.loop, before.source, after.target)
    plant.streams.remove(after)
    del plant.components[name]
    return plant


def doubled(name: str) -> Plant:
    """The oil plant with a second pump right before one of its pumps."""
    plant = find_plant("oil_salt").copy()
    before = next(s for s in plant.streams if s.target.component == name)
    spare = SideRef(plant.add("spare", Mover()).name, "main")
    at = plant.streams.index(before)
    plant.streams[at:at + 1] = [Stream(before.loop, before.source, spare), Stream(before.loop, spare, before.target)]
    return plant


def test_flow_that_nothing_sets_names_its_loop():
    found = refusal(kiln_loop(Undecided(back="300 degC"), Mover()))
    assert found.what == "nothing sets the flow of loop 'oil'"
    assert found.where == "plant 'small'"
    assert found.got == "1 unknown too many, 0 equations too many"
    assert "a load" in found.hint


def test_fighting_loads_name_each_other_and_nothing_else():
    found = refusal(kiln_loop(Torn(back="300 degC"), Mover()))
    assert found.what == "these specifications fight: kiln.demand, kiln.second_demand"
    assert found.hint == "drop one of them, or free what it fixes"


def test_fixed_flow_fights_what_else_fixes_it():
    found = refusal(with_charger(FixedFlow(cold_outlet="385 degC")))
    assert found.what.startswith("these specifications fight: ")
    named = found.what.partition(": ")[2].split(", ")
    assert {"charger.hot_flow", "charger.approach", "charger.cold_outlet", "plant.net_power"} <= set(named)
    assert not {"charger.energy", "charger.transfer", "turbine.power", "oil_pump.electricity"} & set(named)
    assert found.got == "0 unknowns too many, 1 equation too many"


def test_missing_approach_is_not_called_two_pumps():
    plant = with_charger(FixedFlow(cold_outlet="385 degC"))

    @dataclass(frozen=True, kw_only=True)
    class Vague(Exchanger):
        def equations(self):
            return tuple(e for e in super().equations() if e.name != "approach")

    plant.components["charger"] = Vague(cold_outlet="385 degC")
    found = refusal(plant)
    assert found.what.startswith("nothing sets the flow of loop 'oil', loop 'salt' from tanks.charge")


def test_hardware_that_nothing_sets_is_named():
    @dataclass(frozen=True, kw_only=True)
    class Bare(Exchanger):
        def equations(self):
            return tuple(e for e in super().equations() if e.name != "transfer")

    assert refusal(with_charger(Bare(cold_outlet="385 degC"))).what == "nothing sets charger.UA"


def test_closed_loop_that_nothing_drives():
    found = refusal(kiln_loop(HeatUser(back="300 degC")))
    assert found.what == "nothing drives loop 'oil': it has no pump, fan or lift"
    assert "put one mover on the path" in found.hint
    assert refusal(without("oil_pump")).what == found.what


@pytest.mark.parametrize(("pump", "path"), [("salt_pump", "tanks.charge"), ("hot_pump", "tanks.discharge")])
def test_path_between_tanks_that_nothing_drives(pump, path):
    assert refusal(without(pump)).what == f"nothing drives loop 'salt' from {path}: it has no pump, fan or lift"


@pytest.mark.parametrize(("pump", "path"), [("oil_pump", "loop 'oil'"), ("salt_pump", "loop 'salt' from tanks.charge"),
                                            ("hot_pump", "loop 'salt' from tanks.discharge")])
def test_two_movers_on_one_path(pump, path):
    found = refusal(doubled(pump))
    assert found.what == f"spare and {pump} both drive {path}, and nothing says how they share its pressure drop"
    assert found.hint == "keep one of them, or fix the rise of the other"


def test_two_movers_in_a_closed_loop():
    found = refusal(kiln_loop(HeatUser(back="300 degC"), Mover(), Mover()))
    assert found.what.startswith("pump_1 and pump_2 both drive loop 'oil'")


def test_a_booster_of_fixed_rise_is_no_mistake(solves):
    sized = size(kiln_loop(HeatUser(back="300 degC"), Mover(), Booster()))
    assert sized.values["pump_2.rise"] == pytest.approx(1e5)
    alone = size(kiln_loop(HeatUser(back="300 degC"), Mover())).values["pump_1.rise"]
    assert sized.values["pump_1.rise"] + 1e5 == pytest.approx(alone, rel=1e-5)  # but for where the pumps warm the oil


def test_a_booster_is_not_blamed_for_what_else_is_missing():
    found = refusal(kiln_loop(Undecided(back="300 degC"), Mover(), Booster()))
    assert found.what == "nothing sets the flow of loop 'oil'"


def test_power_without_a_target():
    found = refusal(find_plant("sand_silo").with_design(net_power=None))
    assert found.what == "the plant makes electricity but no net power is asked for"
    assert "net_power" in found.hint


def test_rating_is_refused_like_sizing(solves, monkeypatch):
    """With the aperture built and no store between, sun and load both fix the flow."""
    sized = size(kiln_loop(HeatUser(back="300 degC"), Mover()))
    monkeypatch.setattr(solution, "solve_block", lambda *a, **k: pytest.fail("a number was computed"))
    assert refusal(sized, rate).what == "these specifications fight: field.row, field.outlet, kiln.back, kiln.load"


def test_heat_alone_needs_no_power(solves):
    plant = kiln_loop(HeatUser(back="300 degC", demand="5 MW"), Mover())
    plant.design = Design(net_power=None)
    sized = size(plant)
    assert sized.values["kiln.heat"] == pytest.approx(5e6)
    assert sized.terms().query("kind == 'user'").watt.sum() == pytest.approx(5e6)
