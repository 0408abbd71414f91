"""What an equation sees: the unknowns of its component at all operating points, recorded as they are read."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from loopnet.media import Medium

__all__ = ["ComponentLink", "ComponentView", "Frame", "SideView", "StreamLink", "StreamView"]

Array = Any  # np.ndarray of shape (points,)


@dataclass(frozen=True)
class StreamLink:
    """Names of the unknowns that one stream carries, and its medium."""

    name: str
    m: str
    h: str
    p: str
    medium: Medium


@dataclass(frozen=True)
class ComponentLink:
    """Where a component's sides lie among the unknowns of a system."""

    name: str
    sides: Mapping[str, tuple[StreamLink, StreamLink]]


@dataclass
class Frame:
    """Values at a batch of operating points, with a record of what is read and a cache of what was computed.

    A cached value is valid as long as the arrays it was computed from are the very same objects, so that a
    perturbed unknown costs only what depends on it.
    """

    links: Mapping[str, ComponentLink]
    values: dict[str, Array]
    conditions: Mapping[str, Array]
    design: Mapping[str, Any] = field(default_factory=dict)
    targets: Any = None
    reads_of: dict[Any, tuple[str, ...]] = field(default_factory=dict)
    """What each shared intermediate reads; filled while recording, used by every later frame of the system."""
    cache: dict[Any, tuple[tuple[Array, ...], Any]] = field(default_factory=dict)
    recorded: dict[Any, tuple[Any, frozenset[str]]] = field(default_factory=dict)
    """Shared intermediates with what they read, while recording."""
    reads: set[str] | None = None
    """Unknowns and conditions read since recording began; None where nothing is recorded."""

    def get(self, name: str) -> Array:
        """Value of an unknown; of what is frozen by sizing where it is none."""
        if self.reads is not None:
            self.reads.add(name)
        value = self.values.get(name)
        return self.design[name] if value is None else value

    def condition(self, name: str) -> Array:
        """Value of what is given from outside: weather, a store's temperature, a load."""
        if self.reads is not None:
            self.reads.add("?" + name)
        return self.conditions[name]

    def once(self, key: Any, compute: Callable[[], Any]) -> Any:
        """Compute a shared intermediate only once for the same inputs."""
        if self.reads is not None:  # recording: values stand still, so what was computed and what it read are kept
            if key not in self.recorded:
                outer, self.reads = self.reads, set()
                self.recorded[key] = compute(), frozenset(self.reads)
                self.reads_of[key] = tuple(name for name in self.reads if not name.startswith("?"))
                self.reads = outer
            result, reads = self.recorded[key]
            self.reads |= reads
            return result
        names = self.reads_of.get(key)
        if names is None:
            return compute()
        inputs = tuple(self.values.get(name) for name in names)
        known = self.cache.get(key)
        if known is not None and all(a is b for a, b in zip(known[0], inputs, strict=True)):
            return known[1]
        result = compute()
        self.cache[key] = (inputs, result)
        return result

    def changed(self, name: str, value: Array) -> Frame:
        """A frame in which one unknown has another value; what does not depend on it stays computed."""
        return self.moved({name: value})

    def moved(self, values: Mapping[str, Array]) -> Frame:
        """A frame in which some unknowns have other values; what does not depend on them stays computed."""
        return Frame(self.links, {**self.values, **values}, self.conditions, self.design, self.targets,
                     self.reads_of, dict(self.cache))

    def at(self, points: Array) -> Frame:
        """A frame of some of the points."""
        def pick(value: Array) -> Array:
            return value[points] if np.ndim(value) else value

        return Frame(self.links, {k: pick(x) for k, x in self.values.items()},
                     {k: pick(x) for k, x in self.conditions.items()}, self.design, self.targets, self.reads_of)

    def copies(self, count: int, points: int) -> Frame:
        """A frame with all points `count` times, one copy after the other."""
        def repeat(value: Array) -> Array:
            return np.tile(value, count) if np.ndim(value) == 1 and len(value) == points else value

        return Frame(self.links, {k: repeat(x) for k, x in self.values.items()},
                     {k: repeat(x) for k, x in self.conditions.items()}, self.design, self.targets, self.reads_of)

    def view(self, component: str) -> ComponentView:
        """What the equations of a component see."""
        return ComponentView(self, self.links[component])


