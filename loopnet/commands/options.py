"""Arguments and options that commands share: one wording each."""

from __future__ import annotations

from typing import Annotated

import typer

__all__ = ["Debug", "DispatchRule", "FinanceTerms", "JsonFile", "OperationTerms", "OutageDays", "PlantName",
           "PlantNames", "PlotFolder", "PriceFile", "Quick", "ReadyShare", "WeatherFile"]

PlantName = Annotated[str, typer.Argument(
    metavar="PLANT", help="A shipped plant by name, or the path of a Python file.")]
PlantNames = Annotated[list[str] | None, typer.Argument(
    metavar="PLANT", help="Shipped plants by name, or paths of Python files; all shipped plants if left out.")]
WeatherFile = Annotated[str | None, typer.Option("--weather", metavar="FILE", help=(
    "A year of weather: EPW, TMY3 or NSRDB-style CSV; the invented year of Tamarisk Basin if left out."))]
JsonFile = Annotated[str | None, typer.Option("--json", metavar="FILE", help=(
    "Write the figures as JSON; - writes them to standard output, and nothing else there."))]
PriceFile = Annotated[str | None, typer.Option("--prices", metavar="FILE", help=(
    "Your own prices as TOML, laid over the price book; it holds only what differs."))]
DispatchRule = Annotated[str | None, typer.Option("--dispatch", metavar="RULE", help=(
    "When the turbine runs: round-the-clock (if left out), sun, evening=17-23, demand=FILE, prices=FILE, plan=FILE or "
    "plan-perfect=FILE; FILE is CSV with 24 or 8760 lines under 'hour, demand [%]' or 'hour, price [USD/MWh]'."))]
OutageDays = Annotated[list[str] | None, typer.Option("--outage", metavar="DAYS", help=(
    "Days on which the plant rests, such as '03-01 to 03-14' (month-day) or '12-25'; may be given again."))]
ReadyShare = Annotated[str | None, typer.Option("--ready", metavar="SHARE", help=(
    "Share of the time in which nothing is broken, such as 0.96; 1 if left out."))]
OperationTerms = Annotated[list[str] | None, typer.Option("--operation", metavar="TERM", help=(
    "How the plant is run: a TOML file, or NAME=VALUE, given again for more. Names: outages, ready, standby (share of "
    "gross power, '0.55 %' if left out), least_up, least_down (such as '3 hour'), ramp (load levels per step)."))]
FinanceTerms = Annotated[list[str] | None, typer.Option("--finance", metavar="TERM", help=(
    "What money costs: a TOML file, or NAME=VALUE, given again for more, such as 'rate=5 %' and life=30. Names: those "
    "of loopnet.money.Finance."))]
Quick = Annotated[bool, typer.Option("--quick", help=(
    "Read each year from an operating map: faster, and its error is estimated and told."))]
PlotFolder = Annotated[str | None, typer.Option("--plots", metavar="FOLDER", help="Write pictures into this folder.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show where in the code an error arose; may stand anywhere.")]
