"""Back-pressure steam turbine: all steam leaves at the pressure of a user, who returns condensate."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike

from components.cycle_points import back_pressure_portrait
from components.engine import part_load
from components.feedwater import pump_work
from components.rankine import SteamLine, descend
from components.steam_follow import pressure_moved
from components.turbine_size import SOURCE, efficiency_of_size
from loopnet.media import Isobar
from loopnet.params import param
from loopnet.plant import Component, Cycle, Equation, Term, Unknown

__all__ = ["BackPressureTurbine", "ellipse"]


def ellipse(p_design: ArrayLike, exit_: ArrayLike, flow_ratio: ArrayLike, T: ArrayLike, T_design: ArrayLike) -> Any:
    """Pressure before a turbine that exhausts at a pressure that is held: Stodola's ellipse.

    p^2 = p2^2 + (p_design^2 - p2^2) x^2 T / T_design, with x the flow over that of the design point.

    Parameters
    ----------
    p_design, exit_ : float or ndarray
        Pressure before the turbine at the design point, and behind it at all times [Pa].
    flow_ratio : float or ndarray
        Flow over that of the design point [-].
    T, T_design : float or ndarray
        Temperature before the turbine, now and at the design point [K].

    Returns
    -------
    float or ndarray
        Pressure before the turbine [Pa].

    References
    ----------
    Stodola, Dampf- und Gasturbinen, 1922, from memory.

    Examples
    --------
    >>> round(float(ellipse(40e5, 4e5, 0.5, 673.15, 673.15)) / 1e5, 2)
    20.3
    """
    low = np.asarray(exit_, dtype=float) ** 2
    return np.sqrt(low + (np.asarray(p_design, dtype=float) ** 2 - low) * np.asarray(flow_ratio) ** 2
                   * np.asarray(T) / np.asarray(T_design))


@dataclass(frozen=True, kw_only=True)
class BackPressureTurbine(Component):
    """Turbine, deaerator and feed pump between a boiler and a user of steam: electricity and heat from one flow.

    A part of the exhaust heats the deaerator; the rest goes to the user, from whom a share comes back as condensate
    and is made up with fresh water. The heat to the user is what steam holds above that mixture. Sizing follows the
    plant's net power; heat follows power. Rated, the back pressure is held and the pressure before the turbine slides.
    """

    family: ClassVar[str] = "cycle"
    holds_pressure: ClassVar[bool] = True
    phases: ClassVar[dict[str, tuple[str, ...]]] = {"main": ("steam",)}
    consumes: ClassVar[tuple[str, ...]] = ("pumps",)
    generates: ClassVar[tuple[str, ...]] = ("power",)
    cautions: ClassVar[tuple[str, ...]] = (
        "Steam lines to users scald and burst: relief valves, drains and pressure rules by local codes and licensed "
        "people; condensate from users is watched for what leaks into it.",
    )

    pressure: Any = param("40 bar", unit="Pa", low=2e5, high=2e7, source="common practice, no source",
                          doc="main steam at the turbine inlet, design point")
    back_pressure: Any = param("4 bar", unit="Pa", low=1.3e5, high=4e6, source="user", doc="steam to the user")
    deaerator: Any = param("1.2 bar", unit="Pa", low=1.05e5, high=1e6, source="common practice, no source",
                           doc="pressure of the deaerator, below the back pressure")
    returned: Any = param(0.8, unit="-", low=0.0, high=1.0, source="common practice, no source",
                          doc="share of the steam that comes back as condensate")
    condensate: Any = param("90 degC", unit="K", low=280.0, high=374.0, source="common practice, no source",
                            doc="condensate that comes back")
    fresh: Any = param("15 degC", unit="K", low=278.2, high=320.0, source="assumption", doc="fresh water")
    efficiency: Any = param(None, unit="-", low=0.2, high=0.92, source=SOURCE, optional=True,
                            doc="isentropic efficiency of dry expansion; none: by size")
    wetness_penalty: Any = param(1.0, unit="-", low=0.0, high=2.0, source="Baumann's rule, from memory",
                                 doc="loss of efficiency per mean wetness")
    part_load_loss: Any = param(0.3, unit="-", low=0.0, high=0.8, source="assumption",
                                doc="share of the efficiency lost at no flow, falling with the square of (1 - load)")
    pump_efficiency: Any = param(0.7, unit="-", low=0.2, high=0.95, source="common practice, no source",
                                 doc="isentropic efficiency of the feed pump")
    motor_efficiency: Any = param(0.95, unit="-", low=0.5, high=1.0, source="common practice, no source",
                                  doc="motor of the feed pump")
    generator_efficiency: Any = param(0.96, unit="-", low=0.5, high=1.0, source="common practice, no source",
                                      doc="gear, generator and transformer")
    minimum_load: Any = param(0.3, unit="-", low=0.05, high=1.0, source="common practice, no source",
                              doc="least steam flow over that of the design point")
    start_hours: Any = param("0.3 hour", unit="s", low=0.0, high=36000.0, source="assumption",
                             doc="heat of a start, as time at the design heat input")

    def __post_init__(self) -> None:
        super().__post_init__()
        from loopnet.params import check_range

        check_range(self.back_pressure, where="BackPressureTurbine.back_pressure", unit="Pa",
                    low=1.05 * self.deaerator, high=0.8 * self.pressure,
                    hint="between the deaerator and main steam")

    def unknowns(self) -> Iterable[Unknown]:
        return (Unknown("power", "W", 3e6), Unknown("pumps", "W", 5e4), Unknown("heat", "W", 2e7),
                Unknown("efficiency", "-", 0.7, low=0.1, high=1.0, hardware=True))

    def equations(self) -> Iterable[Equation]:
        return (
            Equation("inlet_pressure", lambda v: v.main.inlet.p - self.pressure, when="sizing"),
            Equation("efficiency", lambda v: v["efficiency"] - self._efficiency(v), when="sizing"),
            Equation("swallowing", self._swallowing, when="rating"),
            Equation("load", lambda v: v.main.ratio - v.given("load"), when="rating", role="load"),
            Equation("feedwater", lambda v: v.main.outlet.h - self._liquid(v).saturated("h_f") - self._work(v)),
            Equation("power", lambda v: v["power"] - v.main.m * self.generator_efficiency
                     * (v.main.inlet.h - self.exhaust(v).h[-1])),
            Equation("pumps", lambda v: v["pumps"] - v.main.m * self._work(v) / self.motor_efficiency),
            Equation("heat", lambda v: v["heat"] - v.main.m * (1 - self.bled(v))
                     * (self.exhaust(v).h[-1] - self._mixture(v))),
        )

    def load(self, v: Any) -> Any:
        """Flow of main steam over that of the design point [-]."""
        return v.main.ratio

    def exhaust(self, v: Any) -> SteamLine:
        """Steam on its way through the turbine."""
        return v.once("exhaust", lambda: self._descend(v))

    def _descend(self, v: Any) -> SteamLine:
        water, share = v.main.medium, part_load(v.main.ratio, self.part_load_loss)
        inlet = v.main.inlet
        levels = (water.isobar(inlet.p), water.isobar(np.full(np.shape(inlet.p), self.back_pressure)))
        return descend(levels, inlet.h, v["efficiency"] * share, self.wetness_penalty)

    def _efficiency(self, v: Any) -> Any:
        power = v["power"] if v.targets.net_power is None else v.targets.net_power
        return efficiency_of_size(power) if self.efficiency is None else self.efficiency

    def bled(self, v: Any) -> Any:
        """Share of the exhaust that heats the deaerator [-]."""
        mixture = self._mixture(v)
        return (self._liquid(v).saturated("h_f") - mixture) / (self.exhaust(v).h[-1] - mixture)

    def steam(self, v: Any) -> Any:
        """Steam to the user [kg/s]."""
        return v.main.m * (1 - self.bled(v))

    def _mixture(self, v: Any) -> float:
        """Condensate that comes back, with the fresh water that makes it up [J/kg]."""
        water, p = v.main.medium, self.deaerator
        return float(self.returned * water.h(min(self.condensate, float(water.T_sat(p)) - 0.1), p)
                     + (1 - self.returned) * water.h(self.fresh, p))

    def _liquid(self, v: Any) -> Isobar:
        return v.main.medium.isobar(np.asarray(self.deaerator))

    def _work(self, v: Any) -> Any:
        return v.once("pump", lambda: pump_work(self._liquid(v), v.main.medium.isobar(v.main.outlet.p),
                                                self.pump_efficiency))

    def _swallowing(self, v: Any) -> Any:
        inlet, design = v.main.inlet, v.frame.design
        T_design = v.once("T_design", lambda: v.main.medium.T(design[inlet.link.h], design[inlet.link.p]))
        return inlet.p - ellipse(design[inlet.link.p], self.back_pressure, v.main.ratio, inlet.T, T_design)

    def terms(self, v: Any) -> Iterable[Term]:
        return (
            Term("gross electricity", "power", v["power"]),
            Term("steam to user", "user", v["heat"]),
            Term("feed pump", "electricity", v["pumps"]),
            Term("generator", "loss", v["power"] * (1 / self.generator_efficiency - 1)),
            Term("pump motor", "loss", v["pumps"] * (1 - self.motor_efficiency)),
        )

    def givens(self, v: Any) -> dict[str, tuple[float, float]]:
        return {"load": (self.minimum_load, 1.0)}

    def follow(self, v: Any, by: float, steel: float) -> dict[str, Any]:
        return {"pressure": pressure_moved(v.main.inlet, by, steel)}

    def portrait(self, v: Any) -> Cycle:
        return back_pressure_portrait(self, v, self._mixture(v))

    def guess(self) -> dict[str, float]:
        return {"main.outlet": 378.0}

    def findings(self, v: Any) -> Iterable[str]:
        wet = float(np.max(self.exhaust(v).wetness))
        if wet > 0.05:
            yield f"steam to the user is {wet:.0%} wet at the design point: hotter or less compressed main steam"
        ratio = float(np.squeeze(v["power"] / v["heat"]))
        if ratio < 0.08:
            yield f"only {ratio:.0%} as much electricity as heat: a higher main pressure, or a lower one to the user"

    def costs(self, v: Any, book: Any) -> Iterable[Any]:
        gross = float(np.squeeze(v["power"]))
        for key, item in (("turbine.back_pressure", "turbine, generator, deaerator, pumps"),
                          ("electrical.balance", "transformers, cables, buildings"), ("controls", "controls"),
                          ("water.treatment", "water treatment")):
            yield book.line(key, quantity=gross, component=v.name, item=item)
