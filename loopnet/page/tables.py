"""Tables for a page, as data: what is shown in each cell, and by what it is sorted."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

__all__ = ["Cell", "Column", "Table", "cell", "table"]

SENTENCE = 45
"""Letters from which on a text needs room of its own [-]."""


class Cell(NamedTuple):
    """Text, and the number it is sorted by; text without a number is sorted by its letters."""

    text: str
    number: float | None = None


class Column(NamedTuple):
    """Heading, the unit under it, and whether numbers stand in the column."""

    title: str
    unit: str = ""
    numeric: bool = True


@dataclass(frozen=True)
class Table:
    """Rows of cells under columns; the first column of text names the row.

    Parameters
    ----------
    caption : str
        Read aloud before the table, and shown above it.
    columns : tuple of Column
    rows : tuple of tuple of Cell
    sortable : bool
        Whether the reader may sort it.
    last : bool
        Whether the last row is a total.
    """

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    sortable: bool = False
    last: bool = False

    @property
    def names(self) -> int:
        """Place of the column that names the row: the first that holds text; -1 where none does."""
        return next((place for place, column in enumerate(self.columns) if not column.numeric), -1)

    @property
    def long(self) -> frozenset[int]:
        """Places of the columns with sentences in them, which need room."""
        return frozenset(place for place in range(len(self.columns))
                         if any(len(row[place].text) > SENTENCE for row in self.rows))

    def __bool__(self) -> bool:
        return bool(self.rows)


def cell(value: float | None, form: str = ",.1f", scale: float = 1.0) -> Cell:
    """A number as it is shown; nothing where there is none.

    Parameters
    ----------
    value : float or None
        The number [any unit].
    form : str
        How it is written; a `%` in it is set apart by a space.
    scale : float
        What it is multiplied by before [-].

    Returns
    -------
    Cell

    Examples
    --------
    >>> cell(0.1234, ".1%"), cell(None)
    (Cell(text='12.3 %', number=0.1234), Cell(text='none', number=None))
    """
    if value is None:
        return Cell("none")
    return Cell(format(value * scale, form).replace("%", " %"), value * scale)


def table(caption: str, columns: Sequence[Column | str], rows: Iterable[Sequence[Cell | str]], *,
          sortable: bool = False, last: bool = False) -> Table:
    """A table from rows in which plain text stands for cells of text, and plain headings for columns of text."""
    heads = tuple(Column(c, numeric=False) if isinstance(c, str) else c for c in columns)
    return Table(caption, heads, tuple(tuple(Cell(c) if isinstance(c, str) else c for c in row) for row in rows),
                 sortable, last)
