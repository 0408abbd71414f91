"""All pages that are made: one a component, one a part, the families, the catalogue, the media."""

from __future__ import annotations

import pkgutil
import re
from functools import lru_cache
from importlib import import_module

import components
from components.catalogue import collectors, entry, receivers
from components.receiver import Receiver
from loopnet.media import media_names, medium
from loopnet.money import price_book
from loopnet.params import Parameters
from loopnet.plant import Component
from loopnet.units import show
from making.component_page import page
from making.source import ROOT
from making.words import cell, docstring, table

__all__ = ["README_ROW", "made_pages", "maturities", "parts", "placed"]

FAMILIES = {"field": "Fields of collectors", "pipe": "Pipes", "mover": "Pumps, fans and lifts",
            "exchanger": "Exchangers", "store": "Stores", "cycle": "Cycles and engines", "user": "Users of heat"}
PARTS = {
    "Collectors and how they follow the sun": ("collector", "tracking", "fixed", "fresnel", "heliostats",
                                               "heliostat_beam", "incidence", "soiling"),
    "Receivers": ("receiver", "receiver_tube", "receiver_tower", "receiver_air", "receiver_particles",
                  "receiver_steam", "bench_receiver"),
    "Rows, pipes and insulation": ("row", "field_piping", "piping"),
}
"""Parameter sets that components hold, by the modules in which they stand."""
README_ROW = re.compile(r"^\| (`\w+`(?:, `\w+`)*) \| ([^|]+) \| ([^|]+) \|$", re.MULTILINE)


def maturities() -> dict[str, tuple[str, str]]:
    """What each component models and its maturity: README.md is where both are said.

    Returns
    -------
    dict
        Class name -> the two cells of its row.
    """
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    rows = README_ROW.findall(readme[readme.index("| component |"):])
    return {name: (what.strip(), how.strip()) for names, what, how in rows for name in re.findall(r"\w+", names)}


def placed() -> list[type[Component]]:
    """Components that can be drawn: those of README's table, by family and name."""
    names, found = maturities(), []
    for module in pkgutil.iter_modules(components.__path__):
        loaded = import_module(f"components.{module.name}")
        found += [kind for kind in vars(loaded).values() if isinstance(kind, type) and issubclass(kind, Component)
                  and kind.__module__ == loaded.__name__ and kind.__name__ in names]
    return sorted(found, key=lambda kind: (list(FAMILIES).index(kind.family), kind.__name__))


def parts() -> dict[str, list[type[Parameters]]]:
    """Parameter sets that components hold, by group, in the order of their modules."""
    found: dict[str, list[type[Parameters]]] = {}
    for group, modules in PARTS.items():
        for name in modules:
            loaded = import_module(f"components.{name}")
            found.setdefault(group, []).extend(
                kind for word in loaded.__all__ if isinstance(kind := getattr(loaded, word), type)
                and issubclass(kind, Parameters) and kind is not Receiver and kind.__module__ == loaded.__name__)
    return found


@lru_cache(maxsize=1)
def made_pages() -> dict[str, str]:
    """Every page that is made, by its path below docs/; made once a process."""
    known = maturities()
    pages = {f"reference/{kind.__name__}.md": page(kind, known[kind.__name__]) for kind in placed()}
    pages |= {f"reference/{kind.__name__}.md": page(kind) for kinds in parts().values() for kind in kinds}
    pages["reference/README.md"] = _families()
    pages |= {f"reference/{what}s.md": _catalogue(what, names) for what, names in (
        ("collector", collectors()), ("receiver", receivers()))}
    pages["media.md"] = _media()
    return pages


def _families() -> str:
    known = maturities()
    out = ["# Components", "What can be drawn, by family, and the parts that these hold. Each page is made from the "
           "code: docstring, parameters with unit, range and source, equations, limits, prices, tests.",
           "The catalogue: [collectors](collectors.md), [receivers](receivers.md). What flows: [media](../media.md)."]
    for family, title in FAMILIES.items():
        rows = [(_link(kind), known[kind.__name__][0], known[kind.__name__][1]) for kind in placed()
                if kind.family == family]
        out += [f"## {title}", table(("component", "what it models", "maturity"), rows)]
    out.append("# Parts")
    for group, kinds in parts().items():
        out += [f"## {group}", table(("part", "what it is"), [(_link(kind), cell(_first(kind))) for kind in kinds])]
    return "\n\n".join(part.strip() for part in out) + "\n"


def _link(kind: type) -> str:
    return f"[`{kind.__name__}`]({kind.__name__}.md)"


def _first(kind: type) -> str:
    return docstring(kind).split("\n\n")[0].replace("&lt;", "<").replace("\\*", "*")


def _catalogue(what: str, names: tuple[str, ...]) -> str:
    out = [f"# Catalogue of {what}s", f"From [`components/data/{what}s.toml`](../../components/data/{what}s.toml); in "
           f"a plant: `components.catalogue.{what}(name)`. Every figure says how well it is known. What an entry "
           "leaves out is the default of its class, with its source on the page of that class. [All "
           "components](README.md)."]
    for name in names:
        found = entry(what, name)
        out += [f"## {name}", f"{cell(found.title)}. Class: {_link(type(found.made))}.",
                table(("figure", "value", "status", "source"), [
                    (f"`{f.name}`", cell(f.value), cell(f.status), cell(f.source)) for f in found.figures])]
    return "\n\n".join(part.strip() for part in out) + "\n"


def _media() -> str:
    book = price_book()
    out = ["# Media", "What flows, in which range it may be used, what it costs, and how it hurts. A medium is named "
           'when a loop is drawn: `plant.loop("oil", "diphenyl oil", pressure="14 bar")`. Outside its range it is '
           "refused."]
    for name in media_names():
        found = medium(name)
        limits, said = found.limits, found.limits.sources
        rows = [(label, "none" if value is None else show(value, "K"), cell(said.get(key, "")))
                for label, key, value in (
            ("freezes at", "freezing", limits.freezing), ("coldest allowed", "low", limits.low),
            ("hottest in the stream", "bulk", limits.bulk), ("hottest at a wall", "film", limits.film))]
        out += [f"## {name}", docstring(type(found)).strip(), f"Phase: {found.phase}.",
                table(("limit", "", "source"), rows),
                f"Price `{found.price_key}`: {cell(book[found.price_key].sentence())}.",
                "\n".join(f"* {text}" for text in found.cautions)]
    return "\n\n".join(part.strip() for part in out if part.strip()) + "\n"
