"""Energy flow as data: links of a directed graph without cycles, checked for balance, read as a trunk with branches.
No picture here; the layout and the drawing are made from this."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import fsum, isfinite

from loopnet.errors import ConvergenceError, ParameterError, TopologyError

__all__ = ["EnergyFlow", "Link", "Shape", "read_shape"]

_KINDS = ("sun", "heat", "electricity", "loss", "store")


@dataclass(frozen=True, kw_only=True)
class Link:
    """Energy that goes from one node to another.

    `value` is in the unit of the flow; `kind` is "sun", "heat", "electricity", "loss" or "store"; `label` names
    the link where the name of its target would not do.
    """

    source: str
    target: str
    value: float
    kind: str = "heat"
    label: str = ""

    def __post_init__(self) -> None:
        where = f"link {self.source} -> {self.target}"
        if self.kind not in _KINDS:
            raise ParameterError("unknown kind of energy", where=where, got=repr(self.kind), allowed=", ".join(_KINDS))
        if not isfinite(self.value) or self.value < 0:
            raise ParameterError("energy of a link must be finite and not negative", where=where, got=str(self.value),
                                 allowed="0 or more", hint="turn the link around if energy flows the other way")
        if self.source == self.target:
            raise TopologyError("a link joins a node with itself", where=where)


@dataclass(frozen=True, kw_only=True)
class EnergyFlow:
    """Where the energy of a plant goes, from the sun to what it delivers and everything it loses.

    Parameters
    ----------
    title : str
        What the picture is of.
    unit : str
        Unit of every value, for example ``"GWh"``.
    links : sequence of Link
        A directed graph without cycles.
    products : sequence of str
        Names of the nodes that are delivered, and so end at the right. Empty: the largest receiver of electricity
        and every receiver of heat; all other ends are drawn as losses or stubs.

    Examples
    --------
    >>> flow = EnergyFlow(title="a dish", unit="kWh", links=(
    ...     Link(source="sun", target="receiver", value=10.0, kind="sun"),
    ...     Link(source="receiver", target="hot air", value=7.5, kind="heat"),
    ...     Link(source="receiver", target="radiation", value=2.5, kind="loss")))
    >>> flow.check()
    >>> flow.sun, flow.losses()
    (10.0, {'radiation': 2.5})
    """

    title: str = ""
    unit: str = ""
    links: Sequence[Link] = ()
    products: Sequence[str] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "links", tuple(self.links))
        object.__setattr__(self, "products", tuple(self.products))
        if not self.links:
            raise TopologyError("an energy flow without links", where=self.title or "flow", allowed="one link or more")

    @property
    def nodes(self) -> tuple[str, ...]:
        """Names of all nodes, in the order in which links name them."""
        return tuple(dict.fromkeys(name for link in self.links for name in (link.source, link.target)))

    @property
    def sun(self) -> float:
        """What per cents refer to [unit of the flow]: all that leaves the sources of sun, or all sources if none is."""
        targets = {link.target for link in self.links}
        entering = [link for link in self.links if link.source not in targets]
        suns = {link.source for link in entering if link.kind == "sun"}
        return fsum(link.value for link in entering if link.source in suns or not suns)

    def losses(self) -> dict[str, float]:
        """Every end that receives only losses: name -> energy [unit of the flow]."""
        sources = {link.source for link in self.links}
        kinds: dict[str, set[str]] = defaultdict(set)
        sums: dict[str, float] = defaultdict(float)
        for link in self.links:
            kinds[link.target].add(link.kind)
            sums[link.target] += link.value
        return {name: sums[name] for name, seen in kinds.items() if seen == {"loss"} and name not in sources}

    def check(self, tolerance: float = 1e-6) -> None:
        """Refuse a flow that has a cycle or a node where energy appears or is lost without a name.

        Parameters
        ----------
        tolerance : float
            Largest imbalance of an inner node, relative to what flows through it [-].

        Raises
        ------
        TopologyError
            If the links form a cycle.
        ConvergenceError
            If an inner node's inflow and outflow differ; the error names the worst node.
        """
        _order(self)
        into: dict[str, list[float]] = defaultdict(list)
        out: dict[str, list[float]] = defaultdict(list)
        for link in self.links:
            into[link.target].append(link.value)
            out[link.source].append(link.value)
        worst, where = 0.0, ""
        for name in into.keys() & out.keys():
            gains, spends = fsum(into[name]), fsum(out[name])
            gap = abs(gains - spends) / max(gains, spends) if max(gains, spends) > 0 else 0.0
            if gap > worst:
                worst, where = gap, name
        if worst > tolerance:
            gains, spends = fsum(into[where]), fsum(out[where])
            raise ConvergenceError("energy does not balance at this node", where=where,
                                   got=f"{gains:.9g} {self.unit} in, {spends:.9g} {self.unit} out",
                                   allowed=f"a difference of {tolerance:g} of the flow",
                                   hint="name the missing energy as a loss or a gain")

    def lumped(self, below: float, name: str = "other losses") -> EnergyFlow:
        """The same flow, with the losses of each node that are smaller than a share of the sun drawn as one.

        Parameters
        ----------
        below : float
            Losses smaller than this share of the sun are put together, where a node has two or more of them [-].
        name : str
            What they are then called.

        Returns
        -------
        EnergyFlow
            A new flow that balances as before.
        """
        ends, limit = self.losses(), below * self.sun
        small: dict[str, list[Link]] = defaultdict(list)
        for link in self.links:
            if link.target in ends and ends[link.target] < limit:
                small[link.source].append(link)
        lumps = {source: found for source, found in small.items() if len(found) > 1}
        gone = {id(link) for found in lumps.values() for link in found}
        kept = [link for link in self.links if id(link) not in gone]
        for source, found in lumps.items():
            kept.append(Link(source=source, target=f"{name} ({source})", value=fsum(link.value for link in found),
                             kind="loss", label=name))
        return EnergyFlow(title=self.title, unit=self.unit, links=kept, products=self.products)


def _order(flow: EnergyFlow) -> list[str]:
    """Nodes in topological order, or the error that names a cycle."""
    waiting = dict.fromkeys(flow.nodes, 0)
    for link in flow.links:
        waiting[link.target] += 1
    ready, order = [name for name in flow.nodes if waiting[name] == 0], []
    while ready:
        name = ready.pop(0)
        order.append(name)
        for link in flow.links:
            if link.source == name:
                waiting[link.target] -= 1
                if waiting[link.target] == 0:
                    ready.append(link.target)
    if len(order) < len(waiting):
        stuck = [name for name in flow.nodes if name not in order]
        raise TopologyError("the energy flow runs in a circle", where=flow.title or "flow", got=", ".join(stuck[:6]),
                            allowed="a graph without cycles", hint="draw energy that is fed back as an end of its own")
    return order


@dataclass(frozen=True)
class Shape:
    """How a flow is read: which nodes form the trunk and the branches, and in which order they stand.

    `order` holds the nodes that have a place, from left to right; `chains` the trunk first, then the branches, each
    a path of nodes joined by `straight` links; `drops` are the links that end as a loss or a stub. Links are given
    by their number in the flow.
    """

    order: tuple[str, ...]
    chains: tuple[tuple[str, ...], ...]
    straight: frozenset[int]
    drops: frozenset[int]
    products: tuple[str, ...]
    through: dict[str, float] = field(hash=False)


def read_shape(flow: EnergyFlow) -> Shape:
    """Find the trunk (from the largest source along the largest links to what is delivered) and its branches."""
    order = _order(flow)
    out: dict[str, list[int]] = defaultdict(list)
    into: dict[str, list[int]] = defaultdict(list)
    for number, link in enumerate(flow.links):
        out[link.source].append(number)
        into[link.target].append(number)

    def gain(name: str) -> float:
        return fsum(flow.links[n].value for n in into[name])

    through = {name: max(gain(name), fsum(flow.links[n].value for n in out[name])) for name in order}
    ends = [name for name in order if not out[name]]
    products = _products(flow, ends, into, through)
    drops = frozenset(n for name in ends if name not in products for n in into[name])
    placed = [name for name in order if out[name] or name in products]

    useful = set(products)
    for name in reversed(placed):
        if any(flow.links[n].target in useful for n in out[name]):
            useful.add(name)

    def follow(name: str, free: set[str]) -> int | None:
        heirs = [n for n in out[name] if n not in drops and flow.links[n].target in free]
        return max(heirs, key=lambda n: (flow.links[n].target in useful, flow.links[n].value), default=None)

    sources = [name for name in placed if not into[name]]
    first = max(sources, key=lambda s: (s in useful, any(flow.links[n].kind == "sun" for n in out[s]), through[s]))
    free, chains, straight = set(placed), [], set()
    for start in [first, *placed]:
        if start not in free:
            continue
        free.discard(start)
        chain, name = [start], start
        while (step := follow(name, free)) is not None:
            straight.add(step)
            name = flow.links[step].target
            chain.append(name)
            free.discard(name)
        chains.append(tuple(chain))

    return Shape(_late(flow, placed, chains[0], products, drops), tuple(chains), frozenset(straight), drops,
                 products, through)


def _products(flow: EnergyFlow, ends: list[str], into: dict[str, list[int]],
              through: dict[str, float]) -> tuple[str, ...]:
    if flow.products:
        unknown = [name for name in flow.products if name not in ends]
        if unknown:
            raise TopologyError("a product that no link ends in", where=flow.title or "flow", got=", ".join(unknown),
                                allowed=", ".join(ends), hint="name nodes that only receive energy")
        return tuple(flow.products)
    kinds = {name: {flow.links[n].kind for n in into[name]} for name in ends}
    power = [name for name in ends if "electricity" in kinds[name]]
    found = [name for name in ends if "heat" in kinds[name] and name not in power]
    if power:
        found.append(max(power, key=lambda name: through[name]))
    return tuple(found) or (max(ends, key=lambda name: ("loss" not in kinds[name], through[name])),)


def _late(flow: EnergyFlow, placed: list[str], trunk: tuple[str, ...], products: tuple[str, ...],
          drops: frozenset[int]) -> tuple[str, ...]:
    """Order from left to right in which every node off the trunk stands as late as it can, products last."""
    rank = {name: number for number, name in enumerate(placed)}
    heirs: dict[str, set[str]] = {name: set() for name in placed}
    for number, link in enumerate(flow.links):
        if number not in drops:
            heirs[link.source].add(link.target)
    left, backwards = set(placed), list[str]()
    while left:
        ready = [name for name in left if not heirs[name] & left]
        name = max(ready, key=lambda n: (n in products, n not in trunk, rank[n]))
        backwards.append(name)
        left.discard(name)
    return tuple(reversed(backwards))
