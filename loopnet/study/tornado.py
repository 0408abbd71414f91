"""Tornado: how far each uncertain number alone moves a plant's cost between its low and its high end."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from loopnet.errors import LoopnetError
from loopnet.shown import shown
from loopnet.study.case import Case
from loopnet.study.knob import knob
from loopnet.study.uncertain import Uncertain, price_ranges, uncertainties

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Sway", "Tornado", "tornado"]


@dataclass(frozen=True, kw_only=True)
class Sway:
    """One number and the cost at both ends of its range [USD/kWh]."""

    what: Uncertain
    at_low: float
    at_high: float

    @property
    def width(self) -> float:
        """Distance between the two [USD/kWh]."""
        return abs(self.at_high - self.at_low)


@dataclass(frozen=True, kw_only=True)
class Tornado:
    """What moves a plant's cost, most first.

    Parameters
    ----------
    plant, product : str
        Whose cost, of what.
    likely : float
        Cost at all likely values [USD/kWh].
    sways : tuple of Sway
        Widest first.
    notes : tuple of str
        What could not be computed.
    """

    plant: str
    product: str
    likely: float
    sways: tuple[Sway, ...]
    notes: tuple[str, ...] = ()

    def sentence(self) -> str:
        """The widest ones, to be read aloud."""
        named = [f"{s.what.name} ({100 * min(s.at_low, s.at_high):.2f} to {100 * max(s.at_low, s.at_high):.2f})"
                 for s in self.sways[:3]]
        return (f"A kWh of {self.product} from {self.plant} costs {100 * self.likely:.2f} US cents if all is as "
                f"likely; it moves most with {', '.join(named) or 'nothing'}.")

    def to_frame(self) -> pd.DataFrame:
        """One row per number: its range [own unit] and the cost at both ends [US ct/kWh]."""
        import pandas as pd

        rows = [(s.what.name, s.what.unit, s.what.low, s.what.likely, s.what.high, 100 * s.at_low, 100 * s.at_high,
                 100 * s.width, s.what.status) for s in self.sways]
        return pd.DataFrame(rows, columns=["what", "unit", "low", "likely", "high", "ct/kWh at low", "ct/kWh at high",
                                           "width", "known as"])

    def to_dict(self) -> dict[str, Any]:
        """Plain dict."""
        return {"plant": self.plant, "product": self.product, "likely_usd_per_kwh": self.likely,
                "sways": [{**s.what.to_dict(), "usd_per_kwh_at_low": s.at_low, "usd_per_kwh_at_high": s.at_high}
                          for s in self.sways], "notes": list(self.notes)}

    def __repr__(self) -> str:
        widest = f", widest {self.sways[0].what.name}" if self.sways else ""
        return f"<Tornado {self.plant}, {100 * self.likely:.2f} ct/kWh, {len(self.sways)} numbers{widest}>"

    def _repr_html_(self) -> str:
        return shown(self)


def tornado(case: Case, inputs: Sequence[Uncertain] | None = None, *, physics: bool = False,
            progress: Callable[[str, float], None] | None = None) -> Tornado:
    """Move one number after the other to both ends of its range.

    Parameters
    ----------
    case : Case
    inputs : sequence of Uncertain, optional
        What to move; if left out, all prices that have a range and the discount rate.
    physics : bool
        Whether to move the shipped list's physical numbers as well: two runs of the full model for each.
    progress : callable, optional
        Called with what is being moved and the share that is done [-].

    Returns
    -------
    Tornado
    """
    if inputs is None:
        inputs = (*price_ranges(case), *uncertainties(case, only=None if physics else ("rate",)))
    cost, prices = case.assessment.cost, {u.path for u in inputs if u.path in case.book}
    sways, notes = [], []
    for number, u in enumerate(inputs):
        if progress:
            progress(u.name, number / len(inputs))
        if u.path in prices:
            ends = [float(cost.at_prices({u.path: value})) for value in (u.low, u.high)]
        else:
            turned = knob(case, u.path)
            try:
                ends = [case.cost if value == turned.now else turned.turn(case, value).cost
                        for value in (u.low, u.high)]
            except LoopnetError as why:
                notes.append(f"{u.name} could not be moved: {why}")
                continue
        sways.append(Sway(what=u, at_low=ends[0], at_high=ends[1]))
    return Tornado(plant=case.name, product=cost.product, likely=cost.usd_per_kwh, notes=tuple(notes),
                   sways=tuple(sorted(sways, key=lambda s: -s.width)))
