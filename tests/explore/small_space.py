"""A grammar of its own, with two circuits of one shipped plant and two numbers, for tests of what searches and runs."""

from collections.abc import Mapping
from types import MappingProxyType

from loopnet.errors import ParameterError
from loopnet.explore import Number, Range, Space
from loopnet.plant import Plant
from loopnet.plants import find_plant
from loopnet.site import tamarisk_basin

DAYS = tamarisk_basin().slice(24 * 150, 24 * 3)
"""Three days in early summer: enough for a year of figures, in little time."""


class SmallGrammar:
    """Falling sand with a small or a large turbine; a plant of `kind` "broken" cannot be built, one of "odd" fails in a
    way that nobody foresaw."""

    def choices(self) -> Mapping[str, tuple[str, ...]]:
        return MappingProxyType({"kind": ("small", "large", "broken", "odd"), "steam": ("hot", "cool")})

    def numbers(self) -> Mapping[str, Number]:
        return {"solar_multiple": Number("-", 1.0, 5.0, 3.0, "field over design load"),
                "store_hours": Number("s", 3600.0, 360000.0, 50400.0, "store over design load")}

    def refuse(self, choices: Mapping[str, str | float]) -> str | None:
        if choices.get("kind") == "large" and choices.get("steam") == "cool":
            return "a large turbine wants hot steam"
        if float(choices.get("solar_multiple", 3.0)) < 1.2:
            return "too small a field"
        return None

    def draw(self, choices: Mapping[str, str | float]) -> Plant:
        if choices["kind"] == "broken":
            raise ParameterError("it cannot be built", where="plant", got="broken", allowed="whole", hint="mend it")
        if choices["kind"] == "odd":
            raise ZeroDivisionError("odd")
        plant = find_plant("sand_silo").with_design(
            solar_multiple=choices["solar_multiple"], store_hours=choices["store_hours"],
            net_power={"small": 20e6, "large": 100e6}[str(choices["kind"])])
        plant.title = f"{choices['kind']} plant, {choices['steam']} steam"
        return plant


def small_space(kinds: tuple[str, ...] = ("small", "large"), steam: tuple[str, ...] = ("hot",), **numbers) -> Space:
    given = numbers or {"solar_multiple": (2.0, 3.0), "store_hours": (36000.0,)}
    ranges = {name: Range(*value) if isinstance(value, list) else value for name, value in given.items()}
    return Space(SmallGrammar(), {"kind": kinds, "steam": steam}, ranges, title="small")
