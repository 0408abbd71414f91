"""Bridge: from one plant's cost per kWh to another's, term by term, adding up exactly, in no order.

Every group of cost is (unit cost) x (flow that it is sized for, per kWh delivered), and that flow is the product of the
steps after it. So a weak cycle is charged with the larger mirrors, receiver and store that it asks for. What each
factor's change does is found by the log-mean Divisia index.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import fsum, log, log1p
from typing import TYPE_CHECKING, Any

from loopnet.errors import ParameterError
from loopnet.money.result import COLUMNS
from loopnet.shown import shown
from loopnet.study.assess import Assessment
from loopnet.study.energy_steps import STEPS, EnergySteps, energy_steps

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Bridge", "BridgeTerm", "bridge", "log_mean"]

GROUPS = {"mirrors": "", "receiver": "receiver", "pipes": "pipes", "exchangers": "pipes", "pumps, fans, lifts": "pipes",
          "store": "store", "cycle": "own use", "operation": None, "bought electricity": None}
"""Group of cost -> step whose inflow it is sized for: the aperture where empty, what is delivered where none. The cycle
is bought for its gross output, which is what enters the step of own use."""
DUST = 1e-15
"""Energy and finance terms below this are rounding, not change [USD/kWh]."""
FAMILY = {"pipe": "pipes", "exchanger": "exchangers", "mover": "pumps, fans, lifts", "store": "store", "cycle": "cycle",
          "user": "cycle"}
OF_FIELD = {"receiver": "receiver", "tower": "receiver", "pipe": "pipes", "medium": "pipes", "insulation": "pipes"}
"""First word of a price key -> group of a field's line; what is not named is mirrors, with the ground under them."""


def log_mean(a: float, b: float) -> float:
    """Logarithmic mean (a - b) / ln(a / b); a where they are equal.

    Parameters
    ----------
    a, b : float
        Two amounts, both of any one unit [-].

    Returns
    -------
    float
        Their logarithmic mean [same unit]; 0 where one is zero or their signs differ, the limit that leaves the whole
        change to the unit cost.

    References
    ----------
    B. W. Ang, Energy Policy 32 (2004) 1131-1139 and 86 (2015) 233-238, the additive index LMDI-I; from memory. Zeros:
    B. W. Ang, N. Liu, Energy Policy 35 (2007) 238-246; from memory.

    Examples
    --------
    >>> round(log_mean(1.0, 2.0), 6), log_mean(3.0, 3.0), log_mean(0.0, 5.0)
    (1.442695, 3.0, 0.0)
    """
    if a * b <= 0.0:
        return 0.0
    growth = (a - b) / b  # with log1p, no digits are lost where the two are nearly equal
    return b * growth / log1p(growth) if growth else a


