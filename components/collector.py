"""A collector: optics, tracking, dust and drives of one device as data, and what it makes of the sun, loss by loss."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from components.fixed import SUN_HALF_ANGLE, concentration_limit
from components.incidence import BiaxialModifier, Modifier
from components.soiling import Ageing, Soiling
from components.tracking import OneAxis, Tracker
from loopnet.errors import ParameterError
from loopnet.params import Parameters, param

__all__ = ["Collector", "CollectorPrices", "Light"]

Array = NDArray[np.float64]
_SPACE_FRAME = "Geyer et al., SolarPACES 2002: 0.75 in all (from memory); share of each: assumption"


@dataclass(frozen=True)
class Light:
    """What becomes of the sun on an aperture, each of shape (points,) [W/m2 of aperture].

    >>> light = Light(np.array([900.0]), {"cosine": np.array([100.0])}, np.array([800.0]))
    >>> light
    Light(1 points, 88.9 % of the direct sun absorbed)
    """

    sun: Array
    losses: dict[str, Array]
    """By name, in the order in which the light meets them; with what is absorbed they add up to the sun."""
    absorbed: Array

    def to_dict(self) -> dict[str, Array]:
        """Sun, losses and what is absorbed [W/m2] in one dict, the losses as ``"lost: name"``."""
        return {"sun": self.sun, **{f"lost: {k}": v for k, v in self.losses.items()}, "absorbed": self.absorbed}

    def to_frame(self) -> Any:
        """A DataFrame with a row per point [W/m2]."""
        import pandas as pd

        return pd.DataFrame(self.to_dict())

    def __repr__(self) -> str:
        total = float(np.sum(self.sun))
        share = f", {100 * float(np.sum(self.absorbed)) / total:.1f} % of the direct sun absorbed" if total else ""
        return f"Light({np.size(self.sun)} points{share})"

    def _repr_html_(self) -> str:
        return str(self.to_frame().to_html(index=False, float_format=lambda x: f"{x:,.1f}"))


@dataclass(frozen=True, kw_only=True)
class CollectorPrices(Parameters):
    """Price keys of a collector's parts, each a line of the bill; an empty one is left out, or held by another."""

    whole: str = ""
    """Everything in one price, per aperture; for conventional collectors sold so."""
    reflector: str = ""
    """Mirror or film."""
    structure: str = ""
    """Frame that carries it."""
    drive: str = ""
    """Per aperture and axis."""
    foundation: str = ""
    """What it stands on."""
    wiring: str = ""
    """Cables and control."""
    assembly: str = ""
    """Hours of work to put it up."""
    adjusting: str = ""
    """Setting by hand, per aperture set in a year."""
    washing: str = "washing"
    """Per aperture washed in a year."""