class StreamView:
    """One end of a stream, as in ``v.hot.inlet``: mass flow m [kg/s], enthalpy h [J/kg], pressure p [Pa]."""

    __slots__ = ("frame", "link")

    def __init__(self, frame: Frame, link: StreamLink) -> None:
        self.frame, self.link = frame, link

    @property
    def medium(self) -> Any:
        """The medium that the stream carries."""
        return self.link.medium

    @property
    def m(self) -> Array:
        """Mass flow [kg/s]."""
        return self.frame.get(self.link.m)

    @property
    def h(self) -> Array:
        """Specific enthalpy [J/kg]."""
        return self.frame.get(self.link.h)

    @property
    def p(self) -> Array:
        """Pressure [Pa]."""
        return self.frame.get(self.link.p)

    @property
    def T(self) -> Array:
        """Temperature [K]."""
        return self.frame.once(("T", self.link.h), self._temperature)

    def _temperature(self) -> Array:
        return self.link.medium.T(self.h) if self.link.medium.pressure_free else self.link.medium.T(self.h, self.p)

    @property
    def rho(self) -> Array:
        """Density [kg/m3]; that of a gas follows its pressure."""
        fluid = self.link.medium
        return fluid.rho(self.T, self.p) if fluid.phase in ("gas", "steam") else fluid.rho(self.T)

    @property
    def cp(self) -> Array:
        """Specific heat capacity [J/kgK]."""
        return self._property("cp")

    @property
    def mu(self) -> Array:
        """Dynamic viscosity [Pa s]."""
        return self._property("mu")

    def _property(self, name: str) -> Array:
        read = getattr(self.link.medium, name)
        return read(self.T) if self.link.medium.pressure_free else read(self.T, self.p)


class SideView:
    """One side of a component: its inlet, its outlet and the flow through it."""

    __slots__ = ("inlet", "outlet")

    def __init__(self, frame: Frame, inlet: StreamLink, outlet: StreamLink) -> None:
        self.inlet, self.outlet = StreamView(frame, inlet), StreamView(frame, outlet)

    @property
    def m(self) -> Array:
        """Mass flow [kg/s]."""
        return self.inlet.m

    @property
    def medium(self) -> Any:
        """The medium of this side."""
        return self.inlet.link.medium

    @property
    def ratio(self) -> Array:
        """Mass flow over that of the design point [-]; one when sizing."""
        design = self.inlet.frame.design
        return self.inlet.m / design[self.inlet.link.m] if design else 1.0

    @property
    def heat(self) -> Array:
        """Heat taken up by the medium on its way through [W]."""
        return self.inlet.m * (self.outlet.h - self.inlet.h)


class ComponentView:
    """Unknowns by item, ``v["UA"]``; sides by attribute, ``v.hot.inlet.T``; what is given from outside by method."""

    __slots__ = ("_link", "frame")

    def __init__(self, frame: Frame, link: ComponentLink) -> None:
        self.frame, self._link = frame, link

    @property
    def name(self) -> str:
        """Name of the component in its plant."""
        return self._link.name

    def __getitem__(self, name: str) -> Array:
        return self.frame.get(f"{self._link.name}.{name}")

    def __getattr__(self, side: str) -> SideView:
        try:
            inlet, outlet = self._link.sides[side]
        except KeyError:
            raise AttributeError(f"{self._link.name} has no side {side!r}") from None
        return SideView(self.frame, inlet, outlet)

    def site(self, name: str) -> Array:
        """A condition of sun or air: dni, ambient, wind, pressure, zenith, azimuth, ..."""
        return self.frame.condition(name)

    def given(self, name: str) -> Array:
        """A quantity that the year gives to this component, such as a tank's temperature."""
        return self.frame.condition(f"{self._link.name}.{name}")

    def design(self, name: str) -> Any:
        """Design value of an own unknown; its present value when sizing."""
        full = f"{self._link.name}.{name}"
        return self.frame.design[full] if self.frame.design else self.frame.get(full)

    @property
    def sizing(self) -> bool:
        """Whether hardware is free."""
        return not self.frame.design

    @property
    def targets(self) -> Any:
        """The plant's design targets."""
        return self.frame.targets

    def other(self, component: str) -> ComponentView:
        """View of another component, for what is built together (a header and the field it serves)."""
        return self.frame.view(component)

    def once(self, key: str, compute: Callable[[], Any]) -> Any:
        """Compute an intermediate that several equations of this component share only once."""
        return self.frame.once((self._link.name, key), compute)
