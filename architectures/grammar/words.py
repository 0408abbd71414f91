"""The words of the grammar and what each stands for: light, media, heat, stores, cycles and users.

A new entry of the catalogue of collectors, or a new medium, is a word at once; what else a word means stands here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from components.block_march import SOLIDS
from components.catalogue import collectors, entry
from loopnet.explore.space import Number
from loopnet.media import media_names, medium
from loopnet.units import to_si

__all__ = ["AS_FIELD", "AS_STORE", "CYCLES", "FLUIDS", "HEATS", "LINES", "MASTS", "NONE", "NUMBERS", "RECEIVERS",
           "STORES", "Cycle", "Fluid", "StoreKind", "Target", "base", "choices", "shape"]

HOUR = 3600.0
MASTS = " on masts"
"""Ending of the word for light mirrors around many masts, in place of one tower."""
NONE, AS_FIELD, AS_STORE = "none", "as field", "as store"
LIGHT_MIRROR = 30.0
"""Mirrors up to this size stand around masts [m2]; assumption."""
LEFT_OUT = ("trough_in_parts", "seasonal_trough")
"""Collectors that are no words: one is another with other prices, one a field cannot hold (its tracker refuses a sun in
the zenith, by which a field asks for the names of its losses)."""
SHAPES = {"OneAxis": "trough", "LinearFresnel": "fresnel", "TwoAxis": "dish", "HeliostatField": "tower",
          "SeasonalTilt": "fixed", "Fixed": "fixed"}
LINES = ("trough", "fresnel", "fixed")
HEATS = ("120 degC", "150 degC", "180 degC", "250 degC", "320 degC", "390 degC", "450 degC", "510 degC", "565 degC",
         "650 degC", "750 degC", "850 degC", "980 degC")
"""Levels of the temperature at which the field medium leaves the field; the number `hotter` moves them."""


@dataclass(frozen=True)
class Target:
    """What takes the light: shapes of light and phases (or names) of medium that it is made for, entry of the
    catalogue, key of its price, pressure [Pa] of a gas in it, and the hottest medium for which it is known [K]."""

    shapes: tuple[str, ...]
    media: tuple[str, ...]
    entry: str
    price: str
    hottest: float
    pressure: float = 0.0


RECEIVERS: Mapping[str, Target] = MappingProxyType({
    "evacuated_tube": Target(LINES, ("liquid", "gas"), "cermet_tube_2008", "receiver.evacuated_tube", 823.15),
    "bare_tube": Target(LINES, ("liquid", "gas"), "bare_tube", "receiver.bare_tube", 673.15),
    "box_under_glass": Target(("fresnel",), ("liquid", "gas"), "box_under_glass", "receiver.tube_under_glass", 673.15),
    "boiling_row": Target(("trough", "fresnel"), ("steam",), "boiling_row", "receiver.evacuated_tube", 773.15),
    "cavity": Target(("dish", "masts"), ("liquid", "gas"), "cavity", "receiver.air_cavity", 1123.15),
    "dish_cavity": Target(("dish",), ("liquid", "gas"), "dish_cavity", "receiver.air_cavity", 1123.15),
    "salt_cylinder": Target(("tower",), ("nitrate salt",), "salt_cylinder", "receiver.tower", 873.15),
    "open_air": Target(("tower",), ("gas",), "open_air", "receiver.tower", 1123.15),
    "tubular_air": Target(("tower",), ("gas",), "tubular_air", "receiver.tower", 1123.15, 6e5),
    "windowed_air": Target(("tower",), ("gas",), "windowed_air", "receiver.tower", 1373.15, 6e5),
    "particle_curtain": Target(("tower",), ("particles",), "particle_curtain", "receiver.particle", 1273.15),
    "sand_curtain": Target(("tower",), ("particles",), "sand_curtain", "receiver.particle", 1273.15),
    "steam_cavity": Target(("tower",), ("steam",), "steam_cavity", "receiver.tower", 573.15),
})


@dataclass(frozen=True)
class StoreKind:
    """What keeps the heat: kind, phases that pass it, what it is made of, the hottest it stands [K], and whether it
    is open to the air, so that its medium must not boil."""

    kind: str
    phases: tuple[str, ...]
    material: str = ""
    hottest: float = 1e9
    open: bool = False


STORES: Mapping[str, StoreKind] = MappingProxyType({
    NONE: StoreKind(NONE, ()),
    "two_tanks": StoreKind("tanks", ("liquid",), open=True),
    "thermocline_quartz": StoreKind("thermocline", ("liquid",), "quartz sand", 833.15, open=True),
    "thermocline_rock": StoreKind("thermocline", ("liquid",), "crushed rock", 973.15, open=True),
    "rock_bed": StoreKind("bed", ("gas",), "crushed rock", 973.15),
    "silos": StoreKind("silos", ("particles",)),
    **{f"{name.replace(' ', '_')}_block": StoreKind("block", ("liquid", "gas"), name, solid.most)
       for name, solid in SOLIDS.items()},
    "mine_waste": StoreKind("ground", ("liquid", "gas"), "", 673.15),
})


@dataclass(frozen=True)
class Fluid:
    """A working fluid as a sketch sees it: critical temperature [K], acentric factor [-] (from memory)."""

    critical: float
    acentric: float


FLUIDS: Mapping[str, Fluid] = MappingProxyType({
    "toluene": Fluid(591.75, 0.266), "cyclopentane": Fluid(511.7, 0.20), "n-pentane": Fluid(469.7, 0.251),
    "isobutane": Fluid(407.8, 0.184), "MM": Fluid(518.7, 0.418), "MDM": Fluid(564.1, 0.529),
    "R245fa": Fluid(427.0, 0.378)})
"""Working fluids of organic cycles that are words; published states decide in the component itself."""


@dataclass(frozen=True)
class Cycle:
    """What takes the heat: kind, feedwater heaters or working fluid, and net electricity over heat for a first guess
    of the size of a field; 1 for a user of heat."""

    kind: str
    heaters: int = 0
    fluid: str = ""
    share: float = 1.0

    @property
    def user(self) -> bool:
        """Whether it makes no electricity."""
        return self.kind in ("process_steam", "hot_water", "hot_air", "kiln", "town")


CYCLES: Mapping[str, Cycle] = MappingProxyType({
    "steam_1": Cycle("steam", 1, share=0.54), "steam_3": Cycle("steam", 3, share=0.60),
    "steam_5": Cycle("steam", 5, share=0.61), "reheat_3": Cycle("reheat", 3, share=0.63),
    "reheat_5": Cycle("reheat", 5, share=0.64), "back_pressure": Cycle("back_pressure", share=0.28),
    **{f"organic_{name}": Cycle("organic", fluid=name, share=0.55) for name in FLUIDS},
    "carbon_dioxide": Cycle("carbon", share=0.64), "hot_air_turbine": Cycle("hot_air_turbine", share=0.42),
    "air_and_steam": Cycle("combined", share=0.52), "stirling": Cycle("stirling", share=0.52),
    "process_steam": Cycle("process_steam"), "hot_water": Cycle("hot_water"), "hot_air": Cycle("hot_air"),
    "kiln_400": Cycle("kiln", 673), "kiln_900": Cycle("kiln", 1173), "town": Cycle("town"),
})
"""Cycles and users; `share` is over what Carnot's engine would make of the hot medium and air of 45 degC."""

