"""The penalty of smallness: what the pipes of a field lose, hold, pump and cost per aperture, and how that grows as the
same aperture is built from smaller devices."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from math import pi
from typing import Any

import numpy as np

from components.economic_pipe import PipeMoney
from components.field_piping import FieldPiping
from components.friction import diameter_for_velocity, pressure_drop
from components.legs import conductances, drop, lost_share, stuff
from components.pipe_heat import conductance_per_metre
from components.pipe_sizes import sizes_of
from components.piping import Insulation, Steel, insulation_volume, steel_mass
from components.row import STEEL, WALL
from loopnet.params import Parameters, param

__all__ = ["FieldDuty", "PipingFigures", "piping_figures", "smallness", "smallness_table"]

MIN_ROW, MAX_ROW = 30.0, 3e4
"""Aperture on one flow path that is tried [m2]."""
LAYERS = (0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.1, 0.12, 0.15, 0.2)
"""Thickness of insulation that is tried, as sections are sold [m]; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class FieldDuty(Parameters):
    """What a field does at its design point, for figures of its pipes alone.

    >>> FieldDuty().useful
    550.0
    """

    cold: Any = param("290 degC", unit="K", low=200.0, high=1500.0, source="user", doc="into the rows")
    hot: Any = param("390 degC", unit="K", low=200.0, high=1600.0, source="user", doc="out of the rows")
    useful: Any = param(550.0, unit="W/m^2", low=1.0, high=1500.0, source="assumption",
                        doc="heat into the medium per aperture")
    ambient: Any = param("15 degC", unit="K", low=200.0, high=340.0, source="assumption")
    wind: Any = param(2.5, unit="m/s", low=0.0, high=30.0, source="assumption")
    velocity: Any = param(2.2, unit="m/s", low=0.05, high=80.0, source="common practice, no source",
                          doc="in headers at the design point")
    gauge: Any = param("15 bar", unit="Pa", low=0.0, high=4e7, source="user", doc="design pressure")
    pump: Any = param(0.65, unit="-", low=0.01, high=1.0, source="common practice, no source")


@dataclass(frozen=True)
class PipingFigures:
    """Rows, headers and runners of a field, both temperatures, per aperture."""

    device: float
    """Aperture of one device [m2]."""
    devices: float
    """Number of devices [-]."""
    in_series: float
    """Devices on one flow path [-]."""
    bore: float
    """Inner diameter of a row [m]."""
    pipe: float
    """Length of all pipes outside receivers [m/m2]."""
    row_loss: float
    """Heat lost by the pipes of rows [W/m2]."""
    header_loss: float
    """Heat lost by headers and runners [W/m2]."""
    pumping: float
    """Electricity for friction [W/m2]."""
    row_drop: float
    """Pressure drop of a row [Pa]."""
    header_drop: float
    """Pressure drop of headers and runners, there and back [Pa]."""
    inventory: float
    """Medium in all pipes and tubes [kg/m2]."""
    warm_up: float
    """Heat of medium and steel above ambient [J/m2]."""
    joints: float
    """Flexible joints [1/m2]."""
    cost: float
    """Pipes, insulation, joints, valves and medium, bought [USD/m2]."""

    @property
    def loss(self) -> float:
        """All heat lost by pipes [W/m2]."""
        return self.row_loss + self.header_loss

    def to_dict(self) -> dict[str, float]:
        """All figures by name, SI."""
        return {**asdict(self), "loss": self.loss}