@dataclass(frozen=True, kw_only=True)
class Collector(Parameters):
    """One kind of device, of which a field holds many.

    Optical efficiency at normal incidence is reflectance x intercept x transmittance x absorptance; tracking, modifier,
    dust, age and wind take their part apart from that. Defaults are those of a space-frame trough.

    >>> trough = Collector()
    >>> round(trough.efficiency(), 3), round(trough.limit)
    (0.75, 215)
    >>> at_noon = {"zenith": np.zeros(1), "azimuth": np.zeros(1), "dni": np.array([900.0]), "wind": np.array([3.0])}
    >>> light = trough.collect(at_noon)
    >>> list(light.losses), round(float(light.absorbed[0]), 1)
    (['wind stow', 'cosine', 'shading', 'end loss', 'reflector', 'soiling', 'intercept', 'glass', 'absorptance'], 651.5)
    """

    tracking: Tracker = field(default_factory=OneAxis)
    """How it follows the sun, and what its neighbours shade."""
    modifier: Modifier | None = None
    """What is lost when light comes at an angle, beside the cosine; None for nothing."""
    soiling: Soiling = field(default_factory=Soiling)
    """Dust and washing."""
    ageing: Ageing = field(default_factory=Ageing)
    """What the reflector loses from year to year."""
    prices: CollectorPrices = field(default_factory=lambda: CollectorPrices(whole="collector.trough"))
    """Price keys of its parts."""
    aperture: Any = param(817.0, unit="m^2", low=0.01, high=1e6, source="Geyer et al., SolarPACES 2002 (memory)",
                          doc="of one device: what one set of drives turns")
    concentration: Any = param(26.2, unit="-", low=0.1, high=46000.0, source="5.77 m on a tube of 70 mm",
                               doc="aperture over the surface of the absorber or opening")
    reflectance: Any = param(0.94, unit="-", low=0.05, high=1.0, source=_SPACE_FRAME,
                             doc="of the mirrors, solar weighted, clean and new; 1 for a collector without")
    intercept: Any = param(0.87, unit="-", low=0.05, high=1.0, source=_SPACE_FRAME,
                           doc="part of the reflected light that meets the absorber: shape, pointing, gaps, shadows")
    transmittance: Any = param(0.96, unit="-", low=0.05, high=1.0, source=_SPACE_FRAME,
                               doc="of glass or film in the way; 1 for none")
    absorptance: Any = param(0.955, unit="-", low=0.05, high=1.0, source=_SPACE_FRAME, optional=True,
                             doc="of the absorber; none: the receiver's own")
    drive_power: Any = param(0.35, unit="W/m^2", low=0.0, high=20.0, source="assumption",
                             doc="drives and controls while the field runs, per aperture and axis")
    stow_wind: Any = param(15.0, unit="m/s", low=0.5, high=100.0, source="common practice, no source",
                           doc="mean wind above which devices are turned to safety and the beam is lost")

    def __post_init__(self) -> None:
        super().__post_init__()
        if not hasattr(self.tracking, "incidence"):
            raise ParameterError("this does not track", where="Collector.tracking", got=repr(self.tracking),
                                 allowed="OneAxis, TwoAxis, LinearFresnel, Fixed, SeasonalTilt, HeliostatField",
                                 hint="OneAxis()")
        if isinstance(self.modifier, BiaxialModifier) and not getattr(self.tracking, "biaxial", False):
            raise ParameterError("this tracker does not tell two angles", where="Collector.modifier",
                                 got=f"BiaxialModifier with {type(self.tracking).__name__}",
                                 allowed="LinearFresnel, Fixed, SeasonalTilt", hint="IncidenceModifier")
        if self.concentration > self.limit * (1 + 1e-9):
            raise ParameterError("more concentration than the second law allows", where="Collector.concentration",
                                 got=f"{self.concentration:g}", allowed=f"up to {self.limit:.4g}, 1/sin"
                                 f"{'' if self.focus == 'line' else '^2'} of the acceptance half-angle",
                                 hint="a smaller acceptance half-angle, or less concentration")

    @property
    def focus(self) -> str:
        """``"line"`` or ``"point"``."""
        return str(getattr(self.tracking, "focus", "point"))

    @property
    def axes(self) -> int:
        """How many drives turn it; what does not say so follows the sun about two."""
        return int(getattr(self.tracking, "axes", 2))

    @property
    def limit(self) -> float:
        """Most concentration [-] that its acceptance half-angle, or the size of the sun, allows."""
        return concentration_limit(float(getattr(self.tracking, "acceptance", SUN_HALF_ANGLE)), self.focus)

    def _absorptance(self, of_receiver: float | None) -> float:
        value = self.absorptance if self.absorptance is not None else of_receiver
        if value is None:
            raise ParameterError("nothing says what part of the light is absorbed", where="Collector.absorptance",
                                 got="none", allowed="0.05 to 1", hint="absorptance=0.95, or a receiver that has one")
        return float(value)

    def efficiency(self, absorptance: float | None = None) -> float:
        """Optical efficiency at normal incidence, clean and new.

        Parameters
        ----------
        absorptance : float or None
            The receiver's, used where the collector has none of its own [-].

        Returns
        -------
        float
            Absorbed over direct sun on the aperture [-].
        """
        return float(self.reflectance * self.intercept * self.transmittance * self._absorptance(absorptance))

    def collect(self, site: Mapping[str, Any], absorptance: float | None = None) -> Light:
        """What becomes of the sun on the aperture; losses are named and add up.

        Parameters
        ----------
        site : mapping of arrays, shape (points,)
            ``zenith`` and ``azimuth`` of the sun [rad], ``dni`` [W/m2] and ``wind`` [m/s].
        absorptance : float or None
            The receiver's, used where the collector has none of its own [-].

        Returns
        -------
        Light
            Per aperture [W/m2].

        Notes
        -----
        Wind above `stow_wind` loses all; dust and age are taken at their means. What a collector
        does not have, such as glass, is not among the losses.
        """
        beam = self.tracking.incidence(site["zenith"], site["azimuth"])
        if self.modifier is not None:
            beam = beam.modified(self.modifier)
        stowed = np.asarray(site["wind"], float) > self.stow_wind
        steady = {"reflector": self.reflectance, "ageing": self.ageing.mean, "soiling": self.soiling.mean,
                  "intercept": self.intercept, "glass": self.transmittance,
                  "absorptance": self._absorptance(absorptance)}
        factors = {"wind stow": np.where(stowed, 0.0, 1.0), **beam.factors,
                   **{name: value for name, value in steady.items() if value < 1.0}}
        sun = np.where(np.cos(site["zenith"]) > 0, np.asarray(site["dni"], float), 0.0)
        left, losses = sun, {}
        for name, factor in factors.items():
            losses[name], left = left * (1.0 - factor), left * factor
        return Light(sun, losses, left)

    def drives(self, aperture: Any) -> Any:
        """Electricity [W] of the drives of an aperture [m2] while the field runs."""
        return self.drive_power * self.axes * aperture

    def costs(self, book: Any, component: str, aperture: float) -> Iterable[Any]:
        """Cost lines of an aperture.

        Parameters
        ----------
        book : PriceBook
            The prices.
        component : str
            Whom the cost belongs to.
        aperture : float
            Of all devices together [m2].

        Yields
        ------
        CostLine
            One for each part that has a price; washing and setting follow how often it is done.
        """
        times = {"drive": float(self.axes), "washing": self.soiling.washes,
                 "adjusting": float(getattr(self.tracking, "adjustments", 0))}
        for item in fields(self.prices):
            key, count = getattr(self.prices, item.name), times.get(item.name, 1.0)
            if key and count:
                life = self.ageing.life if item.name == "reflector" else None
                yield book.line(key, quantity=aperture * count, component=component, life=life,
                                item="collector" if item.name == "whole" else item.name)
