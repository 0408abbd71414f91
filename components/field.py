"""Collector rows: sun on the aperture, what tracking and optics leave of it, what the receiver loses along the row."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np

from components.heliostats import HeliostatField
from components.incidence import IncidenceModifier
from components.receiver import Receiver, TubeLoss, reaches
from components.row import Row
from components.tracking import OneAxis, TwoAxis
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

    tracking: OneAxis | TwoAxis | HeliostatField = field(default_factory=OneAxis)
    modifier: IncidenceModifier | None = None
    receiver: Receiver = field(default_factory=TubeLoss)
    row: Row | None = None
    """The tube of a row; None for a receiver on a tower, where nothing flows between devices."""
    outlet: Any = param(unit="K", low=280.0, high=1600.0, source="user", doc="temperature at which the medium leaves")
    inlet_guess: Any = param(500.0, unit="K", low=250.0, high=1400.0, source="start value for the solver only",
                             doc="where the search for the inlet temperature begins")
    optical: Any = param(0.75, unit="-", low=0.05, high=0.97, source="common practice, no source",
                         doc="reflectance x intercept x glass x absorptance, clean, at zero incidence")
    cleanliness: Any = param(0.96, unit="-", low=0.3, high=1.0, source="from memory (0.95 to 0.97)",
                             doc="mean over the year")
    drive_power: Any = param(0.35, unit="W/m^2", low=0.0, high=20.0, source="assumption",
                             doc="tracking drives and controls per aperture while the field runs")
    turn_down: Any = param(0.08, unit="-", low=0.01, high=0.6, source="common practice, no source",
                           doc="least useful heat over that of the design point")
    prices: tuple[str, ...] = ("collector.trough",)
    """Price keys per m2 of aperture."""
    receiver_price: str = ""
    """Price key of the receiver: per metre of tube where the rows are tubes, else per watt of heat at the design
    point; empty where `prices` hold it."""
    tower: Any = param(0.0, unit="m", low=0.0, high=400.0, source="user", doc="height of a tower to be built")

    def unknowns(self) -> Iterable[Unknown]:
        return (Unknown("aperture", "m^2", 2e5, low=0.0, hardware=True), Unknown("drives", "W", 7e4))

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("row", lambda v: v.main.heat - v["aperture"] * self._net(v)),
            Equation("outlet", lambda v: v.main.outlet.T - self.outlet),
            Equation("drives", lambda v: v["drives"] - self.drive_power * v["aperture"]),
            Equation("main.pressure", lambda v: v.main.inlet.p - v.main.outlet.p - self._drop(v)),
        )

    # -- sun and optics, from conditions alone ---------------------------------------------------------------------

    def prepare(self, site: Mapping[str, Any]) -> dict[str, Any]:
        """Per aperture [W/m2]: direct sun, what is lost to each factor, what is absorbed."""
        beam = self.tracking.incidence(site["zenith"], site["azimuth"])
        if self.modifier is not None:
            beam = beam.modified(self.modifier)
        left = np.where(np.cos(site["zenith"]) > 0, site["dni"], 0.0)
        out = {"sun": left}
        factors = {**beam.factors, "optics": self.optical, "soiling": self.cleanliness}
        for label, factor in factors.items():
            out[f"lost: {label}"] = left * (1 - factor)
            left = left * factor
        return {**out, "absorbed": left}

    def _optical_losses(self) -> list[str]:
        probe = {"zenith": np.zeros(1), "azimuth": np.zeros(1), "dni": np.ones(1)}
        return [key for key in self.prepare(probe) if key.startswith("lost: ")]

    # -- receiver and row ------------------------------------------------------------------------------------------

    def loss(self, v: Any) -> Any:
        """Heat loss per aperture [W/m2] as a function of temperature [K], at the points of a view."""
        ambient, wind, dni = v.site("ambient"), v.site("wind"), v.given("sun")

        def of(temperature: Any) -> Any:
            lost = self.receiver(temperature, ambient, wind, dni)
            if self.row is not None:
                lost = lost + self.row.loss(temperature, ambient, wind)
            return lost

        return of

    def _net(self, v: Any) -> Any:
        return v.once("net", lambda: self.receiver.net(v.main.inlet.h, v.main.outlet.h, v.given("absorbed"),
                                                       self.loss(v), v.main.medium, v.site("ambient")))

    def _drop(self, v: Any) -> Any:
        if self.row is None:
            return 0.0 * v.main.m
        return self.row.drop(v.main, v.main.m * self.row.aperture / v["aperture"])

    def running(self, v: Any) -> Any:
        fluid, hot = v.main.medium, self.outlet
        loss, absorbed = self.loss(v), v.given("absorbed")
        reached = reaches(float(fluid.h(hot)), absorbed, loss, fluid.T)
        cold = float(v.main.inlet.medium.T(v.frame.design[v.main.inlet.link.h]))
        useful = absorbed - loss(0.5 * (hot + cold))
        design = v.frame.design
        heat = design[v.main.inlet.link.m] * (design[v.main.outlet.link.h] - design[v.main.inlet.link.h])
        return reached & (useful * v["aperture"] >= self.turn_down * heat)

    def sun(self, v: Any) -> Any:
        """Direct sun on the aperture [W]."""
        return v.given("sun") * v["aperture"]

    def terms(self, v: Any) -> Iterable[Term]:
        aperture = v["aperture"]
        lost = [Term(key.removeprefix("lost: "), "loss", v.given(key) * aperture) for key in self._optical_losses()]
        return (
            Term("sun on aperture", "sun", self.sun(v)),
            *lost,
            Term("receiver heat", "loss", aperture * (v.given("absorbed") - self._net(v))),
            Term("tracking drives", "electricity", v["drives"]),
            Term("drive motors", "loss", v["drives"]),
        )

    def findings(self, v: Any) -> Iterable[str]:
        return self.receiver.findings(v.main.outlet.T, v.given("absorbed"), v.main.medium)

    def check(self, media: dict[str, Any]) -> None:
        fluid = media["main"]
        fluid.check(self.outlet, where="field outlet")
        if self.row is not None and fluid.phase == "particles":
            raise ParameterError("particles do not flow through the tubes of a row", where="CollectorField.row",
                                 got=fluid.name, allowed="a liquid or a gas", hint="row=None, a receiver on a tower")

    def guess(self) -> dict[str, float]:
        return {"main.outlet": self.outlet, "main.inlet": self.inlet_guess}

    def warm_up(self, v: Any) -> tuple[float, float]:
        """Heat content of the filled rows above ambient [J] and the time in which they cool [s], design point."""
        if self.row is None:
            return 0.0, 3600.0
        middle = 0.5 * float(np.squeeze(v.main.inlet.T + v.main.outlet.T))
        content = self.row.heat_capacity(v.main.medium, middle) * float(v["aperture"][0])
        ambient = float(v.site("ambient")[0])
        idle = float(np.squeeze(self.loss(v)(np.array([middle])))) * float(v["aperture"][0])
        return content * (middle - ambient), content * (middle - ambient) / max(idle, 1.0)

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        aperture = float(v["aperture"][0])
        for key in (*self.prices, "washing"):
            yield book.line(key, quantity=aperture, component=v.name, item=key.split(".")[-1].replace("_", " "))
        if self.tower:
            yield book.line("tower", quantity=self.tower, component=v.name, item="tower")
        if self.row is None:
            if self.receiver_price:
                yield book.line(self.receiver_price, quantity=float(v.main.heat[0]), component=v.name, item="receiver")
            return
        if self.receiver_price:
            yield book.line(self.receiver_price, quantity=aperture / self.row.aperture * self.row.length,
                            component=v.name, item="receiver tube")
        middle = 0.5 * float(np.squeeze(v.main.inlet.T + v.main.outlet.T))
        yield from self.row.costs(book, v.name, v.main.medium, middle, aperture)
