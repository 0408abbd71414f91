"""The ledger of a year: each energy term of each component, booked hour by hour under its name and kind."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

__all__ = ["Ledger"]


@dataclass
class Ledger:
    """Rows of energy over a year, and the three series that come of them: electricity made, electricity taken by
    the plant itself, heat given to users.

    >>> book = Ledger(steps=2, dt=3600.0)
    >>> book.add("turbine", "gross electricity", "power", np.array([2e6, 3e6]))
    >>> book.frame()["joule"].tolist(), book.gross.tolist()
    ([18000000000.0], [2000000.0, 3000000.0])
    """

    steps: int
    dt: float
    rows: list[tuple[str, str, str, float]] = field(default_factory=list)
    gross: np.ndarray = field(init=False)
    parasitic: np.ndarray = field(init=False)
    heat: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        self.gross, self.parasitic, self.heat = (np.zeros(self.steps) for _ in range(3))

    def add(self, component: str, label: str, kind: str, watt: np.ndarray) -> None:
        """Book a term [W], shape (steps,); a loss that never happens is left out."""
        if kind == "loss" and not watt.any():
            return
        self.rows.append((component, label, kind, float(watt.sum()) * self.dt))
        if kind == "power":
            self.gross += watt
        elif kind == "electricity":
            self.parasitic += watt
        elif kind == "user":
            self.heat += watt

    def total(self, component: str, label: str, kind: str, joule: float) -> None:
        """Book what is only known over the whole year [J]."""
        self.rows.append((component, label, kind, joule))

    def frame(self) -> pd.DataFrame:
        """One row per component, label and kind, in J."""
        return pd.DataFrame(self.rows, columns=["component", "label", "kind", "joule"])
