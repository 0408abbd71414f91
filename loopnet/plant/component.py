"""What a component is: its sides, its unknowns, its equations, its energy terms, its costs and its limits.

Sign convention: energy that enters the plant is positive in kinds "sun" and "electricity", energy that leaves it is
positive in kinds "loss", "power" and "user", and heat that goes into a store is positive in kind "store".
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING, Any, ClassVar, Literal

from loopnet.params import Parameters

if TYPE_CHECKING:
    from loopnet.media import Medium
    from loopnet.money import CostLine, PriceBook
    from loopnet.plant.cycle import Cycle, HeatExchange
    from loopnet.solve.view import ComponentView

__all__ = ["ENTERS", "Component", "Equation", "Kind", "Term", "Unknown"]

Kind = Literal["sun", "electricity", "loss", "power", "user", "store"]
ENTERS: dict[str, int] = {"sun": 1, "electricity": 1, "loss": -1, "power": -1, "user": -1, "store": -1}
"""+1 where a term of this kind brings energy into its component, -1 where it takes energy out."""


@dataclass(frozen=True)
class Unknown:
    """One unknown of a component.

    `hardware` marks what is built (area, diameter, UA): free when sizing, frozen when rating.
    """

    name: str
    unit: str
    start: float
    low: float = -inf
    high: float = inf
    hardware: bool = False


@dataclass(frozen=True)
class Equation:
    """One residual, zero when it holds, vectorised over operating points.

    `when` tells which problem it belongs to: "always", only when "sizing", or only when "rating". `role` marks what
    the year gives: the "load" of a turbine or user, the "focus" of a field; where nothing is stored, one of the two
    follows from the other and its equation is left out.
    """

    name: str
    residual: Callable[[ComponentView], Any]
    when: Literal["always", "sizing", "rating"] = "always"
    role: Literal["", "load", "focus"] = ""


@dataclass(frozen=True)
class Term:
    """One flow of energy [W] across the border of a component that is not carried by a stream."""

    label: str
    kind: Kind
    value: Any


@dataclass(frozen=True, kw_only=True)
class Component(Parameters):
    """Base of all components: frozen parameters and a small protocol.

    A *side* is a way through the component for one medium, from its inlet to its outlet. Components touch other
    loops only by having two sides.
    """

    family: ClassVar[str] = "component"
    """What the component is in a drawing: field, pipe, mover, exchanger, store, cycle, user."""
    sides: ClassVar[tuple[str, ...]] = ("main",)
    phases: ClassVar[dict[str, tuple[str, ...]]] = {}
    """Side -> phases of medium it can take; all phases where a side is not named."""
    holds_pressure: ClassVar[bool] = False
    """Whether its own equations fix the pressure level of the paths it lies on (an open tank, a turbine)."""
    consumes: ClassVar[tuple[str, ...]] = ()
    """Unknowns [W] that are electricity taken from the plant's bar."""
    generates: ClassVar[tuple[str, ...]] = ()
    """Unknowns [W] that are electricity given to the plant's bar."""
    cautions: ClassVar[tuple[str, ...]] = ()

    def unknowns(self) -> Iterable[Unknown]:
        """Own unknowns, streams not counted."""
        return ()

    def equations(self) -> Iterable[Equation]:
        """Residuals; their number is that of own unknowns plus outlets, less what neighbours and targets set."""
        raise NotImplementedError

    def terms(self, v: ComponentView) -> Iterable[Term]:
        """Energy that crosses the component's border other than by streams."""
        return ()

    def prepare(self, site: Mapping[str, Any]) -> dict[str, Any]:
        """What follows from sun and air alone, computed once for a whole year and then given to the equations
        (`v.given(name)`); `site` maps condition to array."""
        return {}

    def guess(self) -> dict[str, float]:
        """Start temperatures [K] of streams, by "side.inlet" and "side.outlet"."""
        return {}

    def givens(self, v: ComponentView) -> dict[str, tuple[float, float]]:
        """Quantities that the year gives this component from hour to hour (a tank's temperature, a load), each
        with the range it moves in."""
        return {}

    def check(self, media: dict[str, Medium]) -> None:
        """Refuse parameters that do not go with the media of the sides."""

    def costs(self, v: ComponentView, book: PriceBook) -> Iterable[CostLine]:
        """Cost lines of the sized component; `v` views the design point."""
        return ()

    def differences(self, v: ComponentView) -> dict[str, Any]:
        """Temperature differences [K] that must stay positive: hot less cold, by place."""
        return {}

    def portrait(self, v: ComponentView) -> Cycle | None:
        """The cycle inside as states and ways between them, for tables and pictures; `v` views one point."""
        return None

    def exchanges(self, v: ComponentView) -> Iterable[HeatExchange]:
        """The exchangers inside as temperatures over heat, for pictures; `v` views one point."""
        return ()

    def follow(self, v: ComponentView, by: float, steel: float) -> dict[str, Any]:
        """Parameters that move where the medium that heats this component comes hotter by some kelvin; steam moves to
        `steel` [K] at most. `v` views the design point."""
        return {}

    def load(self, v: ComponentView) -> Any:
        """Load [-] of a component whose load the year sets; none for all others."""
        return None

    def running(self, v: ComponentView) -> Any:
        """At which points the component can run, from conditions alone; None where it always can."""
        return None

    def backed_up(self, name: str, year: Any, weather: Any) -> Any:
        """What burns fuel for what a year left unmet: `user`, `boiler`, heat `unmet` by the plant [J], `carbon` [kg],
        `costs(book)`, `to_dict()`; None for all that have no boiler of their own."""
        return None

    def findings(self, v: ComponentView) -> Iterable[str]:
        """Warnings about a solution: a limit that is near or passed, a rule of the trade that is broken."""
        return ()
