"""What an exploration found: the best circuits, the front of what no other beats, and why the rest failed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from loopnet.explore.candidate import SITE
from loopnet.explore.judge import Setting
from loopnet.explore.pareto import CRITERIA, Criterion, criteria_of, front
from loopnet.explore.pruning import Pruning
from loopnet.explore.results import Row

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Exploration", "best_rows", "by_product"]


def best_rows(rows: Mapping[str, Row] | Iterable[Row], criterion: Criterion) -> list[Row]:
    """The best row of each circuit and site, best first; rows that failed or lack the figure are left out.

    Parameters
    ----------
    rows : mapping or iterable of Row
    criterion : Criterion

    Returns
    -------
    list of Row
    """
    found: dict[tuple[str, Any], Row] = {}
    done = [row for row in (rows.values() if isinstance(rows, Mapping) else rows)
            if row.get(criterion.figure) is not None]
    for row in sorted(done, key=lambda row: row[criterion.figure], reverse=criterion.more):
        found.setdefault((row.candidate.circuit, row.candidate.to_dict().get(SITE)), row)
    return list(found.values())


def by_product(rows: Sequence[Row], most: int) -> list[Row]:
    """The first rows of each product: a kilowatt-hour of heat is no rival of one of electricity."""
    groups = [[row for row in rows if row.get("product") == product] for product in ("electricity", "heat")]
    return [row for group in groups for row in group[:most]]


@dataclass(frozen=True)
class Exploration:
    """Finished rows of an exploration, one for each candidate, with how they came about.

    Attributes
    ----------
    title : str
        Of the space.
    rows : tuple of Row
        Done and failed; of a candidate that was run hour by hour, that row stands for it.
    pruning : Pruning
        What was pruned before any was drawn.
    refused : mapping of str to int
        Candidates that the grammar refused for their numbers, by reason.
    search, goal : str
        How was searched, and for what.
    setting : Setting
        Weather, prices, finance, rule.
    varied : mapping of str to str
        Numbers that vary, each with its SI unit.
    path : Path or None
        File of results.
    others : int
        Results in the file that are not of this exploration, such as those of another version of loopnet.
    exact : mapping of str to str
        Key of a row that was run hour by hour -> key of the row on the operating map.
    moved : float
        Largest change of the cost of those, relative to the operating map [-].
    computed : int
        Plants that were computed in this run; the others were known.
    seconds : float
        Time taken [s].
    """

    title: str
    rows: tuple[Row, ...] = field(repr=False)
    pruning: Pruning = field(repr=False)
    refused: Mapping[str, int]
    search: str
    goal: str
    setting: Setting = field(repr=False)
    varied: Mapping[str, str] = field(default_factory=dict, repr=False)
    path: Path | None = None
    others: int = 0
    exact: Mapping[str, str] = field(default_factory=dict, repr=False)
    moved: float = 0.0
    computed: int = 0
    seconds: float = 0.0

    # -- what was found --------------------------------------------------------------------------------------------

    @property
    def done(self) -> list[Row]:
        """Rows with figures."""
        return [row for row in self.rows if not row.failed]

    @property
    def products(self) -> list[str]:
        """What the plants deliver, electricity first."""
        delivered = {str(row["product"]) for row in self.done}
        return sorted(delivered)

    def best(self, most: int = 10, product: str | None = None) -> list[Row]:
        """The best circuits of a product, each by its best numbers.

        Parameters
        ----------
        most : int
            How many at most [-].
        product : str, optional
            ``"electricity"`` or ``"heat"``; the first there is if left out.
        """
        product = product or next(iter(self.products), "")
        rows = [row for row in self.done if row["product"] == product]
        return best_rows(rows, CRITERIA[self.goal])[:most]

    def front(self, criteria: Sequence[str] | None = None, product: str | None = None) -> list[Row]:
        """Plants of a product that no other beats in all criteria at once, best of the first criterion first.

        Parameters
        ----------
        criteria : sequence of str, optional
            Names in `CRITERIA`; the goal and firmness (capital where firmness is the goal) if left out.
        product : str, optional
            ``"electricity"`` or ``"heat"``; the first there is if left out.

        Raises
        ------
        ParameterError
            For a criterion that does not exist.
        """
        judged = criteria_of(criteria or self.usual_criteria)
        product = product or next(iter(self.products), "")
        rows = [row for row in self.done if row["product"] == product]
        if not rows:
            return []
        values = [[np.nan if row.get(c.figure) is None else row[c.figure] for c in judged] for row in rows]
        on = front(values, [c.more for c in judged])
        first = judged[0]
        kept = {tuple(v): row for v, row, best in zip(values, rows, on, strict=True) if best}  # of equals, one
        return sorted(kept.values(), key=lambda row: row[first.figure], reverse=first.more)

    @property
    def usual_criteria(self) -> tuple[str, str]:
        """Goal and what it is usually paid for with."""
        return self.goal, "capital" if self.goal in ("firmness", "months") else "firmness"

    def failures(self) -> dict[str, int]:
        """Failed candidates by reason, the most frequent first."""
        counts: dict[str, int] = {}
        for row in self.rows:
            if row.failed:
                reason = f"{row.error}: {row.reason}"
                counts[reason] = counts.get(reason, 0) + 1
        return dict(sorted(counts.items(), key=lambda item: (-item[1], item[0])))

    # -- refined ---------------------------------------------------------------------------------------------------

    def worth_refining(self, most: int) -> list[Row]:
        """Of each product the best circuits, and as many of the front, spread over it."""
        chosen: dict[str, Row] = {}
        for product in self.products:
            edge = self.front(product=product)
            spread = sorted({round(i) for i in np.linspace(0, len(edge) - 1, min(most, len(edge)))})
            chosen |= {row.key: row for row in [*self.best(most, product), *(edge[i] for i in spread)]}
        return list(chosen.values())

    def with_exact(self, exact: Iterable[Row]) -> Exploration:
        """The exploration in which rows that were run hour by hour stand for those on the operating map."""
        better = {row.candidate.key: row for row in exact if not row.failed}
        rows, known, moved = [], {}, 0.0
        for row in self.rows:
            new = better.get(row.candidate.key)
            if new is not None and not row.failed:
                known[new.key] = row.key
                moved = max(moved, abs(new["usd_per_kwh"] / row["usd_per_kwh"] - 1.0))
            rows.append(new or row)
        return replace(self, rows=tuple(rows), exact=known, moved=moved)

    # -- as tables -------------------------------------------------------------------------------------------------

    def to_frame(self) -> pd.DataFrame:
        """A row for each candidate: key, mode, choices under their names, figures, cost, error."""
        import pandas as pd

        return pd.DataFrame([self.row_dict(row) for row in self.rows])

    def row_dict(self, row: Row) -> dict[str, Any]:
        """A row as plain values."""
        mode = "exact" if self.setting.exact or row.key in self.exact else "map"
        return {"key": row.key, "mode": mode, **row.candidate.to_dict(), **row.figures, **row.money,
                "error": row.error or None, "reason": row.reason or None, "message": row.message or None,
                "seconds": row.seconds}

    def to_dict(self) -> dict[str, Any]:
        """Best, front and failures as plain values; money in USD, energies in kWh."""
        best = {p: [self.row_dict(row) for row in self.best(20, p)] for p in self.products}
        edge = {p: [self.row_dict(row) for row in self.front(product=p)] for p in self.products}
        return {"title": self.title, "search": self.search, "goal": self.goal, "criteria": list(self.usual_criteria),
                "pruning": self.pruning.to_dict(), "refused": dict(self.refused), "candidates": len(self.rows),
                "done": len(self.done), "failed": len(self.rows) - len(self.done), "computed": self.computed,
                "failures": self.failures(), "best": best, "front": edge, "exact": len(self.exact),
                "largest_change_by_exact_year": self.moved, "results": str(self.path) if self.path else None,
                "seconds": self.seconds, "weather": {site: w.name for site, w in self.setting.weathers.items()},
                "prices": self.setting.book.title, "finance": self.setting.finance.to_dict(),
                "model": self.setting.model}

    def __repr__(self) -> str:
        lead = self.best(1)
        said = f", best {lead[0]['title']} at {100 * lead[0]['usd_per_kwh']:.2f} ct/kWh" if lead else ""
        return (f"<Exploration {self.title or self.search}: {len(self.rows):,} candidates, "
                f"{len(self.rows) - len(self.done):,} failed{said}>")

    def _repr_html_(self) -> str:
        from html import escape

        frames = "".join(f"<h4>{escape(p)}</h4>" + _shown(self.best(10, p)).to_html(index=False) for p in self.products)
        return f"<p>{escape(repr(self)[1:-1])}</p>{frames}"


def _shown(rows: Sequence[Row]) -> pd.DataFrame:
    """Rows in the units people use, by criterion."""
    import pandas as pd

    return pd.DataFrame([{"plant": row["title"], **{
        f"{name} [{c.unit}]": None if row.get(c.figure) is None else round(c.factor * row[c.figure], 3)
        for name, c in CRITERIA.items()}} for row in rows])
