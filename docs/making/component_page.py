"""The page of one component, or of a part that components hold, from its class alone."""

from __future__ import annotations

import ast
import inspect
import re
import sys
from dataclasses import MISSING, fields, is_dataclass
from functools import lru_cache
from types import FunctionType
from typing import Any

from components.catalogue import collectors, entry, receivers
from loopnet.money import price_book
from loopnet.params import Parameters
from loopnet.plant import Component
from loopnet.plants import find_plant, shipped
from making.checks import checks_of
from making.source import attribute_docs, calls_in, plain, sentences_in, strings_in, words
from making.words import cell, docstring, extent, quantity, table

__all__ = ["page", "used_in"]

PHASES = "any medium"
WHEN = {"always": "always", "sizing": "only when sizing", "rating": "only when rated"}
KINDS = {"sun": "sun that comes in", "electricity": "electricity taken", "loss": "lost", "power": "electricity given",
         "user": "heat to the user", "store": "into the store"}
NO_SOURCE = ("user", "assumption", "bench test", "common practice, no source")
LETTERS = ("Each is zero where it holds. A side's `heat` is what its medium gains, its `ratio` the flow over that of "
           "the design point, `h` enthalpy, `m` flow, `p` pressure, `T` temperature. What is written `name(v)` is a "
           "function in the code.")
MOST_CHECKS = 30
"""Checks that a page lists; it says how many more there are."""


def page(kind: type[Parameters], maturity: tuple[str, str] | None = None) -> str:
    """The page of a component, or of a part, as markdown.

    Parameters
    ----------
    kind : type
        A component, or another parameter set that components hold.
    maturity : tuple of str, optional
        What it models and how mature it is, from the table in README.md.

    Returns
    -------
    str
        Ends with a line break; the same code gives the same text.
    """
    parts = [f"# {kind.__name__}", _head(kind, maturity), docstring(kind), *_protocol(kind),
             _section("Parameters", _parameters(kind)), *_equations(kind), *_limits(kind),
             _section("Physics", _physics(kind)), _section("Prices", _prices(kind)),
             _section("In the catalogue", _catalogue(kind)),
             _section("In the shipped plants", _shipped(kind)), _section("Checked against the outside", _checks(kind)),
             _section("Sources of its defaults and ranges", _sources(kind)), _cautions(kind)]
    return "\n\n".join(part.strip() for part in parts if part.strip()) + "\n"


def _section(title: str, body: str) -> str:
    return f"## {title}\n\n{body}" if body.strip() else ""


def _head(kind: type, maturity: tuple[str, str] | None) -> str:
    module = kind.__module__.replace(".", "/") + ".py"
    said = f"\n\n**What it models:** {maturity[0]}.\n\n**Maturity:** {maturity[1]}." if maturity else ""
    what = f"Family: {kind.family}. " if issubclass(kind, Component) else ""
    return f"{what}Code: [`{module}`](../../{module}). [All components](README.md).{said}"


# -- what flows, what is known, what is unknown ------------------------------------------------------------------------


def _protocol(kind: type) -> list[str]:
    if not issubclass(kind, Component):
        return []
    rows = [(f"`{side}`", ", ".join(kind.phases.get(side, ())) or PHASES) for side in kind.sides]
    bar = [f"takes electricity: {', '.join(f'`{x}`' for x in kind.consumes)}"] * bool(kind.consumes)
    bar += [f"gives electricity: {', '.join(f'`{x}`' for x in kind.generates)}"] * bool(kind.generates)
    bar += ["fixes the pressure of the paths it lies on"] * kind.holds_pressure
    return [_section("Sides", table(("side", "takes"), rows) + ("\nIt " + "; ".join(bar) + ".\n" if bar else ""))]


def _parameters(kind: type) -> str:
    told, numbers, others = attribute_docs(kind), [], []
    for item in fields(kind):
        meta, default = item.metadata, item.default
        if item.name.startswith("_"):
            continue
        if "unit" in meta:
            plainly = "required" if default is MISSING else quantity(default, meta["unit"], meta["low"])
            about = meta["doc"] or told.get(item.name, "")
            numbers.append((f"`{item.name}`", cell(about), cell(plainly),
                            cell(extent(meta["low"], meta["high"], meta["unit"])), cell(meta["source"])))
        else:
            others.append((f"`{item.name}`", cell(told.get(item.name, "")), _default(item)))
    return "\n".join(part for part in (
        table(("parameter", "what", "default", "allowed", "source"), numbers),
        table(("choice", "what", "default"), others)) if part)


def _default(item: Any) -> str:
    value = item.default_factory() if item.default_factory is not MISSING else item.default
    if value is MISSING:
        return "required"
    if is_dataclass(value):
        return f"[`{type(value).__name__}`]({type(value).__name__}.md)"
    return cell(f'"{value}"' if isinstance(value, str) else value)


