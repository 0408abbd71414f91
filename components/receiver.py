"""What takes the concentrated light: the protocol of a receiver with its watched limits, and the two simplest kinds,
a published fit for tubes and an opening that radiates and is swept by air."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from components.receiver_row import (
    OfTemperature,
    aperture_per_flow,
    kinks_of,
    mean_loss,
    mean_net,
    reaches,
    return_air_factor,
    row_flow,
)
from loopnet.params import Parameters, param
from loopnet.units import show

__all__ = [
    "CavityLoss", "Receiver", "TubeLoss", "aperture_per_flow", "mean_loss", "mean_net", "reaches", "return_air_factor",
    "row_flow",
]

Array = NDArray[np.float64]
Floats = float | Array

STEFAN_BOLTZMANN = 5.670374419e-8
"""CODATA 2018 [W/m2K4]."""
ZERO_CELSIUS = 273.15


@dataclass(frozen=True, kw_only=True)
class Receiver(Parameters):
    """What takes the concentrated light: its loss per collector aperture as a function of temperature.

    A receiver overrides `__call__`; one that mixes or wastes medium on the way also overrides `net`, and one whose
    wall is known overrides `wall_concentration`, so that flux, film and wall temperature are watched.
    """

    rise: Any = param(0.0, unit="K*m**2/W", low=0.0, high=1.0, source="assumption",
                      doc="how much hotter the surface that loses heat is than the medium, per direct sun")
    film: Any = param(None, unit="W/m**2/K", low=1.0, high=1e6, source="user", optional=True,
                      doc="heat transfer from wall to medium; none: film and wall temperature are not watched")
    wall: Any = param(0.0, unit="K*m**2/W", low=0.0, high=1e-2, source="user",
                      doc="resistance of the wall, its thickness over its conductivity")
    peak: Any = param(1.0, unit="-", low=1.0, high=20.0, source="user", doc="highest flux over the mean one")
    peak_at_outlet: Any = param(None, unit="-", low=0.0, high=20.0, source="user", optional=True,
                                doc="flux where the medium is hottest over the mean one; none: as peak")
    flux_limit: Any = param(None, unit="W/m**2", low=1e3, high=1e8, source="user", optional=True,
                            doc="highest flux the wall stands")
    surface_limit: Any = param(None, unit="K", low=300.0, high=2500.0, source="user", optional=True,
                               doc="highest temperature the lit surface stands")

    validity: ClassVar[tuple[float, float] | None] = None
    """Temperatures of the medium [K] within which the loss was measured or its correlations hold; None: not bound."""

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats = 0.0, dni: Floats = 0.0) -> Array:
        """Loss [W/m2 of aperture] at medium temperature and ambient [K], wind [m/s], direct sun [W/m2]."""
        raise NotImplementedError

    def net(self, h_in: Floats, h_out: Floats, absorbed: Floats, loss: OfTemperature, medium: Any,
            ambient: Floats, pressure: Floats | None = None) -> Array:
        """Net heat per aperture [W/m2] that the medium takes up between two enthalpies [J/kg]; see `mean_net`.

        `pressure` [Pa] is needed by media that boil.
        """
        return mean_net(h_in, h_out, absorbed, loss, lambda h: medium.T(h, pressure), kinks_of(medium, pressure))

    @property
    def wall_concentration(self) -> float:
        """Collector aperture per area of heated wall [-]; 0 where there is no wall between light and medium."""
        return 0.0

    def bearable(self, temperature: float) -> float:
        """Most absorbed heat [W/m2 of aperture] that wall and surface bear at an outlet temperature [K]; infinite where
        nothing is watched. What the film of the medium bears is only warned of."""
        if not self.wall_concentration:
            return inf
        most = inf if self.flux_limit is None else self.flux_limit / (self.wall_concentration * self.peak)
        if self.surface_limit is not None and self.film is not None:
            peak = self.peak if self.peak_at_outlet is None else self.peak_at_outlet
            per = (1.0 / self.film + self.wall) * self.wall_concentration * peak
            most = min(most, max(self.surface_limit - temperature, 0.0) / per)
        return float(most)

    def findings(self, temperature: Floats, absorbed: Floats, medium: Any) -> list[str]:
        """Warnings at outlet temperatures [K] and absorbed heat [W/m2 of aperture]: flux, film and validity limits.

        Unless `peak_at_outlet` says otherwise, the highest flux is taken to meet the hottest medium, on the safe side.
        Who knows the heat transfer from the flow asks `dataclasses.replace(receiver, film=...)`.
        """
        hot = np.asarray(temperature, float)
        mean = np.asarray(absorbed, float) * self.wall_concentration
        flux = mean * (self.peak if self.peak_at_outlet is None else self.peak_at_outlet)
        found = []
        most = float(np.max(mean)) * self.peak
        if self.flux_limit is not None and most > self.flux_limit:
            found.append(f"flux at the wall reaches {most / 1e3:.0f} kW/m2, above {self.flux_limit / 1e3:.0f} kW/m2: "
                         "spread the light, or more wall per aperture")
        if self.film is not None and self.wall_concentration:
            inside = hot + flux / self.film
            limit = medium.limits.film
            if limit is not None and np.max(inside) > limit:
                found.append(f"film temperature of {medium.name} reaches {show(float(np.max(inside)), 'K')}, above "
                             f"{show(limit, 'K')}: more flow per tube, less concentration or a lower outlet")
            hot = inside + flux * self.wall
        if self.surface_limit is not None and np.max(hot) > self.surface_limit:
            found.append(f"lit surface reaches {show(float(np.max(hot)), 'K')}, above the "
                         f"{show(self.surface_limit, 'K')} it stands: a lower outlet, more flow, less flux")
        if self.validity is not None:
            low, high = self.validity
            worst = float(np.max(temperature) if np.max(temperature) > high else np.min(temperature))
            if not low <= worst <= high:
                found.append(f"loss of {type(self).__name__} is extrapolated to {show(worst, 'K')}: it holds from "
                             f"{show(low, 'K')} to {show(high, 'K')}")
        return found


@dataclass(frozen=True, kw_only=True)
class TubeLoss(Receiver):
    """Evacuated tube in a trough: off-sun test, W per metre of tube = linear T + quartic T^4, T in degC.

    Only the excess over the tube at ambient temperature counts, f(T) - f(Ta), so that the loss goes smoothly to
    zero at ambient, changing sign there. Measured at 100 to 500 degC; the wind does not reach an evacuated absorber.

    Source of the defaults: Burkholder & Kutscher, NREL/TP-550-45633 (2009); equation from memory.

    >>> tube = TubeLoss()
    >>> round(float(tube.per_metre(673.15)), 1)  # table value 222.3 W/m at 400 degC
    222.3
    >>> round(float(tube(673.15, 298.15)), 2), float(tube(298.15, 298.15))
    (37.91, 0.0)
    """

    linear: Any = param(0.141, unit="W/m/K", low=0.0, high=100.0, source="NREL/TP-550-45633 (2009), memory",
                        doc="W per metre of tube with each degC")
    quartic: Any = param(6.48e-9, unit="W/m/K**4", low=0.0, high=1e-6, source="NREL/TP-550-45633 (2009), memory",
                         doc="W per metre of tube with degC to the fourth")
    aperture_width: Any = param(5.77, unit="m", low=0.05, high=50.0, source="Geyer et al., SolarPACES 2002 (memory)",
                                doc="width of mirror that one tube serves")
    rise: Any = param(0.0, unit="K*m**2/W", low=0.0, high=1.0, source="assumption",
                      doc="how much hotter the absorber is than the medium, per direct sun; 0.013 for oil is usual")
    inner_diameter: Any = param(0.066, unit="m", low=1e-3, high=1.0, source="common practice, no source",
                                doc="of the tube, where the medium is")
    film: Any = param(2000.0, unit="W/m**2/K", low=1.0, high=1e6, source="common practice, no source", optional=True,
                      doc="oil in turbulent flow; less for gases")
    peak: Any = param(2.5, unit="-", low=1.0, high=20.0, source="common practice, no source",
                      doc="flux on the side that faces the mirror over the mean around the tube")

    validity = (373.15, 773.15)
    """Absorber temperature [K] within which the defaults were measured; beyond, the polynomial is an extrapolation."""

    def per_metre(self, temperature: Floats) -> Array:
        """The published polynomial [W/m] at absorber temperature [K]."""
        t = np.asarray(temperature) - ZERO_CELSIUS
        return self.linear * t + self.quartic * np.square(t * t)

    @property
    def wall_concentration(self) -> float:
        """Collector aperture per area of the tube's inside [-]."""
        return float(self.aperture_width / (np.pi * self.inner_diameter))

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats = 0.0, dni: Floats = 0.0) -> Array:
        """Loss [W/m2 of aperture] at medium temperature and ambient [K], wind [m/s], direct sun [W/m2]."""
        hot = np.asarray(temperature) + self.rise * np.asarray(dni)
        return (self.per_metre(hot) - self.per_metre(ambient)) / self.aperture_width + 0.0 * np.asarray(wind)