def piping_figures(layout: FieldPiping, aperture: float, medium: Any, duty: FieldDuty, book: Any,
                   insulation: Insulation | None = None) -> PipingFigures:
    """Figures of the pipes of a field at its design point, in closed form.

    Parameters
    ----------
    layout : FieldPiping
        Where the pipes run.
    aperture : float
        Of all devices [m2].
    medium : Medium
        A liquid or a gas of one phase.
    duty : FieldDuty
        Temperatures, heat, air.
    book : PriceBook
        Prices of pipe, insulation, joints, valves and medium.
    insulation : Insulation, optional
        Of the headers; of the rows too where the layout has none.

    Returns
    -------
    PipingFigures

    Notes
    -----
    Rows are taken at their mean temperature. Receivers, which lose by their own law, are not in these figures, the
    medium in their tubes is.

    Examples
    --------
    >>> from loopnet.media import medium
    >>> from loopnet.money import price_book
    >>> field = FieldPiping.of_points("10 m2", in_series=100, insulation=Insulation(thickness=0.05))
    >>> made = piping_figures(field, 1e5, medium("diphenyl oil"), FieldDuty(), price_book())
    >>> made.devices, round(made.pipe, 2)
    (10000.0, 1.07)
    """
    wool = insulation or Insulation()
    layout = layout if layout.insulation is not None else replace(layout, insulation=wool)
    row, legs, middle = layout.row(), layout.legs(aperture), 0.5 * (duty.hot + duty.cold)
    rows = float(layout.rows(aperture))
    flow = duty.useful * aperture / float(medium.h(duty.hot) - medium.h(duty.cold))

    def state(t: float) -> tuple[float, float]:
        return float(medium.rho(t)), float(medium.mu(t))

    rho, mu = state(middle)
    row_drop = float(pressure_drop(flow / rows, rho, mu, row.diameter, row.length, minor=row.fittings))
    row_loss = float(row.loss(middle, duty.ambient, duty.wind))
    inside = rows * row.length * pi / 4 * row.diameter**2
    mass, steel = inside * rho, rows * row.length * float(steel_mass(row.diameter, WALL, STEEL))
    held = (mass * float(medium.cp(middle)) + steel * STEEL.cp) * (middle - duty.ambient)
    usd = sum(line.usd for line in row.costs(book, "rows", medium, middle, aperture))
    header_loss = header_drops = 0.0
    length = rows * row.outside
    for t in (duty.cold, duty.hot):
        density, viscosity = state(t)
        whole = float(diameter_for_velocity(flow, density, duty.velocity))
        each, capacity = conductances(legs, t, duty.ambient, whole, wool, duty.wind), flow * float(medium.cp(t))
        header_loss += float(lost_share(legs, each, capacity) * capacity * (t - duty.ambient)) / aperture
        header_drops += float(drop(legs, flow, density, viscosity, whole))
        made = stuff(legs, whole, wool, Steel(), duty.gauge)
        length, mass = length + made.length, mass + made.inside * density
        held += (made.inside * density * float(medium.cp(t)) + made.steel * STEEL.cp) * (t - duty.ambient)
        for key, quantity in (("duct.steel" if medium.phase == "gas" else "pipe.steel_erected", made.steel),
                              ("insulation.mineral_wool", made.insulation), (medium.price_key, made.inside * density)):
            usd += book.line(key, quantity=quantity, component="headers").usd
    return PipingFigures(
        device=layout.device, devices=rows * layout.in_series, in_series=layout.in_series, bore=row.diameter,
        pipe=length / aperture, row_loss=row_loss, header_loss=header_loss, row_drop=row_drop,
        header_drop=header_drops, pumping=flow * (row_drop + header_drops) / (rho * duty.pump) / aperture,
        inventory=mass / aperture, warm_up=held / aperture, joints=row.joints * rows / aperture, cost=usd / aperture)


def smallness(medium: Any, duty: FieldDuty, book: Any, *, devices: Sequence[float] = (1.0, 10.0, 100.0, 1000.0),
              aperture: float = 1e6, money: PipeMoney | None = None, insulation: Insulation | None = None,
              **layout: Any) -> tuple[PipingFigures, ...]:
    """The same aperture built from devices of several sizes, each with the rows that cost least in a year.

    For each size the number of devices in series, the bore of the row (standard steel pipe) and its insulation are
    chosen; headers have the insulation that is given.

    Parameters
    ----------
    medium : Medium
        A liquid or a gas of one phase.
    duty : FieldDuty
        Temperatures, heat, air.
    book : PriceBook
        Prices.
    devices : sequence of float
        Aperture of one device [m2].
    aperture : float
        Of the whole field [m2].
    money : PipeMoney, optional
        Annuity, worth of heat and electricity, hours; with the prices of the book if not given.
    insulation : Insulation, optional
        Its conductivity holds for rows and headers.
    **layout
        More parameters of `FieldPiping.of_points`, such as cover or joints.

    Returns
    -------
    tuple of PipingFigures
        One for each size.

    Examples
    --------
    >>> from loopnet.media import medium
    >>> from loopnet.money import price_book
    >>> small, large = smallness(medium("diphenyl oil"), FieldDuty(), price_book(), devices=(1.0, 1000.0))
    >>> bool(small.loss > 3 * large.loss), bool(small.cost > 3 * large.cost), round(small.devices)
    (True, True, 1000000)
    """
    worth, wool = money or PipeMoney.of_book(book, gas=medium.phase == "gas"), insulation or Insulation(thickness=0.1)

    def yearly(made: PipingFigures) -> float:
        power = worth.electricity * worth.flowing * made.pumping
        return worth.annuity * made.cost + worth.heat * worth.hot * made.loss + power

    best = []
    for device in devices:
        most = max(aperture / 8.0, device)
        paths = np.unique(np.geomspace(max(MIN_ROW / device, 1.0), max(min(MAX_ROW, most) / device, 1.0), 13).round())
        tried = []
        for in_series in paths:
            field = FieldPiping.of_points(device, in_series=float(in_series), **{"branches": None, **layout})
            field = _cheapest_row(field, medium, duty, worth, wool, book)
            tried.append(piping_figures(field, aperture, medium, duty, book, wool))
        best.append(min(tried, key=yearly))
    return tuple(best)


