"""What was pruned before any solving: how many circuits, why, and an example or two of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Pruning"]


@dataclass(frozen=True)
class Pruning:
    """Circuits counted by the reason for which they cannot be; each falls for the first reason that holds.

    >>> pruned = Pruning(5, 2, {"oil boils": 3}, {"oil boils": ({"medium": "oil"},)})
    >>> pruned
    <Pruning: 5 circuits, 2 feasible, 3 pruned for 1 reason>
    """

    examined: int
    feasible: int
    counts: Mapping[str, int]
    """Reason -> circuits pruned for it."""
    examples: Mapping[str, tuple[Mapping[str, str | float], ...]]
    """Reason -> choices that it struck; choices that were not yet made then are left out."""

    @property
    def pruned(self) -> int:
        """Circuits that cannot be."""
        return self.examined - self.feasible

    def report(self, most: int | None = None) -> str:
        """Counts and reasons as lines of text, the most frequent first.

        Parameters
        ----------
        most : int, optional
            Reasons to be named [-]; all if not given, and what is left out is counted.

        Returns
        -------
        str
            One line for each reason, an example below it.
        """
        ranked = self._ranked()
        shown, rest = ranked[:most], ranked[len(ranked[:most]):]
        wide = len(f"{max([self.examined, self.feasible]):,}")
        lines = [f"{self.examined:>{wide},}  circuits that can be written with these words"]
        for reason, count in shown:
            lines.append(f"{count:>{wide},}  pruned: {reason}")
            if example := self._example(reason):
                lines.append(f"{'':>{wide}}          such as {example}")
        if rest:
            lines.append(f"{sum(count for _, count in rest):>{wide},}  pruned for {len(rest)} other reasons")
        lines.append(f"{self.feasible:>{wide},}  are left to be solved")
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Counts and examples as plain values."""
        return {"examined": self.examined, "feasible": self.feasible, "pruned": dict(self.counts),
                "examples": {reason: [dict(e) for e in found] for reason, found in self.examples.items()}}

    def to_frame(self) -> pd.DataFrame:
        """A row for each reason: circuits, reason, an example; the most frequent first."""
        import pandas as pd

        rows = [(count, reason, self._example(reason)) for reason, count in self._ranked()]
        return pd.DataFrame(rows, columns=["circuits", "reason", "example"])

    def _ranked(self) -> list[tuple[str, int]]:
        return sorted(self.counts.items(), key=lambda item: (-item[1], item[0]))

    def _example(self, reason: str) -> str:
        return ", ".join(str(v) for example in self.examples.get(reason, ())[:1] for v in example.values())

    def __repr__(self) -> str:
        ending = "" if len(self.counts) == 1 else "s"
        return (f"<Pruning: {self.examined:,} circuits, {self.feasible:,} feasible, {self.pruned:,} pruned for "
                f"{len(self.counts)} reason{ending}>")

    def _repr_html_(self) -> str:
        return f"<p>{self.examined:,} circuits, {self.feasible:,} feasible</p>{self.to_frame().to_html(index=False)}"