@dataclass(frozen=True, kw_only=True)
class BridgeTerm:
    """One step of a bridge.

    `first` and `second` are the plants' own figures [`unit`]: a share passed on, or a unit cost.
    """

    name: str
    kind: str
    usd_per_kwh: float
    first: float
    second: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class Bridge:
    """From the first plant's cost to the second's.

    Parameters
    ----------
    first, second : str
        Names of the plants.
    start, end : float
        Their costs [USD/kWh].
    product : str
        What both deliver.
    terms : tuple of BridgeTerm
        Energy steps first, then capital and running cost of each group; terms that are zero in both are left out.
    """

    first: str
    second: str
    start: float
    end: float
    product: str
    terms: tuple[BridgeTerm, ...]

    @property
    def difference(self) -> float:
        """What the terms add up to: second less first [USD/kWh]."""
        return self.end - self.start

    @property
    def by_name(self) -> dict[str, float]:
        """Term -> what it adds [USD/kWh]."""
        return {term.name: term.usd_per_kwh for term in self.terms}

    def gathered(self, least: float = 0.0) -> dict[str, float]:
        """Terms in order, those smaller than `least` [USD/kWh] added up as ``"n smaller"``."""
        large = {t.name: t.usd_per_kwh for t in self.terms if abs(t.usd_per_kwh) >= least}
        small = [t.usd_per_kwh for t in self.terms if abs(t.usd_per_kwh) < least]
        return {**large, **({f"{len(small)} smaller": fsum(small)} if small else {})}

    def sentence(self) -> str:
        """The bridge in words: what helps and what hurts most."""
        gap, steps = self.difference, sorted(self.terms, key=lambda t: -abs(t.usd_per_kwh))
        text = (f"A kWh of {self.product} costs {100 * self.start:.2f} US cents from {self.first} and "
                f"{100 * self.end:.2f} from {self.second}: {100 * abs(gap):.2f} {'more' if gap >= 0 else 'less'}.")
        for sign, words in ((-1.0, f"For {self.second}"), (1.0, f"Against {self.second}")):
            named = [f"{t.name} {100 * t.usd_per_kwh:+.2f}" for t in steps if sign * t.usd_per_kwh > 5e-5][:4]
            text += f" {words}: {', '.join(named)}." if named else ""
        return text

    def to_frame(self) -> pd.DataFrame:
        """One row per term: both plants' figures, and what the change does [US ct/kWh]."""
        import pandas as pd

        rows = [(t.name, t.kind, t.first, t.second, t.unit, 100 * t.usd_per_kwh) for t in self.terms]
        return pd.DataFrame(rows, columns=["term", "kind", self.first, f"{self.second} " if self.second == self.first
                                           else self.second, "unit", "ct/kWh"])

    def to_dict(self) -> dict[str, Any]:
        """Plain dict; `terms_usd_per_kwh` add up to `difference_usd_per_kwh`."""
        return {"first": self.first, "second": self.second, "product": self.product, "start_usd_per_kwh": self.start,
                "end_usd_per_kwh": self.end, "difference_usd_per_kwh": self.difference,
                "terms_usd_per_kwh": self.by_name,
                "terms": [{"name": t.name, "kind": t.kind, "usd_per_kwh": t.usd_per_kwh, "first": t.first,
                           "second": t.second, "unit": t.unit} for t in self.terms]}

    def __repr__(self) -> str:
        return (f"<Bridge {self.first} {100 * self.start:.2f} to {self.second} {100 * self.end:.2f} ct/kWh in "
                f"{len(self.terms)} terms>")

    def _repr_html_(self) -> str:
        return shown(self)


def bridge(first: Assessment, second: Assessment) -> Bridge:
    """Explain the difference of two plants' costs, term by term.

    Parameters
    ----------
    first, second : Assessment

    Returns
    -------
    Bridge
        Its terms add up to the difference; ``bridge(b, a)`` has the same terms with other signs.

    Raises
    ------
    ParameterError
        If the plants deliver different goods.

    Notes
    -----
    For each group, cost = unit cost x flow per kWh delivered; a capital group's unit cost is a direct cost times the
    yearly charge on it, so that two plants with different finance show it as a term of its own. With L the logarithmic
    mean of the group's two costs, a factor x adds L ln(x2 / x1). Why the log-mean index and not Shapley values: a step
    counts the same whether it stands for itself or is made of several, so the bridge does not change with how finely
    the chain is cut. Where a group is in one plant only, its whole cost is the unit cost's.

    References
    ----------
    See `log_mean`.
    """
    if first.cost.product != second.cost.product:
        raise ParameterError("these plants deliver different goods", where="bridge",
                             got=f"{first.cost.product} and {second.cost.product}", allowed="the same product",
                             hint="diff shows them side by side")
    chains = energy_steps(first), energy_steps(second)
    one, two = _groups(first), _groups(second)
    energy = {"sun": 0.0, **dict.fromkeys(STEPS, 0.0), "finance": 0.0, "decay": 0.0}
    money: list[BridgeTerm] = []
    for group, step in GROUPS.items():
        for kind in ("capital", "running"):
            a, b = one.get((group, kind), 0.0), two.get((group, kind), 0.0)
            if a == 0.0 and b == 0.0:
                continue
            mean, rest = log_mean(a, b), b - a
            for name, low, high in _factors(first, second, chains, step, kind, group):
                share = mean * log(high / low)
                energy[name] += share
                rest -= share
            units = [_unit_cost(c, chain, step) for c, chain in zip((a, b), chains, strict=True)]
            money.append(BridgeTerm(name=f"{group}: {kind}", kind=kind, usd_per_kwh=rest, first=units[0],
                                    second=units[1], unit=_unit(step)))
    figures = {"sun": (chains[0].sun, chains[1].sun, "kWh/m2"),
               "finance": (_charge(first), _charge(second), "1/year"),
               "decay": (_lasting(first), _lasting(second), "-")}
    figures |= {step: (chains[0].shares[step], chains[1].shares[step], "-") for step in STEPS}
    kept = [BridgeTerm(name=name, kind="energy" if name in ("sun", *STEPS) else "finance", usd_per_kwh=usd,
                       first=figures[name][0], second=figures[name][1], unit=figures[name][2])
            for name, usd in energy.items() if abs(usd) > DUST]
    return Bridge(first=first.name, second=second.name, start=first.cost.usd_per_kwh, end=second.cost.usd_per_kwh,
                  product=first.cost.product, terms=(*kept, *money))