def _cheapest_row(field: FieldPiping, medium: Any, duty: FieldDuty, money: PipeMoney, wool: Insulation,
                  book: Any) -> FieldPiping:
    """The field with the bore and insulation at which one row costs least in a year."""
    middle = 0.5 * (duty.hot + duty.cold)
    rho, mu = float(medium.rho(middle)), float(medium.mu(middle))
    flow = duty.useful * field.row_aperture / float(medium.h(duty.hot) - medium.h(duty.cold))
    bore = sizes_of("40")[:, 1]
    row = field.row()
    hung = sum(each * book.line(key, quantity=1.0, component="row").usd * bore
               for key, each in (("pipe.flexible_joint", row.joints), ("pipe.valve", row.valves)))
    held = row.length * pi / 4 * bore**2 * rho * book.line(medium.price_key, quantity=1.0, component="row").usd
    bare = row.outside * steel_mass(bore, 2.5e-3, STEEL) * book.line("duct.steel", quantity=1.0, component="row").usd
    power = pressure_drop(flow, rho, mu, bore, row.length, minor=row.fittings) * flow / (rho * duty.pump)
    shared = money.annuity * (hung + held + bare) + money.electricity * money.flowing * power
    least = (np.inf, field)
    for thickness in LAYERS:
        layer = replace(wool, thickness=thickness)
        lost = conductance_per_metre(middle, duty.ambient, bore * 1.06, layer, duty.wind) * (middle - duty.ambient)
        total = (shared + money.heat * money.hot * lost * (row.outside + row.joints * row.joint_length)
                 + money.annuity * money.insulation * row.outside * insulation_volume(bore, layer))
        at = int(np.argmin(total))
        if total[at] < least[0]:
            least = float(total[at]), replace(field, diameter=float(bore[at]), insulation=layer)
    return least[1]


def smallness_table(figures: Sequence[PipingFigures]) -> Any:
    """Figures side by side, one row for each size of device.

    Parameters
    ----------
    figures : sequence of PipingFigures
        As from `smallness`.

    Returns
    -------
    pandas.DataFrame
        Columns with their units, indexed by the aperture of one device [m2].

    Examples
    --------
    >>> list(smallness_table([]).columns)[:3]
    ['devices', 'in series', 'bore [mm]']
    """
    import pandas as pd

    columns: dict[str, tuple[str, float]] = {
        "devices": ("devices", 1.0), "in series": ("in_series", 1.0), "bore [mm]": ("bore", 1e3),
        "pipe [m/m2]": ("pipe", 1.0), "rows lose [W/m2]": ("row_loss", 1.0),
        "headers lose [W/m2]": ("header_loss", 1.0), "pumping [W/m2]": ("pumping", 1.0),
        "medium [kg/m2]": ("inventory", 1.0), "joints [1/m2]": ("joints", 1.0),
        "warm-up [kWh/m2]": ("warm_up", 1.0 / 3.6e6), "cost [USD/m2]": ("cost", 1.0)}
    made = {title: [getattr(f, name) * scale for f in figures] for title, (name, scale) in columns.items()}
    return pd.DataFrame(made, index=pd.Index([f.device for f in figures], name="device [m2]"))
