"""A year as an energy flow: balanced at every node, nothing lost on the way, a stage only where there is one."""

from __future__ import annotations

import pytest

from loopnet.draw.plant_flow import circuit_graph, year_flow
from loopnet.plants import find_plant
from loopnet.solve import size
from loopnet.year import run_year


@pytest.fixture(scope="module")
def steam(basin):
    """Some days of the plant that stores nothing."""
    return run_year(size(find_plant("fresnel_steam")), basin.slice(2160, 96))


def at(flow, node):
    return (sum(link.value for link in flow.links if link.target == node),
            sum(link.value for link in flow.links if link.source == node))


@pytest.mark.law
@pytest.mark.parametrize("plant", ["oil_salt", "air_rock", "sand_silo", "fresnel_steam"])
def test_what_comes_in_goes_out(plant, years, steam):
    year = {**years, "fresnel_steam": steam}[plant]
    flow = year_flow(year)
    assert all(link.value > 0 for link in flow.links)
    assert at(flow, "sun on the mirrors")[1] == pytest.approx(year.sun / 1e6, rel=1e-9)
    for node in {link.source for link in flow.links} - {"sun on the mirrors"}:
        came, left = at(flow, node)
        if came:
            assert came == pytest.approx(left, rel=1e-9), node
    assert at(flow, "net electricity")[0] == pytest.approx(year.net / 1e6, rel=1e-9)


def test_a_plant_without_a_store_shows_none(steam, years):
    nodes = {link.source for link in year_flow(steam).links}
    assert "heat to store" not in nodes
    assert {"absorbed", "collected", "heat drawn"} <= nodes
    assert "heat to store" in {link.source for link in year_flow(years["oil_salt"]).links}


def test_heat_against_freezing_leaves_from_the_store(years):
    year = years["oil_salt"]
    assert year.losses()["freeze protection"] > 0.0
    found = [link for link in year_flow(year).links if link.target == "freeze protection"]
    assert all(link.source == "heat to store" for link in found)
    assert found or year.losses()["freeze protection"] < 1e-4 * year.sun


def test_every_stream_of_the_circuit_says_how_hot_and_how_much(all_sized):
    graph = circuit_graph(all_sized["oil_salt"])
    texts = [data["text"] for _, _, data in graph.edges(data=True)]
    assert len(texts) == len(all_sized["oil_salt"].plant.streams)
    assert all("degC" in text and "kg/s" in text for text in texts)


def test_standby_power_is_drawn_once(years):
    """What control and lighting take is gone: it leaves the electricity, and warms nothing on its way."""
    found = [link for link in year_flow(years["sand_silo"]).links if link.target == "standby"]
    assert [link.source for link in found] == ["gross electricity"]
    (work,) = (link.value for link in year_flow(years["sand_silo"]).links if link.source == "work of feed pumps")
    pumps = years["sand_silo"].to_frame().query("label == 'feed pumps'")["kWh"].sum() / 1e6
    assert 0.9 * pumps < work <= pumps
