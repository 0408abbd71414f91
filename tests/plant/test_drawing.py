"""What may be drawn and what is refused; the graph that users read; copies that leave the original alone."""

from __future__ import annotations

import pickle

import networkx as nx
import pytest

from components.exchanger import Exchanger
from components.field import CollectorField
from components.heat_user import HeatUser
from components.inventory import Silos, TwoTanks
from components.mover import Mover
from components.pipe import HeaderPipe
from components.row import Row
from loopnet.errors import LoopnetError, ParameterError, PropertyRangeError, TopologyError
from loopnet.plant import Design, Placed, Plant, SideRef, check_plant


def drawn(medium: str = "diphenyl oil") -> tuple[Plant, Placed, Placed, Placed]:
    """A field, a kiln and a pump, with the loop started and no path drawn."""
    plant = Plant("small", title="Field and kiln")
    plant.loop("oil", medium, pressure="14 bar")
    field = plant.add("field", CollectorField(outlet="390 degC", row=Row(aperture="2600 m2", length="480 m")))
    return plant, field, plant.add("kiln", HeatUser(back="300 degC")), plant.add("pump", Mover())


def closed(medium: str = "diphenyl oil") -> Plant:
    plant, field, kiln, pump = drawn(medium)
    plant.loops["oil"].through(field, kiln, pump, field)
    return plant


def refused(error: type[LoopnetError], action, *words: str) -> LoopnetError:
    """The error that an action raises; its text holds all of the words, and says where, and what to try."""
    with pytest.raises(error) as caught:
        action()
    text = str(caught.value)
    assert all(word in text for word in words), text
    assert caught.value.where, text
    assert caught.value.hint, text
    return caught.value


def test_closed_plant_passes():
    check_plant(closed())


def test_empty_plant_is_refused():
    refused(TopologyError, lambda: check_plant(Plant("bare")), "no components", "'bare'")


@pytest.mark.parametrize(("path", "port"), [
    (("field", "kiln", "pump"), "inlet of field"), (("pump", "field", "kiln"), "outlet of kiln"),
    (("field", "kiln"), "inlet of field")])
def test_open_port_is_named(path, port):
    plant, *placed = drawn()
    by_name = {p.name: p for p in placed}
    plant.loops["oil"].through(*(by_name[name] for name in path))
    assert port in str(refused(TopologyError, lambda: check_plant(plant), "is open", "'small'"))


def test_component_on_no_path_is_open():
    plant = closed()
    plant.add("spare", HeaderPipe())
    refused(TopologyError, lambda: check_plant(plant), "the inlet of spare is open")


def test_two_media_in_one_side():
    plant, field, kiln, pump = drawn()
    salt = plant.loop("salt", "nitrate salt")
    plant.loops["oil"].through(field, kiln)
    salt.through(kiln, pump, field)
    found = refused(TopologyError, lambda: check_plant(plant), "two loops meet", "one medium in one loop")
    assert "'salt' (nitrate salt) enters" in found.got
    assert "'oil' (diphenyl oil) leaves" in found.got


def test_two_sides_keep_two_media_apart():
    plant = Plant("apart")
    tanks, charger = plant.add("tanks", TwoTanks()), plant.add("charger", Exchanger(cold_outlet="385 degC"))
    plant.loop("salt", "nitrate salt").through(tanks.charge, charger.cold, tanks.charge)
    refused(TopologyError, lambda: check_plant(plant), "inlet of tanks.discharge is open")
    assert plant.side_loop(charger.cold).name == "salt"
    refused(TopologyError, lambda: plant.side_loop(charger.hot), "charger.hot", "not joined")


def test_port_joined_twice():
    plant, field, kiln, pump = drawn()
    oil = plant.loops["oil"].through(field, kiln, pump, field)
    found = refused(TopologyError, lambda: oil.through(pump, kiln), "joined twice", "'oil'")
    assert "pump -> kiln" in found.got
    assert "pump -> field" in found.got
    before = len(plant.streams)
    refused(TopologyError, lambda: oil.through(kiln, kiln), "the outlet of kiln is joined twice")
    assert len(plant.streams) == before


def test_path_of_none_or_one():
    plant, field, *_ = drawn()
    refused(TopologyError, lambda: plant.loops["oil"].through(), "at least two", "'oil'", "none")
    refused(TopologyError, lambda: plant.loops["oil"].through(field), "at least two", "got field")


