"""The design point: what the plant is sized for, and under which sun and air."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

from loopnet.params import Parameters, param

__all__ = ["Design"]


@dataclass(frozen=True, kw_only=True)
class Design(Parameters):
    """Targets and conditions of the design point.

    Net power is what leaves the gate with the field and the power block both at their design point, after every
    pump, fan, lift and drive of the plant is served.

    >>> Design(net_power="20 MW").net_power
    20000000.0
    """

    net_power: Any = param("20 MW", unit="W", low=1e3, high=2e9, source="demo size, invented", optional=True,
                           doc="electricity delivered at the design point; none for a plant that only makes heat")
    solar_multiple: Any = param(2.6, unit="-", low=0.1, high=20.0, source="demo choice, invented",
                                doc="heat brought to the store over heat drawn from it, both at the design point")
    store_hours: Any = param("14 hour", unit="s", low=0.0, high=3.2e7, source="demo choice, invented",
                             doc="time for which a full store carries the design heat demand")
    dni: Any = param(900.0, unit="W/m^2", low=100.0, high=1400.0, source="common practice, no source",
                     doc="direct normal irradiance at the design point")
    ambient: Any = param("25 degC", unit="K", low=220.0, high=330.0, source="common practice, no source",
                         doc="dry-bulb temperature at the design point")
    wind: Any = param(3.0, unit="m/s", low=0.0, high=40.0, source="common practice, no source", doc="wind speed")
    pressure: Any = param(89000.0, unit="Pa", low=4e4, high=1.1e5, source="standard atmosphere near 1,100 m",
                          doc="air pressure")
    zenith: Any = param(0.15, unit="rad", low=0.0, high=1.5, source="near noon at midsummer, 32 degrees north",
                        doc="sun zenith angle at the design point")
    azimuth: Any = param(3.141592653589793, unit="rad", low=0.0, high=6.2832, source="sun in the south",
                         doc="sun azimuth at the design point, clockwise from north")

    CONDITIONS = ("dni", "ambient", "wind", "pressure", "zenith", "azimuth")

    def conditions(self) -> dict[str, float]:
        """Sun and air at the design point [SI], by the names a weather year uses."""
        return {name: float(getattr(self, name)) for name in self.CONDITIONS}

    def with_(self, **changes: Any) -> Design:
        """A copy with some values changed."""
        known = {item.name for item in fields(self)}
        if unknown := set(changes) - known:
            from loopnet.errors import ParameterError

            raise ParameterError("no such design value", where="Design", got=", ".join(sorted(unknown)),
                                 allowed=", ".join(sorted(known)), hint="one of the allowed names")
        return replace(self, **changes)