def _factors(first: Assessment, second: Assessment, chains: tuple[EnergySteps, EnergySteps], step: str | None,
             kind: str, group: str) -> Iterable[tuple[str, float, float]]:
    """Factors of a group's cost other than its unit cost: name, value in both plants."""
    if step is not None:
        if not step:
            yield "sun", 1.0 / chains[0].sun, 1.0 / chains[1].sun
        for name in STEPS[STEPS.index(step) if step else 0:]:
            yield name, 1.0 / chains[0].shares[name], 1.0 / chains[1].shares[name]
    if kind == "capital":
        yield "finance", _charge(first), _charge(second)
    if group != "operation":
        yield "decay", 1.0 / _lasting(first), 1.0 / _lasting(second)


def _charge(a: Assessment) -> float:
    """Yearly charge on a dollar of direct cost, with on-costs, tax and rest value [1/year]."""
    table = a.cost.terms[[c for c in COLUMNS if c not in ("O&M", "replacements")]]
    return float(table.to_numpy().sum()) * a.cost.energy / a.bill.total


def _lasting(a: Assessment) -> float:
    """Levelised output over that of the first year [-]."""
    return a.cost.energy / energy_steps(a).delivered


def _unit_cost(usd_per_kwh: float, chain: EnergySteps, step: str | None) -> float:
    """Yearly cost for each unit of the flow that a group is sized for [USD/m2 or USD/kWh]."""
    if step is None:
        return usd_per_kwh
    return usd_per_kwh / chain.after(step) if step else usd_per_kwh * chain.delivered / chain.aperture


def _unit(step: str | None) -> str:
    return "USD/m2/year" if step == "" else "USD/kWh delivered" if step is None else f"USD/kWh into {step}"


def _groups(a: Assessment) -> dict[tuple[str, str], float]:
    """Cost by group and kind, capital or running [USD/kWh]; adds up to the plant's cost."""
    parts: dict[tuple[str, str], list[float]] = {}
    charge = _charge(a) / a.cost.energy
    family = {name: component.family for name, component in a.plant.components.items()}
    for line, total in zip(a.bill, a.cost.line_terms, strict=True):
        kind = family.get(line.component, "")
        group = (OF_FIELD.get(line.price.key.split(".")[0], "mirrors") if kind == "field"
                 else FAMILY.get(kind, "bought electricity" if line.component == "electricity" else "pipes"))
        capital = charge * line.usd if line.kind == "capital" else 0.0
        parts.setdefault((group, "capital"), []).append(capital)
        parts.setdefault((group, "running"), []).append(total - capital)
    parts["operation", "running"] = [a.cost.by_component["operation"]]
    sums = {key: fsum(values) for key, values in parts.items()}
    return {key: usd for key, usd in sums.items() if abs(usd) > 1e-15 * a.cost.usd_per_kwh}
