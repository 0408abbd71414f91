"""`loopnet fit`: a collector from its builder's measurements."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated

import typer

from loopnet.commands.options import Debug, JsonFile, PlotFolder
from loopnet.output import reach, save_all, write_json

__all__ = ["fit"]


def fit(measurements: Annotated[str, typer.Argument(metavar="FILE.csv", help=(
            "Your measurements: a line of headings with units, such as 'time [min], dni [W/m2], ambient [degC], "
            "inlet [degC], outlet [degC], flow [L/min]' or '..., boiled [kg/h]', then one line a reading."))],
        aperture: Annotated[str | None, typer.Option(help="Opening of the mirrors, such as '12 m2'.")] = None,
        medium: Annotated[str | None, typer.Option(help="What flows; water if left out.")] = None,
        heat_capacity: Annotated[str | None, typer.Option(help=(
            "Of an oil: '2.1 kJ/kg/K', or '1.9 kJ/kg/K at 20 degC, 2.6 kJ/kg/K at 250 degC'."))] = None,
        density: Annotated[str | None, typer.Option(help="Of an oil: '860 kg/m3', or as above.")] = None,
        altitude: Annotated[str | None, typer.Option(help="Height above the sea, such as '1200 m'.")] = None,
        terms: Annotated[str | None, typer.Option(help="Terms to fit, none of which is dropped: eta0,a1,a2.")] = None,
        dynamic: Annotated[bool, typer.Option("--dynamic", help="Keep readings that are not steady.")] = False,
        json_file: JsonFile = None, plots: PlotFolder = None, debug: Debug = False) -> None:
    """Find optical efficiency and heat losses of a collector from its builder's own measurements, with their certainty.

    What the options give may also stand above the headings, in lines such as '# aperture: 12 m2'.
    """
    from importlib import import_module

    reach(json_file, plots)
    found = import_module("components.bench_fit").fit_collector(
        measurements, aperture=aperture, medium=medium, heat_capacity=heat_capacity, density=density, dynamic=dynamic,
        altitude=altitude, terms=terms and [term.strip() for term in terms.split(",")])
    if json_file != "-":
        typer.echo(found.report())
    write_json(json_file, found.to_dict())
    if plots:
        start = re.sub(r"[^\w.-]+", "_", Path(measurements).stem)
        save_all([(f"{start}_fit.png", found.picture)], plots, json_file)
