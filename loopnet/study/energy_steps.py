"""The way of a year's energy as a chain of steps, each with the share it passes on; their product is what is delivered.

A kWh delivered needs more and more energy the further up the chain one looks; what stands there is bought for that.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from loopnet.errors import SpecificationError
from loopnet.plant import ENTERS
from loopnet.study.assess import JOULE_PER_KWH, Assessment

__all__ = ["STEPS", "EnergySteps", "energy_steps"]

STEPS = ("sun left unused", "optics", "receiver", "pipes", "store", "cycle", "own use")
"""Steps in the order in which energy meets them. Pipes hold exchangers and the work of pumps, fans and lifts that warms
what flows; own use is electricity that the plant takes for itself."""
PLACE = {"pipe": "pipes", "mover": "pipes", "exchanger": "pipes", "store": "store", "cycle": "cycle", "user": "cycle"}
"""Family of component -> step of its losses; a field's are told apart by their names."""
UNUSED = ("wind stow", "too little sun", "defocused")
HEAT = ("receiver heat", "field warm-up", "freeze protection", "drive motors")


@dataclass(frozen=True, kw_only=True)
class EnergySteps:
    """A year's energy as a chain.

    Parameters
    ----------
    plant : str
        Name of the plant.
    aperture : float
        Of all fields [m2].
    sun : float
        Direct sun in a year on each square metre of it [kWh/m2].
    shares : dict
        Step -> what it passes on of what comes to it [-].
    delivered : float
        Product in a year, as the levelised cost counts it [kWh].
    """

    plant: str
    aperture: float
    sun: float
    shares: Mapping[str, float]
    delivered: float

    def after(self, step: str) -> float:
        """What must enter a step for a kWh delivered [kWh/kWh]."""
        out = 1.0
        for name in STEPS[STEPS.index(step):]:
            out /= self.shares[name]
        return out

    def to_dict(self) -> dict[str, Any]:
        """Plain dict."""
        return {"plant": self.plant, "aperture_m2": self.aperture, "sun_kwh_m2": self.sun, "shares": dict(self.shares),
                "delivered_kwh": self.delivered}

    def to_frame(self) -> Any:
        """Step, its share, and what enters it for a kWh delivered."""
        import pandas as pd

        return pd.DataFrame({"passes on": dict(self.shares), "enters for a kWh": {s: self.after(s) for s in STEPS}})

    def __repr__(self) -> str:
        return "<EnergySteps " + self.plant + ": " + ", ".join(f"{k} {v:.3f}" for k, v in self.shares.items()) + ">"

    def _repr_html_(self) -> str:
        return str(self.to_frame().to_html(float_format=lambda x: f"{x:.4f}"))


def _step(family: str, label: str, kind: str) -> str:
    """Where a row of the ledger belongs.

    >>> _step("field", "cosine", "loss"), _step("field", "defocused, store full", "loss"), _step("mover", "x", "loss")
    ('optics', 'sun left unused', 'pipes')
    """
    if family != "field":
        return PLACE.get(family, "pipes")
    if kind == "loss" and label.startswith(UNUSED):
        return "sun left unused"
    return "receiver" if kind == "electricity" or label in HEAT else "optics"


def energy_steps(a: Assessment) -> EnergySteps:
    """The chain of a plant's year.

    Parameters
    ----------
    a : Assessment

    Returns
    -------
    EnergySteps
        aperture x sun x product of the shares = delivered, exactly.

    Raises
    ------
    SpecificationError
        If a step passes nothing on, so that its share says nothing.
    """
    family = {name: component.family for name, component in a.plant.components.items()}
    years = len(a.year.hourly) * a.year.step / (8760 * 3600.0)
    change = dict.fromkeys(STEPS, 0.0)
    power = user = used = 0.0
    for row in a.year.ledger.itertuples():
        kwh = float(row.joule) / JOULE_PER_KWH / years
        if row.kind in ("loss", "electricity", "store"):
            change[_step(family[row.component], row.label, row.kind)] += ENTERS[row.kind] * kwh
        power += kwh if row.kind == "power" else 0.0
        user += kwh if row.kind == "user" else 0.0
        used += kwh if row.kind == "electricity" else 0.0
    sun = a.year.sun / years
    worth = a.cost.heat_worth if power > 0.0 else 1.0
    made = power + worth * user
    delivered = made - (used if power > 0.0 else 0.0)
    levels = [sun]
    for step in STEPS[:-2]:
        levels.append(levels[-1] + change[step])
    levels += [made, delivered]
    if min(levels) <= 0.0:
        raise SpecificationError("a step of the chain passes on nothing", where=f"plant {a.name!r}",
                                 got=f"{min(levels):.3g} kWh", allowed="more than 0 kWh after every step",
                                 hint="look at the year's losses: loopnet show PLANT")
    shares = {step: levels[k + 1] / levels[k] for k, step in enumerate(STEPS)}
    return EnergySteps(plant=a.name, aperture=a.aperture, sun=sun / a.aperture, shares=shares, delivered=delivered)