def _equations(kind: type) -> list[str]:
    if not issubclass(kind, Component):
        return []
    unknowns = []
    for call in calls_in(kind, "unknowns", "Unknown"):
        named = {k.arg: k.value for k in call.keywords}
        unit = words(call.args[1]) if len(call.args) > 1 else ""
        built = ast.unparse(named["hardware"]) == "True" if "hardware" in named else False
        unknowns.append((f"`{words(call.args[0], named=True) or plain(call.args[0])}`", cell(unit),
                         "built: free when sizing, frozen when rated" if built else "a state"))
    equations = []
    for call in calls_in(kind, "equations", "Equation"):
        named = {k.arg: k.value for k in call.keywords}
        residual = call.args[1] if len(call.args) > 1 else named["residual"]
        body = plain(residual.body) if isinstance(residual, ast.Lambda) else _call(residual)
        when = WHEN[words(named["when"])] if "when" in named and words(named["when"]) else "always"
        equations.append((f"`{words(call.args[0], named=True) or plain(call.args[0])}`", when,
                          f"`{' '.join(body.split())} = 0`".replace("|", "\\|")))
    terms = []
    for call in calls_in(kind, "terms", "Term"):
        if len(call.args) > 1:
            label = cell(words(call.args[0])) or f"by name: `{plain(call.args[0])}`"
            terms.append((label, KINDS.get(words(call.args[1]), words(call.args[1]))))
    intro = "Streams at its outlets (flow, enthalpy, pressure) are unknowns too, and are not listed."
    return [_section("Unknowns", f"{intro}\n\n{table(('unknown', 'unit', 'kind'), dict.fromkeys(unknowns))}"),
            _section("Equations", f"{LETTERS}\n\n"
                     + table(("equation", "holds", "residual"), dict.fromkeys(equations))) if equations else "",
            _section("Energy over its border", table(("flow", "kind"), dict.fromkeys(terms)))]


def _call(residual: ast.AST) -> str:
    """A residual that is a function of its own, as it is called."""
    if isinstance(residual, ast.Call) and ast.unparse(residual.func) == "partial":
        return f"{plain(residual.args[0])}({', '.join(map(plain, residual.args[1:]))}, v)"
    return f"{plain(residual)}(v)"


def _limits(kind: type) -> list[str]:
    if not issubclass(kind, Component):
        return []
    found = [("refused", text) for text in (_what(call) for call in calls_in(kind, "check", "ParameterError")
                                            + calls_in(kind, "check", "SpecificationError")) if text]
    found += [("warned of", text) for text in sentences_in(kind, "findings")]
    return [_section("Limits", table(("", "what is said"), [(how, cell(text)) for how, text in dict.fromkeys(found)]))]


def _what(call: ast.Call) -> str:
    return words(call.args[0]) if call.args else ""


def _physics(kind: type) -> str:
    """Functions of its modules, and those that these take from others of components/, with what they cite."""
    rows = {}
    for base in kind.__mro__:
        if not base.__module__.startswith("components."):
            continue
        module = sys.modules[base.__module__]
        for name, thing in sorted(vars(module).items()):
            ours = isinstance(thing, FunctionType) and thing.__module__.startswith("components.")
            if ours and not name.startswith("_"):
                path = thing.__module__.replace(".", "/") + ".py"
                text = inspect.getdoc(thing) or ""
                rows[name] = (f"[`{name}`](../../{path})", cell(text.split("\n\n")[0]), cell(_references(text)))
    return table(("function", "what it gives", "reference"), rows.values())


def _references(text: str) -> str:
    """The section of a docstring in which it cites."""
    found = re.search(r"^References\n-+\n(.*?)(?=^\S[^\n]*\n-{3,}$|\Z)", text, re.MULTILINE | re.DOTALL)
    return found[1].strip() if found else ""


# -- money, plants, tests, sources -------------------------------------------------------------------------------------


def _prices(kind: type) -> str:
    book = price_book()
    names = {item.default for item in fields(kind) if isinstance(item.default, str)}
    used = sorted(key for key in strings_in(kind) | names if key in book.prices)
    if not used:
        return ""
    return ("Keys of the [price book](../../loopnet/data/prices.toml) that it may use; a medium's price comes on top."
            "\n\n" + table(("key", "price and source"), [(f"`{key}`", cell(book[key].sentence())) for key in used]))


def _catalogue(kind: type) -> str:
    rows = []
    for what, names in (("collector", collectors()), ("receiver", receivers())):
        for name in names:
            found = entry(what, name)
            if kind in _held(found.made):
                rows.append((f"[`{name}`]({what}s.md#{name})", cell(found.title)))
    return table(("entry", "what it is"), rows)


def _held(made: Any) -> set[type]:
    """Classes of an object and of what its fields hold."""
    if not is_dataclass(made):
        return set()
    return {type(made)}.union(*(_held(getattr(made, item.name)) for item in fields(made)))


@lru_cache(maxsize=1)
def used_in() -> dict[str, set[type]]:
    """Shipped plant -> classes of its components and of what these hold."""
    return {name: set().union(*(_held(c) for c in find_plant(name).components.values())) for name in shipped()}


def _shipped(kind: type) -> str:
    return ", ".join(f"[`{name}`](../../architectures/{name}.py)" for name, kinds in used_in().items() if kind in kinds)


def _checks(kind: type) -> str:
    found = checks_of(kind)
    rows = [(f"[{cell(check.title)}](../../{check.file})", cell(check.source) or "see the test")
            for check in found[:MOST_CHECKS]]
    more = f"\n{len(found) - MOST_CHECKS} more stand in the same files.\n" if len(found) > MOST_CHECKS else ""
    return table(("test", "against what"), rows) + more


def _sources(kind: type) -> str:
    found = dict.fromkeys(" ".join(item.metadata["source"].split()) for item in fields(kind) if "unit" in item.metadata)
    return "\n".join(f"* {cell(source)}" for source in found if source not in NO_SOURCE)


def _cautions(kind: type) -> str:
    if not issubclass(kind, Component) or not kind.cautions:
        return ""
    return _section("Cautions: local codes and licensed practice decide",
                    "\n".join(f"* {text}" for text in kind.cautions))
