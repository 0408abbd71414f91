"""Collector rows: sun on the aperture, what tracking and optics leave of it, what the receiver loses along the row."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar, Literal

import numpy as np

from components.collector import Collector
from components.receiver import Receiver, TubeLoss, reaches
from components.row import Row
from loopnet.errors import ParameterError
from loopnet.params import param
from loopnet.plant import Component, Equation, Term, Unknown

__all__ = ["CollectorField"]


@dataclass(frozen=True, kw_only=True)
class CollectorField(Component):
    """Many equal rows in parallel, with their flow controlled so that the medium leaves at `outlet`.

    The row is integrated along its length as plug flow, so that the loss, which is nonlinear in temperature, is
    counted where it happens. Sizing frees the aperture.
    """

    family: ClassVar[str] = "field"
    consumes: ClassVar[tuple[str, ...]] = ("drives",)
    cautions: ClassVar[tuple[str, ...]] = (
        "Concentrated sunlight blinds and burns in an instant: fence the field, defocus before anyone enters, wear "
        "filter glasses; local codes and licensed practice decide.",
    )

    collector: Collector = field(default_factory=Collector)
    """The device, of which the field holds many."""
    receiver: Receiver = field(default_factory=TubeLoss)
    """What takes the light, and how it loses heat."""
    row: Row | None = None
    """The tube of a row; None for a receiver on a tower, where nothing flows between devices."""
    outlet: Any = param(unit="K", low=280.0, high=1600.0, source="user", doc="temperature at which the medium leaves")
    inlet_guess: Any = param(500.0, unit="K", low=250.0, high=1400.0, source="start value for the solver only",
                             doc="where the search for the inlet temperature begins")
    turn_down: Any = param(0.08, unit="-", low=0.01, high=0.6, source="common practice, no source",
                           doc="least useful heat over that of the design point")
    freeze_by: Literal["store heat", "trace heating"] = "store heat"
    """What keeps a medium that freezes from doing so at night: heat of the store, brought by circulation, or
    electric trace heating. Where nothing is stored it is electric."""
    freeze_margin: Any = param(15.0, unit="K", low=1.0, high=150.0, source="common practice, no source",
                               doc="held above the freezing point")
    receiver_price: str = ""
    """Price key of the receiver: per metre of tube, per watt of heat at the design point, or per aperture; empty
    where the collector's price holds it."""
    prices: tuple[str, ...] = ("site.improvement",)
    """Price keys per aperture of what is neither collector nor receiver."""
    drop: Any = param(0.0, unit="Pa", low=0.0, high=5e6, source="user",
                      doc="pressure drop of a tower's receiver at the design point; rows compute their own")
    tower: Any = param(0.0, unit="m", low=0.0, high=400.0, source="user", doc="height of a tower to be built")

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.freeze_by not in ("store heat", "trace heating"):
            raise ParameterError("no such way to keep from freezing", where="CollectorField.freeze_by",
                                 got=repr(self.freeze_by), allowed="store heat, trace heating",
                                 hint="store heat is usual for oil, trace heating for salt")
        wide, meant = (getattr(part, "aperture_width", None) for part in (self.collector.tracking, self.receiver))
        if wide is not None and meant is not None and abs(wide - meant) > 0.02 * wide:
            raise ParameterError("receiver and collector disagree on the width of the aperture",
                                 where="CollectorField.receiver", got=f"{meant:g} m", allowed=f"{wide:g} m",
                                 hint=f"{type(self.receiver).__name__}(aperture_width={wide:g}, ...)")
        dense = getattr(self.receiver, "concentration", 0.0)
        if dense > self.collector.limit:
            raise ParameterError("the receiver is made for more concentration than the collector can give",
                                 where="CollectorField.receiver", got=f"{dense:g}",
                                 allowed=f"up to {self.collector.limit:.4g}", hint="a receiver for this collector")

    def unknowns(self) -> Iterable[Unknown]:
        return (Unknown("aperture", "m^2", 2e5, low=0.0, hardware=True), Unknown("drives", "W", 7e4),
                Unknown("focus", "-", 1.0, low=0.0))

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("row", lambda v: v.main.heat - v["aperture"] * self._net(v)),
            Equation("focus", lambda v: v["focus"] - v.given("focus"), role="focus"),
            Equation("outlet", lambda v: v.main.outlet.T - self.outlet),
            Equation("drives", lambda v: v["drives"] - self.collector.drives(v["aperture"])),
            Equation("main.pressure", lambda v: v.main.inlet.p - v.main.outlet.p - self._drop(v)),
        )

    # -- sun and optics, from conditions alone ---------------------------------------------------------------------

    def prepare(self, site: Mapping[str, Any]) -> dict[str, Any]:
        """Per aperture [W/m2]: direct sun, what is lost to each factor, what is absorbed; and the share of the mirrors
        that may be in use, less than all where the receiver would grow too hot."""
        light = self.collector.collect(site, self._absorptance).to_dict()
        borne = self.receiver.bearable(float(self.outlet))
        return {**light, "focus": np.minimum(1.0, borne / np.maximum(light["absorbed"], 1e-9))}

    @property
    def _absorptance(self) -> float | None:
        return getattr(self.receiver, "absorptance", None)

    def efficiency(self) -> float:
        """Optical efficiency at normal incidence [-], clean and new."""
        return self.collector.efficiency(self._absorptance)

    def _optical_losses(self) -> list[str]:
        probe = dict.fromkeys(("zenith", "azimuth", "dni", "wind"), np.zeros(1))
        return [key for key in self.prepare(probe) if key.startswith("lost: ")]

    # -- receiver and row ------------------------------------------------------------------------------------------

    def loss(self, v: Any) -> Any:
        """Heat loss per aperture [W/m2] as a function of temperature [K], at the points of a view."""
        ambient, wind, dni = v.site("ambient"), v.site("wind"), v.given("sun") * v["focus"]

        def of(temperature: Any) -> Any:
            lost = self.receiver(temperature, ambient, wind, dni)
            if self.row is not None:
                lost = lost + self.row.loss(temperature, ambient, wind)
            return lost

        return of

    def _absorbed(self, v: Any) -> Any:
        return v.given("absorbed") * v["focus"]

    def _net(self, v: Any) -> Any:
        inlet, outlet = v.main.inlet, v.main.outlet
        pressure = None if inlet.medium.pressure_free else 0.5 * (inlet.p + outlet.p)
        return v.once("net", lambda: self.receiver.net(inlet.h, outlet.h, self._absorbed(v), self.loss(v),
                                                       inlet.medium, v.site("ambient"), pressure))

    def _drop(self, v: Any) -> Any:
        if self.row is None:
            return self.drop * v.main.ratio**2
        row = self.row
        return v.once("drop", lambda: row.drop(v.main, v.main.m * row.aperture / v["aperture"]))

    def running(self, v: Any) -> Any:
        loss, absorbed = self.loss(v), v.given("absorbed") * v.given("focus")
        design, inlet, outlet = v.frame.design, v.main.inlet.link, v.main.outlet.link
        fluid, pressure = inlet.medium, design[inlet.p]
        reached = reaches(design[outlet.h], absorbed, loss, lambda h: fluid.T(h, pressure))
        useful = self.receiver.net(design[inlet.h], design[outlet.h], absorbed, loss, fluid, v.site("ambient"),
                                   pressure)
        heat = design[inlet.m] * (design[outlet.h] - design[inlet.h])
        return reached & (useful * v["aperture"] >= self.turn_down * heat)

    def sun(self, v: Any) -> Any:
        """Direct sun on the aperture [W]."""
        return v.given("sun") * v["aperture"]

    def idle(self, v: Any) -> dict[str, Any]:
        """What becomes of the sun on the aperture [W] while the field stands still, by name."""
        sun = self.sun(v)
        stowed = np.where(v.given("lost: wind stow") > 0.0, sun, 0.0)
        return {"wind stow": stowed, "too little sun": sun - stowed}

    def terms(self, v: Any) -> Iterable[Term]:
        aperture = v["aperture"]
        used = aperture * v["focus"]
        lost = [Term(key.removeprefix("lost: "), "loss", v.given(key) * used) for key in self._optical_losses()]
        return (
            Term("sun on aperture", "sun", self.sun(v)),
            Term("defocused", "loss", v.given("sun") * (aperture - used)),
            *lost,
            Term("receiver heat", "loss", aperture * (self._absorbed(v) - self._net(v))),
            Term("tracking drives", "electricity", v["drives"]),
            Term("drive motors", "loss", v["drives"]),
        )

    def findings(self, v: Any) -> Iterable[str]:
        layout: Any = getattr(self.collector.tracking, "findings", lambda aperture: [])
        tracked = float(np.squeeze(v["aperture"])) if self.row is None else self.row.aperture  # of one tower or mast
        piped = [] if self.row is None else self.row.findings(v.main.outlet.T, v.site("ambient"), v.name)
        return [*layout(tracked), *piped,
                *self.receiver.findings(v.main.outlet.T, self._absorbed(v), v.main.medium)]

    def check(self, media: dict[str, Any]) -> None:
        fluid = media["main"]
        fluid.check(self.outlet, where="field outlet")
        if self.row is not None and fluid.phase == "particles":
            raise ParameterError("particles do not flow through the tubes of a row", where="CollectorField.row",
                                 got=fluid.name, allowed="a liquid or a gas", hint="row=None, a receiver on a tower")

    def guess(self) -> dict[str, float]:
        return {"main.outlet": self.outlet, "main.inlet": self.inlet_guess}

    def hold(self, v: Any, temperature: Any) -> Any:
        """Heat that keeps the filled rows at a temperature [K] while nothing flows [W]; a tower's receiver drains."""
        return 0.0 if self.row is None else v["aperture"] * self.loss(v)(temperature)

    def warm_up(self, v: Any) -> tuple[float, float, float]:
        """Heat content of the filled rows above ambient [J], the time in which they cool [s], and their working
        temperature [K], at the design point."""
        if self.row is None:
            return 0.0, 3600.0, float(self.outlet)
        middle = 0.5 * float(np.squeeze(v.main.inlet.T + v.main.outlet.T))
        pressure = float(np.squeeze(v.main.inlet.p))
        content = self.row.heat_capacity(v.main.medium, middle, pressure) * float(v["aperture"][0])
        ambient = float(v.site("ambient")[0])
        idle = float(np.squeeze(self.loss(v)(np.array([middle])))) * float(v["aperture"][0])
        return content * (middle - ambient), content * (middle - ambient) / max(idle, 1.0), middle

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        aperture = float(v["aperture"][0])
        yield from self.collector.costs(book, v.name, aperture)
        for key in self.prices:
            yield book.line(key, quantity=aperture, component=v.name, item=key.split(".")[-1].replace("_", " "))
        if self.tower:
            yield book.line("tower", quantity=self.tower, component=v.name, item="tower")
        if self.receiver_price:
            yield book.line(self.receiver_price, component=v.name, item="receiver",
                            quantity=self._receivers(v, book[self.receiver_price].si_unit, aperture))
        if self.row is not None:
            middle = 0.5 * float(np.squeeze(v.main.inlet.T + v.main.outlet.T))
            pressure = float(np.squeeze(v.main.inlet.p))
            yield from self.row.costs(book, v.name, v.main.medium, middle, aperture, pressure)
            if self.freeze_by == "trace heating" and v.main.medium.limits.freezing is not None:
                yield book.line("pipe.trace_heating", quantity=aperture / self.row.aperture * self.row.length,
                                component=v.name, item="trace heating of rows")

    def _receivers(self, v: Any, unit: str, aperture: float) -> float:
        """How much receiver there is, in the unit of its price."""
        if unit == "m" and self.row is not None:
            return float(aperture / self.row.aperture * self.row.tube)
        if unit in ("W", "m2", "m^2"):
            return float(v.main.heat[0]) if unit == "W" else aperture
        raise ParameterError("nothing says how much of it there is", where="CollectorField.receiver_price",
                             got=f"{self.receiver_price}, per {unit}", hint="receiver.tower",
                             allowed="a price per W, per m2 of aperture or, where there are rows, per m")
