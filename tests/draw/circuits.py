"""Circuits to draw: three plants of the invented Tamarisk Basin, with invented numbers, and random ones."""

from __future__ import annotations

import random

import networkx as nx

FAMILIES = ("field", "receiver", "pipe", "mover", "exchanger", "store", "cycle", "user", "junction", "something else")


def ring(graph: nx.MultiDiGraph, loop: str, medium: str, *steps: tuple[str, str]) -> None:
    """Join nodes to a ring; each step is a node and the text of the stream that leaves it."""
    for (node, text), (after, _) in zip(steps, (*steps[1:], steps[0]), strict=True):
        graph.add_edge(node, after, loop=loop, medium=medium, text=text, source_side="", target_side="")


def with_nodes(**nodes: tuple[str, str]) -> nx.MultiDiGraph:
    graph = nx.MultiDiGraph()
    for name, (title, family) in nodes.items():
        graph.add_node(name, title=title, family=family)
    return graph


def oil_circuit() -> nx.MultiDiGraph:
    """Oil field, two-sided charger, salt tanks, steam cycle."""
    graph = with_nodes(field=("collector field", "field"), hot=("hot header", "pipe"), cold=("cold header", "pipe"),
                       charger=("oil-to-salt exchanger", "exchanger"), oil_pump=("oil pump", "mover"),
                       store=("salt tanks", "store"), salt_pump=("salt pump", "mover"),
                       hot_pump=("hot salt pump", "mover"), boiler=("steam generator", "exchanger"),
                       turbine=("steam cycle", "cycle"))
    ring(graph, "oil", "diphenyl oxide oil", ("field", "391 degC\n412 kg/s"), ("hot", "389 degC\n412 kg/s"),
         ("charger", "293 degC\n412 kg/s"), ("oil_pump", "293 degC\n14 bar"), ("cold", "292 degC\n412 kg/s"))
    ring(graph, "charge", "nitrate salt", ("store", "286 degC\n690 kg/s"), ("salt_pump", "286 degC\n690 kg/s"),
         ("charger", "381 degC\n690 kg/s"))
    ring(graph, "discharge", "nitrate salt", ("store", "381 degC\n355 kg/s"), ("hot_pump", "381 degC\n355 kg/s"),
         ("boiler", "286 degC\n355 kg/s"))
    ring(graph, "steam", "water and steam", ("boiler", "371 degC\n100 bar"), ("turbine", "234 degC\n20.1 kg/s"))
    return graph


def air_circuit() -> nx.MultiDiGraph:
    """Air field, rock bed, steam cycle."""
    graph = with_nodes(store=("rock bed", "store"), cold=("cold duct", "pipe"), fan=("field fan", "mover"),
                       field=("air collectors", "field"), hot=("hot duct", "pipe"), fan2=("night fan", "mover"),
                       boiler=("steam generator", "exchanger"), turbine=("steam cycle", "cycle"))
    ring(graph, "charge", "air", ("store", "120 degC\n88 kg/s"), ("cold", "119 degC\n88 kg/s"),
         ("fan", "124 degC\n88 kg/s"), ("field", "600 degC\n88 kg/s"), ("hot", "591 degC\n88 kg/s"))
    ring(graph, "discharge", "air", ("store", "585 degC\n47 kg/s"), ("boiler", "115 degC\n47 kg/s"),
         ("fan2", "120 degC\n47 kg/s"))
    ring(graph, "steam", "water and steam", ("boiler", "540 degC\n100 bar"), ("turbine", "215 degC\n16.4 kg/s"))
    return graph


def sand_circuit() -> nx.MultiDiGraph:
    """Falling-sand receiver, silos, steam cycle."""
    graph = with_nodes(store=("hot and cold silo", "store"), lift=("bucket lift", "mover"),
                       receiver=("falling-sand receiver", "receiver"), boiler=("steam generator", "exchanger"),
                       turbine=("steam cycle", "cycle"))
    ring(graph, "charge", "quartz sand", ("store", "300 degC\n240 kg/s"), ("lift", "299 degC\n240 kg/s"),
         ("receiver", "750 degC\n240 kg/s"))
    ring(graph, "discharge", "quartz sand", ("store", "745 degC\n105 kg/s"), ("boiler", "300 degC\n105 kg/s"))
    ring(graph, "steam", "water and steam", ("boiler", "540 degC\n100 bar"), ("turbine", "215 degC\n16.4 kg/s"))
    return graph


def random_circuit(seed: int, nodes: int) -> nx.MultiDiGraph:
    """A connected circuit of random families, titles, loops and texts."""
    dice = random.Random(seed)
    graph = nx.MultiDiGraph()
    for k in range(nodes):
        title = " ".join(dice.choice(("feedwater", "preheater", "pump", "of", "rock", "x", "superheater"))
                         for _ in range(dice.randint(1, 4)))
        graph.add_node(k, title=f"{title} {k}", family=dice.choice(FAMILIES))
    for k in range(1, nodes):
        ends = [k, dice.randrange(k)]
        dice.shuffle(ends)
        graph.add_edge(*ends, loop=f"loop {dice.randrange(6)}", medium=dice.choice(("air", "nitrate salt", "")),
                       text=dice.choice(("", "391 degC\n412 kg/s", "17 bar")))
    for _ in range(dice.randint(0, nodes // 2)):
        graph.add_edge(dice.randrange(nodes), dice.randrange(nodes), loop=f"loop {dice.randrange(6)}", medium="oil",
                       text=dice.choice(("", "391 degC\n412 kg/s")))
    return graph