def test_path_of_something_else():
    plant, field, *_ = drawn()
    refused(TopologyError, lambda: plant.loops["oil"].through(field, "kiln"), "placed components", "str")
    other = Plant("other").add("stranger", Mover())
    refused(TopologyError, lambda: plant.loops["oil"].through(field, other), "not in the plant", "stranger")


def test_component_with_sides_needs_its_side():
    plant = Plant("sides")
    tanks, pump = plant.add("tanks", TwoTanks()), plant.add("pump", Mover())
    found = refused(TopologyError, lambda: plant.loop("salt", "nitrate salt").through(tanks, pump), "several sides")
    assert found.allowed == "tanks.charge, tanks.discharge"
    with pytest.raises(AttributeError, match=r"tanks has no side 'top'; it has charge, discharge"):
        _ = tanks.top


@pytest.mark.parametrize("name", ["hot pipe", "1st", "", "<script>", "a.b", 3, None])
def test_names_are_plain(name):
    refused(TopologyError, lambda: Plant("names").add(name, Mover()), "plain name", repr(name))


def test_names_are_taken_once():
    plant, *_ = drawn()
    refused(TopologyError, lambda: plant.add("pump", Mover()), "taken", "'pump'")
    refused(TopologyError, lambda: plant.loop("oil", "air"), "exists already", "'oil'")
    refused(TopologyError, lambda: plant.add("thing", object()), "not a component", "object")
    refused(TopologyError, lambda: plant.add("kind", Mover), "not a component")


def test_unknown_medium_and_pressure():
    plant = Plant("levels")
    refused(ParameterError, lambda: plant.loop("oil", "diphenil oil"), "no such medium", "diphenyl oil")
    for pressure in ("-1 bar", "14 degC", "1,4 bar", 0.0, "400 bar", float("nan"), None):
        refused(ParameterError, lambda p=pressure: plant.loop("oil", "diphenyl oil", pressure=p), "'oil'.pressure")
    assert not plant.loops
    refused(ParameterError, lambda: closed().with_medium("oil", "nitrate salt", pressure="-1 bar"), "'oil'.pressure")


@pytest.mark.parametrize(("component", "medium", "side"), [
    (HeaderPipe(), "quartz sand", "main"),
    (TwoTanks(), "air", "charge"), (TwoTanks(), "quartz sand", "charge"), (Silos(), "nitrate salt", "charge")])
def test_wrong_phase(component, medium, side):
    plant = Plant("phases")
    thing = plant.add("thing", component)
    loop = plant.loop("stuff", medium)
    for one in type(component).sides:
        loop.through(getattr(thing, one), getattr(thing, one))
    found = refused(TopologyError, lambda: check_plant(plant), "cannot carry this medium", medium)
    assert found.where == ("thing" if side == "main" else f"thing.{side}")
    assert found.allowed == ", ".join(type(component).phases[side])


def test_parameters_that_do_not_go_with_the_medium():
    refused(PropertyRangeError, lambda: check_plant(closed().with_component("field", outlet="470 degC")),
            "diphenyl oil is too hot", "field outlet", "470", "393")
    refused(PropertyRangeError, lambda: check_plant(closed("nitrate salt").with_component("kiln", back="200 degC")),
            "nitrate salt freezes", "heat user")
    refused(ParameterError, lambda: check_plant(closed("quartz sand")), "particles do not flow through the tubes")


# -- copies ------------------------------------------------------------------------------------------------------------


def state(plant: Plant) -> tuple:
    return (plant.name, plant.title, plant.design, dict(plant.components), tuple(plant.streams),
            {name: (loop.medium, loop.pressure) for name, loop in plant.loops.items()})


def test_copies_leave_the_original_alone():
    plant = closed()
    before = state(plant)
    salty = plant.with_medium("oil", "nitrate salt", pressure="3 bar")
    wider = plant.with_component("field", outlet="380 degC", turn_down=0.1)
    sunnier = plant.with_design(dni=1000.0, ambient="30 degC")
    twin = plant.copy()
    twin.add("spare", Mover())
    twin.loop("more", "air")
    assert state(plant) == before
    assert salty.loops["oil"].medium.name == "nitrate salt"
    assert salty.loops["oil"].pressure == pytest.approx(3e5)
    assert plant.with_medium("oil", "nitrate salt").loops["oil"].pressure == plant.loops["oil"].pressure
    assert salty.loops["oil"].plant is salty
    assert wider.components["field"].outlet == pytest.approx(653.15)
    assert wider.components["field"].row == plant.components["field"].row
    assert sunnier.design.dni == 1000.0
    assert sunnier.design.ambient == pytest.approx(303.15)
    assert (sunnier.design.wind, sunnier.name) == (plant.design.wind, plant.name)
    for other in (salty, wider, sunnier):
        assert other.streams == plant.streams
        check_plant(other)


