"""A report: one HTML file that holds all it shows, reads nothing from elsewhere, and prints to paper."""

from __future__ import annotations

import base64
import datetime as dt
import hashlib
import platform
from collections.abc import Iterable, Sequence
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loopnet.errors import DataError
from loopnet.page import parts
from loopnet.page import sentences as say
from loopnet.page.findings import Findings, gather
from loopnet.page.pictures import of_group, of_plant
from loopnet.page.svg import dark_rules, printable
from loopnet.report import hazards
from loopnet.report_why import BEYOND

if TYPE_CHECKING:
    from loopnet.money import PriceBook
    from loopnet.site import Weather
    from loopnet.study import Assessment, Ranking, Uncertainty
    from loopnet.year import Operation

__all__ = ["day_of", "report_html", "write_report"]

LIBRARIES = ("loopnet", "numpy", "scipy", "pandas", "networkx", "CoolProp", "pvlib", "fluids", "ht", "matplotlib",
             "jinja2")
"""Whose versions stand in a report."""


def write_report(results: Ranking | Assessment | Iterable[Assessment], path: str | Path, *,
                 weather: Weather | None = None, book: PriceBook | None = None,
                 uncertain: Sequence[Uncertainty] | None = None, operation: Operation | None = None,
                 command: str = "", date: str | dt.date | None = None) -> Path:
    """Write what was found about plants as one HTML file for people who never open Python.

    Parameters
    ----------
    results : Ranking, Assessment or iterable of Assessment
        What to tell; plants of different goods are ranked apart.
    path : str or Path
        File to write.
    weather : Weather, optional
        What the plants were assessed under; without it the page says nothing of what moves the cost, what others cost
        and how sure the order is.
    book : PriceBook, optional
        What the plants were assessed with; the shipped one if left out.
    uncertain : sequence of Uncertainty, optional
        Draws, one for each product; if left out, prices alone are drawn; an empty sequence draws nothing.
    operation : Operation, optional
        How the plants were run; as usual if left out.
    command : str
        The command that makes the file again.
    date : str or date, optional
        Printed on it, as ``"2026-03-01"``; today if left out. The same input and date give the same bytes.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    ParameterError
        If there is no plant, two bear one name, or weather, prices or draws are not those of the results.
    DataError
        If the file cannot be written or the date cannot be read.
    """
    text, target = report_html(results, weather=weather, book=book, uncertain=uncertain,
                               operation=operation, command=command, date=date), Path(path)
    try:
        target.write_bytes(text.encode("utf-8"))
    except OSError as why:
        raise DataError("cannot write there", where=f"report {target}", got=why.strerror or str(why),
                        allowed="a place where you may write", hint="another path") from why
    return target


def report_html(results: Ranking | Assessment | Iterable[Assessment], *, weather: Weather | None = None,
                book: PriceBook | None = None, uncertain: Sequence[Uncertainty] | None = None,
                operation: Operation | None = None, command: str = "", date: str | dt.date | None = None) -> str:
    """The text of the file that `write_report` writes.

    Parameters
    ----------
    results, weather, book, uncertain, operation, command, date
        As there.

    Returns
    -------
    str
    """
    day = day_of(date)
    found = gather(results, weather=weather, book=book, uncertain=uncertain, operation=operation)
    groups = [{"group": group, "pictures": of_group(group, f"g{place}")}
              for place, group in enumerate(found.groups, start=1)]
    plants = [{"plant": a, "pictures": of_plant(a, f"p{place}")} for place, a in enumerate(found.plants, start=1)]
    drawings = [picture.svg for part in (*groups, *plants) for picture in part["pictures"].values()]  # type: ignore[attr-defined]
    style = _style(drawings)
    script = _data("report.js")
    page = _template().render(
        title=say.counted(found), day=day, found=found, groups=groups, plants=plants, say=say, parts=parts,
        style=style, script=script, policy=_policy(style, script), hazards=hazards(a.plant for a in found.plants),
        beyond=BEYOND, command=command, versions=_versions(), python=platform.python_version(),
        figures=_figures(found))
    return printable(page)


def day_of(date: str | dt.date | None) -> str:
    """A date as it stands on the page: year-month-day; today where none is given."""
    if date is None:
        return dt.date.today().isoformat()
    try:
        return (dt.date.fromisoformat(date) if isinstance(date, str) else date).isoformat()
    except ValueError:
        raise DataError("this is no date", where="report.date", got=repr(date), allowed="year-month-day",
                        hint="2026-03-01") from None


@lru_cache(maxsize=4)
def _data(name: str) -> str:
    return (files("loopnet.page") / "data" / name).read_text(encoding="utf-8")


@lru_cache(maxsize=1)
def _template() -> Any:
    from jinja2 import DictLoader, Environment, StrictUndefined

    room = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
                       loader=DictLoader({name: _data(name) for name in ("report.html", "macros.html")}))
    room.policies["json.dumps_kwargs"] = {"sort_keys": False, "allow_nan": False}
    return room.get_template("report.html")


def _style(drawings: Sequence[str]) -> str:
    """The style sheet, with the colours of the pictures on dark paper; on real paper they keep their own."""
    return f"{_data('report.css')}\n@media screen and (prefers-color-scheme: dark) {{\n{dark_rules(drawings)}\n}}\n"


def _policy(style: str, script: str) -> str:
    """Nothing is loaded, and only the style and the script of the page itself are heeded, by their fingerprints."""
    own = [f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'" for text in (style, script)]
    return (f"default-src 'none'; style-src {own[0]}; script-src {own[1]}; img-src data:; base-uri 'none'; "
            "form-action 'none'")


def _versions() -> list[tuple[str, str]]:
    found = []
    for name in LIBRARIES:
        try:
            found.append((name, version(name)))
        except PackageNotFoundError:
            found.append((name, "not installed as a package"))
    return found


def _figures(found: Findings) -> list[dict[str, Any]]:
    """What `loopnet rank --json` writes."""
    chances = {name: p for g in found.groups if g.uncertainty for name, p in g.uncertainty.probability_first.items()}
    return [{**a.to_dict(), **({"probability_first": chances[a.name]} if a.name in chances else {})}
            for a in found.plants]