NUMBERS: Mapping[str, Number] = MappingProxyType({
    "power": Number("W", 1e5, 3e8, 20e6, "net electricity at the design point, or heat to a user"),
    "solar_multiple": Number("-", 1.0, 8.0, 2.8, "heat brought over heat drawn at the design point"),
    "direct_multiple": Number("-", 1.0, 3.0, 1.25, "the same where nothing is stored"),
    "store_hours": Number("s", 1 * HOUR, 72 * HOUR, 15 * HOUR, "for how long a full store serves the cycle"),
    "season_hours": Number("s", 200 * HOUR, 3000 * HOUR, 1000 * HOUR, "the same of a store in the ground"),
    "hotter": Number("K", -35.0, 35.0, 0.0, "added to the level of heat, a difference of temperatures"),
    "closeness": Number("-", 0.4, 3.0, 1.0, "temperature differences of all exchangers over the usual ones"),
    "cycle_pressure": Number("-", 0.4, 1.8, 1.0, "pressure before the turbine over the usual one"),
    "unit_size": Number("-", 0.1, 10.0, 1.0, "aperture of one device of the field over that of the catalogue"),
})


def base(word: str) -> str:
    """Entry of the catalogue for a word of the choice `collector`.

    >>> base("light_heliostat on masts")
    'light_heliostat'
    """
    return word.removesuffix(MASTS)


@lru_cache(maxsize=64)
def shape(word: str) -> str:
    """What a collector makes of the light: trough, fresnel, fixed, dish, tower or masts.

    >>> shape("light_heliostat on masts"), shape("film_trough")
    ('masts', 'trough')
    """
    found = SHAPES.get(type(entry("collector", base(word)).made.tracking).__name__, "tower")
    return "masts" if word.endswith(MASTS) else found


@lru_cache(maxsize=1)
def choices() -> Mapping[str, tuple[str, ...]]:
    """All words by choice, in the order in which one decides."""
    every = [name for name in collectors() if name not in LEFT_OUT]
    light = [name + MASTS for name in every
             if shape(name) == "tower" and entry("collector", name).made.aperture < LIGHT_MIRROR]
    media = media_names()
    liquids = tuple(name for name in media if medium(name).phase == "liquid")
    return MappingProxyType({
        "collector": (*every, *light), "receiver": tuple(RECEIVERS), "field_loop": media, "heat": HEATS,
        "store_loop": (AS_FIELD, *media), "store": tuple(STORES), "cycle_loop": (AS_STORE, *liquids),
        "cycle": tuple(CYCLES)})


def kelvin(word: str) -> float:
    """Temperature of a level of heat [K].

    >>> kelvin("390 degC")
    663.15
    """
    return to_si(word, "K")
