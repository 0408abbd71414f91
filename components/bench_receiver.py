"""A receiver whose loss is what a bench test found, and what it says when a plant asks for more than was measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from components.receiver import STEFAN_BOLTZMANN, Receiver
from loopnet.params import param

__all__ = ["FittedReceiver"]

Array = NDArray[np.float64]
Floats = float | Array


@dataclass(frozen=True, kw_only=True)
class FittedReceiver(Receiver):
    """Loss per aperture as fitted to measurements, with d the kelvins of the medium above the air and v the wind:

    a1 d + a2 d |d| + a3 v d + a8 d^3 |d| + radiation sigma (T^4 - Ta^4) + (eta1 d + a6 v) x direct sun.

    Below the air's temperature the sign turns, as heat then flows in.

    >>> tested = FittedReceiver(a1=0.5, a2=0.002, hottest=500.0)
    >>> float(tested(393.15, 293.15))
    70.0
    >>> tested.findings(523.15, 600.0, None)[0][:60]
    'the bench test measured up to 227 degC at the outlet, the pl'
    """

    a1: Any = param(0.0, unit="W/m**2/K", low=-100.0, high=500.0, source="bench test",
                    doc="loss with each kelvin above the air")
    a2: Any = param(0.0, unit="W/m**2/K**2", low=-10.0, high=50.0, source="bench test",
                    doc="more loss with each kelvin squared")
    a3: Any = param(0.0, unit="J/m**3/K", low=-50.0, high=200.0, source="bench test",
                    doc="loss with kelvins and wind together")
    a6: Any = param(0.0, unit="s/m", low=-0.2, high=0.2, source="bench test",
                    doc="share of the sun lost with each m/s of wind")
    a8: Any = param(0.0, unit="W/m**2/K**4", low=-1e-3, high=1e-3, source="bench test",
                    doc="loss with the fourth power of the kelvins")
    eta1: Any = param(0.0, unit="1/K", low=-0.01, high=0.01, source="bench test",
                      doc="share of the sun lost with each kelvin")
    radiation: Any = param(0.0, unit="-", low=-5.0, high=10.0, source="bench test",
                           doc="effective emittance times radiating surface, over aperture")
    hottest: Any = param(None, unit="K", low=200.0, high=2000.0, source="bench test", optional=True,
                         doc="highest temperature of the outlet that was measured")

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats = 0.0, dni: Floats = 0.0) -> Array:
        """Loss [W/m2 of aperture] at medium temperature and ambient [K], wind [m/s], direct sun [W/m2]."""
        hot, cold, v, sun = (np.asarray(x, dtype=float) for x in (temperature, ambient, wind, dni))
        hot = hot + self.rise * sun
        over = hot - cold
        size = np.abs(over)
        radiated = self.radiation * STEFAN_BOLTZMANN * (np.square(hot * hot) - np.square(cold * cold))
        per_kelvin = self.a1 + self.a2 * size + self.a3 * v + self.a8 * size**3 + self.eta1 * sun
        return np.asarray(per_kelvin * over + radiated + self.a6 * v * sun)

    def findings(self, temperature: Floats, absorbed: Floats, medium: Any) -> list[str]:
        """A warning where the outlet [K] is hotter than anything that was measured."""
        found = super().findings(temperature, absorbed, medium)
        worst = float(np.max(temperature))
        if self.hottest is not None and worst > self.hottest + 1.0:
            found = [*found, f"the bench test measured up to {self.hottest - 273.15:.0f} degC at the outlet, the "
                             f"plant goes to {worst - 273.15:.0f} degC: the loss there is extrapolated"]
        return found
