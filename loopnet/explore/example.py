"""Files to go on with: a space to start from, written from the grammar itself, and a plant file of a winner."""

from __future__ import annotations

from textwrap import fill
from typing import TYPE_CHECKING

from loopnet.explore.candidate import SITE
from loopnet.explore.space import DEMO, Grammar, Number, grammar

if TYPE_CHECKING:
    from loopnet.explore.results import Row

__all__ = ["example_space", "plant_file"]

WIDTH = 110
EXAMPLE = {"collector": ("concrete_trough", "fresnel", "light_heliostat"), "heat": ("390 degC", "565 degC"),
           "store_loop": ("as field",), "store": ("two_tanks", "rock_bed", "silos"), "cycle_loop": ("as store",),
           "cycle": ("steam_5", "reheat_5")}
"""What the example narrows, as far as the grammar has these words: some dozen circuits, run in a minute or so."""


def example_space(speech: Grammar | None = None) -> str:
    """A space as TOML, with all words and numbers of a grammar in comments.

    Parameters
    ----------
    speech : Grammar, optional
        The shipped one if left out.

    Returns
    -------
    str
        Text that `Space.read` reads; as it stands it narrows some words, and two numbers vary.

    Examples
    --------
    >>> "[words]" in example_space()
    True
    """
    speech = speech or grammar()
    lines = ["# What may vary: `loopnet explore` with this file tries all circuits of these words and numbers.",
             "# Take the # from a line to narrow a choice; a choice that is left out may be any of its words.", "",
             'title = "my space"', f'sites = ["{DEMO}"]  # or weather files, such as ["here.epw", "there.csv"]', "",
             "[words]"]
    for name, words in speech.choices().items():
        lines.append(fill(", ".join(words), WIDTH, initial_indent=f"# {name}: ", subsequent_indent="#    "))
        some = [word for word in EXAMPLE.get(name, ()) if word in words]
        lines.append(f"{'' if some else '# '}{name} = [{', '.join(_quoted(word) for word in some or words[:2])}]")
    lines += ["", "[numbers]  # a value, a list of values, or { low = ..., high = ... } for a range"]
    for name, number in speech.numbers().items():
        low, usual, high = (_written(x, number.unit) for x in (number.low, number.default, number.high))
        lines.append(f"# {name}: {number.doc}; {_plain(low)} to {_plain(high)}, {_plain(usual)} if left out")
        vary = name in ("solar_multiple", "store_hours")
        lines.append(f"{'' if vary else '# '}{name} = {_some(number) if vary else usual}")
    return "\n".join(lines) + "\n"


def _some(number: Number) -> str:
    """A list of three values about the usual one."""
    values = (max(number.low, 0.7 * number.default), number.default, min(number.high, 1.4 * number.default))
    rounded = (value if number.unit == "s" else float(f"{value:.2g}") for value in values)
    return f"[{', '.join(_written(value, number.unit) for value in rounded)}]"


def _written(value: float, unit: str) -> str:
    """A number as TOML holds it: a plain number, or text with a unit that people use."""
    if unit == "s":
        return f'"{value / 3600:.4g} hour"'
    if unit == "W":
        return f'"{value / 1e6:.4g} MW"'
    return f"{value:.6g}" if unit in ("-", "") else f'"{value:.6g} {unit}"'


def _plain(text: str) -> str:
    return text.strip('"')


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def plant_file(row: Row, title: str = "") -> str:
    """A Python file whose `build()` draws the plant of a row.

    Parameters
    ----------
    row : Row
    title : str
        Of the space in which it was found.

    Returns
    -------
    str
    """
    chosen = {name: value for name, value in row.candidate.choices if name != SITE}
    told = _harmless(str(row.get("title", "a circuit")))
    cost = f"{100 * row['usd_per_kwh']:.2f} US ct/kWh of {row['product']}" if row.get("usd_per_kwh") else ""
    found = f"Found by `loopnet explore`{f' in {_harmless(title)}' if title else ''}: {cost}."
    lines = [f'"""{told}.', "", found, '"""', "", "from loopnet.explore import grammar",
             "from loopnet.plant import Plant", "", "CHOICES = {",
             *(f"    {name!r}: {value!r},{_hint(name, value)}" for name, value in chosen.items()), "}",
             '"""Words, and numbers in SI."""', "", "", "def build() -> Plant:",
             '    """The plant, drawn; nothing is computed yet."""', "    return grammar().draw(CHOICES)", ""]
    return "\n".join(lines)


def _hint(name: str, value: object) -> str:
    """A number as people say it, where SI is unwieldy."""
    if not isinstance(value, float):
        return ""
    if name.endswith("hours"):
        return f"  # {value / 3600:.4g} h"
    return f"  # {value / 1e6:.4g} MW" if abs(value) >= 1e5 else ""


def _harmless(text: str) -> str:
    """Text that ends no string it stands in."""
    return " ".join(text.replace("\\", "/").replace('"', "'").split())