@dataclass(frozen=True, kw_only=True)
class CavityLoss(Receiver):
    """An opening that radiates and is swept by air: tower receivers, cavities, particle curtains.

    Loss per opening is emissivity sigma (T^4 - Ta^4) + (still + gusty v) (T - Ta); per collector aperture it is that
    over the concentration, the ratio of the collectors' aperture to the opening. Zero at ambient.
    What the opening reflects is `absorptance`, for the optics. Concentrated light blinds and burns: access
    and aiming follow local rules.

    >>> ideal = CavityLoss(emissivity=1.0, concentration=1000.0, still=0.0, gusty=0.0)
    >>> round(1 - float(ideal(973.15, 0.0)) / 1000, 4)  # black body at 700 degC under 1000 suns
    0.9491
    """

    emissivity: Any = param(0.9, unit="-", low=0.0, high=1.0, source="assumption", doc="effective, of the opening")
    concentration: Any = param(700.0, unit="-", low=1.0, high=46000.0, source="common practice, no source",
                               doc="collector aperture per opening")
    still: Any = param(10.0, unit="W/m**2/K", low=0.0, high=500.0, source="assumption", doc="convection in still air")
    gusty: Any = param(1.5, unit="J/m**3/K", low=0.0, high=100.0, source="assumption",
                       doc="more convection per wind speed [W/m2K per m/s]")
    absorptance: Any = param(0.94, unit="-", low=0.0, high=1.0, source="common practice, no source",
                             doc="light of the opening that stays in it")

    @property
    def wall_concentration(self) -> float:
        """Collector aperture per lit area [-], taken to be that of the opening."""
        return float(self.concentration)

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats = 0.0, dni: Floats = 0.0) -> Array:
        """Loss [W/m2 of aperture] at medium temperature and ambient [K], wind [m/s], direct sun [W/m2]."""
        hot, cold = np.asarray(temperature) + self.rise * np.asarray(dni), np.asarray(ambient)
        radiation = self.emissivity * STEFAN_BOLTZMANN * (np.square(hot * hot) - np.square(cold * cold))
        return (radiation + (self.still + self.gusty * np.asarray(wind)) * (hot - cold)) / self.concentration