def test_copies_refuse_unknown_names():
    plant = closed()
    assert refused(TopologyError, lambda: plant.with_medium("oyl", "air"), "no such loop").hint == "oil"
    refused(TopologyError, lambda: plant.with_medium("steam", "air"), "no such loop", "allowed: oil")
    refused(ParameterError, lambda: plant.with_medium("oil", "honey"), "no such medium")
    assert refused(TopologyError, lambda: plant.with_component("fild", outlet=600.0), "no such component",
                   "field, kiln, pump").hint == "field"
    found = refused(ParameterError, lambda: plant.with_component("field", outlit=600.0), "no such parameter")
    assert (found.where, found.got, found.hint) == ("field", "outlit", "outlet")
    refused(ParameterError, lambda: plant.with_component("field", outlet="3 m"), "wrong unit", "CollectorField.outlet")
    refused(ParameterError, lambda: plant.with_design(sunshine=3), "no such design value", "sunshine", "dni")


# -- graph and pictures of the plant as text ---------------------------------------------------------------------------


def test_graph_is_open_to_the_reader():
    plant = closed()
    graph = plant.graph
    assert isinstance(graph, nx.MultiDiGraph)
    assert graph.name == "small"
    assert set(graph) == {"field", "kiln", "pump"}
    assert graph.nodes["kiln"] == {"component": plant.components["kiln"], "family": "user", "title": "kiln"}
    edges = list(graph.edges(data=True))
    assert [(a, b) for a, b, _ in edges] == [("field", "kiln"), ("kiln", "pump"), ("pump", "field")]
    assert edges[0][2] == {"loop": "oil", "medium": "diphenyl oil", "stream": plant.streams[0], "source_side": "main",
                           "target_side": "main"}
    assert nx.is_strongly_connected(graph)
    graph.remove_node("kiln")  # a reader's own copy
    assert set(plant.graph) == {"field", "kiln", "pump"}
    assert list(plant.of_family("mover")) == ["pump"]
    assert {side: fluid.name for side, fluid in plant.media_of("kiln").items()} == {"main": "diphenyl oil"}


def test_text_of_a_plant():
    plant = closed()
    assert repr(plant) == "Plant('small', 3 components, 1 loops)"
    assert repr(plant.loops["oil"]) == "Loop('oil', 'diphenyl oil', 1.4e+06 Pa)"
    assert str(plant.streams[0]) == "field -> kiln"
    assert str(SideRef("charger", "hot")) == "charger.hot"
    html = plant._repr_html_()
    assert "Field and kiln" in html
    assert all(name in html for name in plant.components)


def test_names_are_escaped_in_html():
    evil = "<script>alert(1)</script>"
    plant = Plant(evil, title=evil)
    pump, pipe = plant.add("pump", Mover()), plant.add("pipe", HeaderPipe())
    plant.loop(evil, "diphenyl oil").through(pump, pipe, pump)
    html = plant._repr_html_()
    assert "<script" not in html
    assert html.count("&lt;script&gt;") > len(plant.streams)


def test_errors_pickle_with_their_facts():
    found = refused(TopologyError, lambda: check_plant(Plant("bare")))
    back = pickle.loads(pickle.dumps(found))
    assert (type(back), str(back), back.hint) == (TopologyError, str(found), found.hint)


# -- the design point --------------------------------------------------------------------------------------------------


def test_design_has_limits():
    assert Design(store_hours="6 hour").store_hours == 21600.0
    assert Design(net_power=None).net_power is None
    for name, bad in {"net_power": "1 W", "solar_multiple": 0.0, "store_hours": "-1 hour", "dni": 2000.0,
                      "ambient": "80 degC", "wind": -1.0, "pressure": "2 bar", "zenith": 1.6, "azimuth": -0.1}.items():
        refused(ParameterError, lambda n=name, b=bad: Design(**{n: b}), f"Design.{name}", "out of range", "allowed")
    with pytest.raises(ParameterError, match=r"Design\.dni: not a number; got None"):
        Design(dni=None)
    assert set(Design().conditions()) == {"dni", "ambient", "wind", "pressure", "zenith", "azimuth"}
    assert Design().with_(dni=800.0) == Design(dni=800.0)
