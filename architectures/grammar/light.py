"""Collectors, receivers and the pipes of a field, fitted to each other: what the words of light mean in components."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import log, pi, sqrt
from typing import Any

import numpy as np

from architectures.grammar.levels import thermal
from architectures.grammar.words import RECEIVERS, base, shape
from components.catalogue import collector, receiver
from components.collector import Collector
from components.field_piping import FieldPiping
from components.heliostat_beam import Mirror
from components.heliostats import HeliostatField
from components.piping import CalciumSilicate, Insulation
from components.receiver import Receiver

__all__ = ["Light", "insulated", "kept", "light", "piped_away"]

SUN = 900.0
"""Direct sun of a sketch [W/m2]."""
SEEN = {"trough": 0.93, "fresnel": 0.80, "fixed": 0.93, "dish": 0.97, "tower": 0.80, "masts": 0.82}
"""Sun on the aperture over direct sun at the design point, by shape: a start for sizes [-]."""
STEP = 1.06
"""Ratio of one tower height to the next: fields of one height share their table of losses."""
FLOWS = {"liquid": 1.8, "gas": 16.0}
"""Velocity in the pipes of a row at the design point [m/s]; common practice, no source."""
STEAM_FLUX, STEAM_LEVEL = 600.0, 50e5
"""Flow over the bore of rows in which water boils [kg/s/m2], and their pressure as sketches see it [Pa]; common
practice, no source."""
PATH = {"liquid": 720.0, "gas": 250.0, "steam": 720.0}
"""Aperture of point concentrators on one flow path [m2]; assumption."""
WOOL = 723.15
"""Hottest pipe in mineral wool [K]; above it calcium silicate."""
TOWERS = {"salt_cylinder": "10 bar", "open_air": "1 kPa", "tubular_air": "15 kPa", "windowed_air": "10 kPa",
          "steam_cavity": "2 bar"}
"""Pressure drop of receivers on a tower at the design point; common practice, no source."""


@dataclass(frozen=True)
class Light:
    """A collector with its receiver, a first guess of the aperture [m2], the piping of its rows (none for a tower), the
    height of the tower [m]."""

    collector: Collector
    receiver: Receiver
    aperture: float
    piping: FieldPiping | None
    tower: float = 0.0


def insulated(phase: str, hot: float, thin: bool = False) -> Insulation:
    """Usual insulation of pipes for a phase at its temperature [K]; thin between small devices."""
    thick = (0.08 if phase == "liquid" else 0.12) if thin else (0.15 if phase == "liquid" else 0.25)
    return CalciumSilicate(thickness=1.3 * thick) if hot > WOOL else Insulation(thickness=thick)


@lru_cache(maxsize=512)
def _pair(collector_word: str, receiver_word: str) -> tuple[Collector, Any]:
    """The two, with the tube as wide as the collector's concentration says and light lost only once."""
    light, form = collector(base(collector_word)), shape(collector_word)
    takes: Any = receiver(RECEIVERS[receiver_word].entry)
    if form in ("trough", "fresnel", "fixed"):
        width = float(getattr(light.tracking, "aperture_width", pi * 0.065 * light.concentration))
        if receiver_word == "boiling_row":
            return light, replace(takes, tube=replace(takes.tube, aperture_width=width))
        if receiver_word == "box_under_glass":
            return light, replace(takes, aperture_width=width)
        outer = width / (pi * light.concentration)
        tube: dict[str, Any] = {"aperture_width": width, "outer_diameter": outer, "inner_diameter": outer - 0.004}
        if receiver_word == "evacuated_tube":
            return light, replace(takes, glass_diameter=outer * 115.0 / 70.0, **tube)
        bare = 1.0 if light.transmittance > 0.9 else 0.93  # a film stays in the way, the glass of the tube does not
        return replace(light, transmittance=bare), replace(takes, **tube)
    dense = min(light.concentration, takes.concentration) if form == "dish" else takes.concentration
    if receiver_word == "open_air":
        takes = replace(takes, return_ratio=0.7)  # as in the shipped plant: a front that draws its air back in
    own = getattr(takes, "absorptance", None)
    return replace(light, absorptance=light.absorptance if own is None else None), replace(takes, concentration=dense)


@lru_cache(maxsize=4096)
def kept(collector_word: str, receiver_word: str, hot: float) -> tuple[float, float]:
    """Light that a receiver takes up at the design point, and what it loses of it at a temperature, per aperture.

    Parameters
    ----------
    collector_word, receiver_word : str
    hot : float
        Mean temperature of the medium [K].

    Returns
    -------
    absorbed, lost : float
        [W/m2], by a sketch: the direct sun times a usual share of the shape of light.
    """
    mirror, takes = _pair(collector_word, receiver_word)
    absorbed = SUN * SEEN[shape(collector_word)] * 0.96 * mirror.efficiency(getattr(takes, "absorptance", None))
    return absorbed, float(np.squeeze(takes(hot, 298.15, 3.0, SUN)))


