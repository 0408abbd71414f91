"""How far an exploration is, on standard error and only for a person: a bar, the rate, time left, the best so far."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from loopnet.explore.pareto import CRITERIA
from loopnet.explore.runner import Progress, Tell

__all__ = ["duration", "news", "progress_bar"]


def duration(seconds: float) -> str:
    """A time span [s] in words as short as they can be.

    >>> [duration(s) for s in (0.4, 42.0, 130.0, 7300.0)]
    ['1 s', '42 s', '2 min 10 s', '2 h 1 min']
    """
    whole = max(round(seconds), 1)
    minutes, rest = divmod(whole, 60)
    if minutes == 0:
        return f"{whole} s"
    if minutes < 60:
        return f"{minutes} min {rest} s"
    return f"{minutes // 60} h {minutes % 60} min"


def news(progress: Progress, best: float | None = None, unit: str = "") -> str:
    """One line of news.

    Parameters
    ----------
    progress : Progress
    best : float, optional
        Best value so far [in `unit`].
    unit : str
        Unit of the best value.

    Returns
    -------
    str

    Examples
    --------
    >>> news(Progress("factorial", 300, 150, 50, 3, 5.0), 9.87, "ct/kWh")
    '150 of 300, 50 known before, 20.0 plants/s, 8 s left, 3 failed, best 9.87 ct/kWh'
    """
    said = [f"{progress.done:,} of {progress.wanted:,}"]
    said += [f"{progress.known:,} known before"] if progress.known else []
    said += [f"{progress.rate:.3g} plants/s" if progress.rate < 10 else f"{progress.rate:.1f} plants/s"]
    said += [f"{duration(progress.left)} left"] if progress.left else []
    said += [f"{progress.failed:,} failed"] if progress.failed else []
    said += [f"best {best:.2f} {unit}"] if best is not None else []
    return ", ".join(said)


@contextmanager
def progress_bar(goal: str = "cost") -> Iterator[Tell | None]:
    """A bar for each step of an exploration, if a person looks at standard error; None otherwise.

    Parameters
    ----------
    goal : str
        The criterion whose best value is told; see `CRITERIA`.
    """
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn
    from rich.progress import Progress as Bars

    criterion = CRITERIA[goal]
    columns = (TextColumn("{task.description}"), BarColumn(bar_width=24), TextColumn("{task.fields[news]}"))
    with Bars(*columns, console=Console(stderr=True), transient=True) as bars:
        steps: dict[str, Any] = {}
        best: dict[str, float] = {}

        def tell(progress: Progress) -> None:
            row = progress.row
            if row is not None and not row.failed and row.get(criterion.figure) is not None:
                product, value = str(row["product"]), criterion.factor * row[criterion.figure]
                better = max if criterion.more else min
                best[product] = better(value, best.get(product, value))
            if progress.what not in steps:
                steps[progress.what] = bars.add_task(progress.what, news="")
            lead = best.get("electricity", next(iter(best.values()), None))
            bars.update(steps[progress.what], total=progress.wanted, completed=progress.done,
                        news=news(progress, lead, criterion.unit))

        yield tell
