"""What drives a path: a pump for liquids (cold water among them), a fan for gases, a lift for particles, chosen by the
loop's medium."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from components.movers_physics import GRAVITY, Power, fan_power, lift_power, part_load, pump_power
from loopnet.params import param
from loopnet.plant import Component, Equation, Term, Unknown

__all__ = ["Mover"]

MACHINES = {"liquid": "pump", "steam": "pump", "gas": "fan", "particles": "lift"}
"""Water that may boil passes a pump, as water."""
DENSE = 200.0
"""Density [kg/m3] below which water is no longer taken for a liquid."""


@dataclass(frozen=True, kw_only=True)
class Mover(Component):
    """Pump, fan or lift; its pressure rise is what the path it drives needs.

    Swapping the medium of its loop makes it another machine: power, efficiency and price follow.
    """

    family: ClassVar[str] = "mover"
    phases: ClassVar[dict[str, tuple[str, ...]]] = {"main": ("liquid", "gas", "particles", "steam")}
    consumes: ClassVar[tuple[str, ...]] = ("electricity",)

    efficiency: Any = param(0.75, unit="-", low=0.1, high=0.95, source="common practice, no source",
                            doc="pump or fan at its design flow")
    lift_efficiency: Any = param(0.75, unit="-", low=0.1, high=0.95,
                                 source="between skip hoist (0.8) and bucket elevator (0.65), from memory",
                                 doc="lift for particles")
    motor_efficiency: Any = param(0.95, unit="-", low=0.5, high=1.0, source="common practice, no source",
                                  doc="motor with speed control")
    height: Any = param(0.0, unit="m", low=0.0, high=400.0, source="user",
                        doc="not given back: particles are lifted, liquid rises to an open tower and falls again")

    def unknowns(self) -> Iterable[Unknown]:
        return (Unknown("rise", "Pa", 2e3), Unknown("electricity", "W", 3e5))

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("main.pressure", lambda v: v.main.outlet.p - v.main.inlet.p - v["rise"]),
            Equation("energy", lambda v: v.main.m * (v.main.outlet.h - v.main.inlet.h) - self._heating(v)),
            Equation("electricity", lambda v: v["electricity"] - self._power(v).electric),
        )

    def _power(self, v: Any) -> Power:
        return v.once("power", lambda: self._compute(v))

    def _compute(self, v: Any) -> Power:
        inlet, fluid, share = v.main.inlet, v.main.medium, part_load(np.minimum(v.main.ratio, 1.0))
        if MACHINES[fluid.phase] == "pump":
            head = v["rise"] + inlet.rho * GRAVITY * self.height
            return pump_power(inlet.m, head, inlet.rho, self.efficiency * share, self.motor_efficiency)
        if fluid.phase == "gas":
            return fan_power(inlet.m, v["rise"], inlet.p, inlet.rho, fluid.cp(inlet.T), inlet.T,
                             self.efficiency * share, self.motor_efficiency)
        return lift_power(inlet.m, self.height, self.lift_efficiency, self.motor_efficiency)

    def _heating(self, v: Any) -> Any:
        """What reaches the medium as heat [W]; particles give their height back as friction on the way down."""
        return 0.0 * v.main.m if v.main.medium.phase == "particles" else self._power(v).shaft

    def terms(self, v: Any) -> Iterable[Term]:
        label = MACHINES[v.main.medium.phase]
        return (Term(f"{label} power", "electricity", v["electricity"]),
                Term(f"{label} and motor", "loss", v["electricity"] - self._heating(v)))

    def findings(self, v: Any) -> Iterable[str]:
        """A warning where a pump would suck steam."""
        density = float(np.squeeze(v.main.inlet.rho))
        if v.main.medium.phase != "steam" or density > DENSE:
            return ()
        return (f"steam of {density:.3g} kg/m3 reaches a pump, which stands water only; cool it below boiling",)

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        phase, power = v.main.medium.phase, float(v["electricity"][0])
        if phase == "particles":
            return (book.line("lift.bucket", quantity=power, component=v.name, item="lift"),)
        if phase == "gas":
            return (book.line("fan", quantity=power, component=v.name, item="fan"),)
        flow = float(np.squeeze(v.main.m / v.main.inlet.rho))
        return (book.line("pump", quantity=flow, component=v.name, item="pump"),)