@lru_cache(maxsize=2048)
def light(collector_word: str, receiver_word: str, fluid: str, hot: float, cold: float, heat: float,
          unit: float = 1.0, pressure: float = 101325.0) -> Light:
    """A field's devices and pipes for its medium, its temperatures and the heat it brings.

    Parameters
    ----------
    collector_word, receiver_word, fluid : str
    hot, cold : float
        Temperatures at which the medium leaves and enters [K].
    heat : float
        Heat of the field at the design point [W].
    unit : float
        Aperture of a device over that of the catalogue [-].
    pressure : float
        Of the loop [Pa].

    Returns
    -------
    Light
    """
    mirror, takes = _pair(collector_word, receiver_word)
    form = shape(collector_word)
    absorbed, lost = kept(collector_word, receiver_word, hot - 0.35 * (hot - cold))
    net = max(absorbed - lost, 0.3 * absorbed)
    if form == "tower":
        if receiver_word == "open_air":  # of the air that returns, a part is lost
            drawn_in = takes.return_ratio * cold + (1.0 - takes.return_ratio) * 298.15
            net = (absorbed - float(np.squeeze(takes(hot, 298.15, 3.0, SUN)))) * (hot - cold) / (hot - drawn_in)
        return _tower(mirror, takes, receiver_word, heat / net)
    if receiver_word == "boiling_row":
        takes = replace(takes, pressure=pressure)
    piping, ground = _piped(collector_word, receiver_word, fluid, hot, cold, unit)
    if ground is not None:
        mirror = replace(mirror, tracking=ground)
    pipes = float(np.squeeze(piping.row().loss(0.5 * (hot + cold), 298.15, 3.0)))
    return Light(mirror, takes, heat / max(net - pipes, 0.2 * absorbed), piping)


@lru_cache(maxsize=2048)
def _piped(collector_word: str, receiver_word: str, fluid: str, hot: float, cold: float,
           unit: float) -> tuple[FieldPiping, HeliostatField | None]:
    """Pipes of the rows, and the ground of one mast where there are masts."""
    mirror, takes = _pair(collector_word, receiver_word)
    form, flows = shape(collector_word), thermal(fluid)
    absorbed, lost = kept(collector_word, receiver_word, hot - 0.35 * (hot - cold))
    net = max(absorbed - lost, 0.3 * absorbed)
    rise = float(flows.h(hot, STEAM_LEVEL) - flows.h(cold, STEAM_LEVEL))
    per_area = STEAM_FLUX if flows.phase == "steam" else FLOWS[flows.phase] * float(flows.rho(0.5 * (hot + cold)))
    tree: dict[str, Any] = {"branches": 12, "trunk": False} if flows.phase == "gas" else {"branches": 4}
    if form == "masts":
        height = max(round(25.0 * sqrt(unit)), 9)
        device = 10000.0 * (height / 25.0) ** 2
        bore = min(sqrt(4.0 / pi * device * net / rise / per_area), 3.0)
        ground = HeliostatField(tower_height=height, mirror=Mirror(width=2.0, height=1.5))
        return FieldPiping(
            device=device, in_series=1, spacing=6.0 * height, row_spacing=12.0 * height, riser=2.0 * height, turn=False,
            joints=0, elbows=6, diameter=bore, runner=150.0, insulation=insulated(flows.phase, hot), **tree), ground
    if form == "dish":
        tracking: Any = mirror.tracking
        device = float(mirror.aperture) * unit
        series = max(round(PATH[flows.phase] / device), 1)
        bore = sqrt(4.0 / pi * device * series * net / rise / (per_area / 1.5))
        return FieldPiping.of_points(
            device, cover=tracking.ground_cover, gap=2.0, height=0.6, in_series=series, diameter=bore,
            insulation=insulated(flows.phase, hot, thin=True), **tree), None
    return _lines(mirror, takes, form, unit, per_area * rise / net), None


def piped_away(collector_word: str, receiver_word: str, fluid: str, hot: float, cold: float) -> float:
    """What the pipes between devices lose at the design point, per aperture [W/m2], at temperatures in K."""
    if shape(collector_word) == "tower":
        return 0.0
    row = _piped(collector_word, receiver_word, fluid, hot, cold, 1.0)[0].row()
    return float(np.squeeze(row.loss(0.5 * (hot + cold), 298.15, 3.0)))


def _lines(mirror: Collector, takes: Any, form: str, unit: float, per_bore: float) -> FieldPiping:
    """Rows along a line of light: as many devices in series as one flow path can serve at the usual velocity."""
    tracking: Any = mirror.tracking
    tube = getattr(takes, "tube", takes)
    width, bore = float(tube.aperture_width), float(tube.inner_diameter)
    usual = 25.0 if form == "fixed" else min(float(tracking.row_length), 150.0 if form == "trough" else 200.0)
    length = min(max(usual * unit, 2.0), 400.0)
    apart = {"trough": lambda: tracking.row_spacing, "fixed": lambda: width / tracking.ground_cover,
             "fresnel": lambda: 1.43 * tracking.pitch * tracking.mirrors}[form]()
    bores = float(getattr(takes, "tubes", 1.0))
    path = bores * per_bore * pi / 4.0 * bore**2  # aperture on one flow path
    series = min(max(round(path / (width * length)), 1), max(int(1200.0 / (length + 3.0)), 1))
    moves: dict[str, Any] = {} if form == "trough" else {"joints": 0, "elbows": 1}
    return FieldPiping(device=width * length, tube=length, spacing=length + 3.0, row_spacing=float(apart), branches=4,
                       in_series=series, diameter=bore * sqrt(bores), **moves)


def _tower(mirror: Collector, takes: Any, word: str, aperture: float) -> Light:
    """A tower whose ground holds the mirrors, its height one of a ladder."""
    ground: Any = mirror.tracking
    per_height = float(replace(ground, tower_height=100.0).capacity) / 1e4  # capacity goes with the square
    height = sqrt(max(aperture, 100.0) / per_height)
    height = round(20.0 * STEP ** max(np.ceil(log(height / 20.0) / log(STEP)), 0.0), 1)
    if word == "salt_cylinder":
        across = max(round(sqrt(aperture / takes.concentration / pi / 1.2), 1), 1.5)
        takes = replace(takes, diameter=min(across, 40.0), tube=min(0.040, 0.015 * across))
    return Light(replace(mirror, tracking=replace(ground, tower_height=min(height, 390.0))), takes, aperture,
                 None, min(height, 390.0))
