"""What makes one plant dearer or less efficient than another: differences that add up, term by term."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from loopnet.shown import shown
from loopnet.study.assess import Assessment

__all__ = ["Difference", "diff"]


@dataclass(frozen=True)
class Difference:
    """Two assessments side by side: `energy` per kWh of sun on the aperture, `money` per kWh delivered.

    Both tables have a column per plant and their difference; each column adds up to the plant's total.
    """

    first: Assessment
    second: Assessment
    energy: pd.DataFrame
    money: pd.DataFrame

    def to_frame(self) -> pd.DataFrame:
        """Both tables, one under the other."""
        return pd.concat({"kWh per kWh of sun": self.energy, "USD per kWh": self.money})

    def to_dict(self) -> dict[str, Any]:
        """Plain dict: names, difference in cost, both tables by row name."""
        return {"first": self.first.name, "second": self.second.name,
                "difference_usd_per_kwh": self.second.cost.usd_per_kwh - self.first.cost.usd_per_kwh,
                "energy": self.energy["difference"].to_dict(), "money": self.money["difference"].to_dict()}

    def __repr__(self) -> str:
        gap = 100 * (self.second.cost.usd_per_kwh - self.first.cost.usd_per_kwh)
        return f"Difference({self.second.name!r} less {self.first.name!r}: {gap:+.2f} ct/kWh)"

    def _repr_html_(self) -> str:
        return shown(self)


def _beside(first: dict[str, float], second: dict[str, float], names: tuple[str, str]) -> pd.DataFrame:
    rows = list(dict.fromkeys([*first, *second]))
    if names[0] == names[1]:
        names = (f"{names[0]} (1)", f"{names[1]} (2)")
    table = pd.DataFrame({names[0]: [first.get(r, 0.0) for r in rows], names[1]: [second.get(r, 0.0) for r in rows]},
                         index=rows)
    table["difference"] = table[names[1]] - table[names[0]]
    return table


def _energy(assessment: Assessment) -> dict[str, float]:
    """Where one kWh of sun goes; adds up to one."""
    year = assessment.year
    parts = {**year.losses(), "net electricity": year.net, "heat to user": year.heat, "change in store": year.stored}
    return {name: value / year.sun for name, value in parts.items() if value}


def diff(first: Assessment, second: Assessment) -> Difference:
    """Set two assessments side by side.

    Parameters
    ----------
    first, second : Assessment

    Returns
    -------
    Difference
        Each column of `energy` adds up to one, each column of `money` to the plant's cost per kWh.
    """
    names = (first.name, second.name)
    return Difference(first, second, _beside(_energy(first), _energy(second), names),
                      _beside(dict(first.cost.by_component), dict(second.cost.by_component), names))
