"""The tutorial: a notebook made from docs/tutorial.md, run in a kernel, what it prints written below each cell."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from making.source import ROOT

__all__ = ["SOURCE", "Block", "agrees", "blocks", "notebook", "printed", "run", "with_outputs"]

SOURCE = ROOT / "docs" / "tutorial.md"
_BLOCK = re.compile(r"^```python\n(?P<code>.*?)^```\n(?:```text\n(?P<said>.*?)^```\n)?", re.MULTILINE | re.DOTALL)
_NUMBER = re.compile(r"-?\d[\d,]*\.?\d*(?:[eE][-+]?\d+)?")


@dataclass(frozen=True)
class Block:
    """A cell: text for people, or code with what the page says it prints (None where the page shows nothing)."""

    kind: str
    text: str
    said: str | None = None


def blocks(page: str) -> list[Block]:
    """The cells of the page, in order."""
    found, at = [], 0
    for match in _BLOCK.finditer(page):
        if text := page[at:match.start()].strip():
            found.append(Block("markdown", text))
        found.append(Block("code", match["code"].rstrip("\n"), match["said"]))
        at = match.end()
    if text := page[at:].strip():
        found.append(Block("markdown", text))
    return found


def notebook(page: str) -> str:
    """The page as a notebook without outputs; the same page gives the same text."""
    cells: list[dict[str, Any]] = []
    for number, block in enumerate(blocks(page)):
        cell: dict[str, Any] = {"cell_type": block.kind, "id": f"cell-{number:02d}", "metadata": {},
                                "source": block.text.splitlines(keepends=True)}
        if block.kind == "code":
            cell |= {"execution_count": None, "outputs": []}
        cells.append(cell)
    kernel = {"display_name": "Python 3", "language": "python", "name": "python3"}
    book = {"cells": cells, "metadata": {"kernelspec": kernel, "language_info": {"name": "python"}}, "nbformat": 4,
            "nbformat_minor": 5}
    return json.dumps(book, indent=1, ensure_ascii=False) + "\n"


def run(text: str, folder: Path, seconds: int = 600) -> Any:
    """Run a notebook in a kernel of its own.

    Parameters
    ----------
    text : str
        The notebook as JSON.
    folder : Path
        Where it runs: docs/, so that its paths hold.
    seconds : int
        Time that a single cell may take [s].

    Returns
    -------
    NotebookNode
        With outputs. A cell that raises ends the run with its error.
    """
    import nbformat
    from nbclient import NotebookClient

    book = nbformat.reads(text, as_version=4)
    nbformat.validate(book)
    where = {"metadata": {"path": str(folder)}}
    NotebookClient(book, timeout=seconds, kernel_name="python3", resources=where).execute()
    return book


def printed(cell: Any) -> str:
    """What a cell that has run wrote to standard output."""
    return "".join(out["text"] for out in cell.get("outputs", ()) if out["output_type"] == "stream"
                   and out["name"] == "stdout")


def with_outputs(page: str, book: Any) -> str:
    """The page with what its cells printed in the place of what it said; cells that print nothing get no block."""
    code = iter([cell for cell in book["cells"] if cell["cell_type"] == "code"])

    def renewed(match: re.Match[str]) -> str:
        said = printed(next(code))
        return f"```python\n{match['code']}```\n" + (f"```text\n{said}```\n" if said else "")

    return _BLOCK.sub(renewed, page)


def agrees(said: str, got: str, share: float = 0.02) -> bool:
    """Whether two outputs have the same words, and numbers within a share of each other [-] or one in their last digit.

    >>> agrees("119.7 GWh at 15.0 cents", "120.1 GWh at 15.1 cents"), agrees("3 of 4", "2 of 4"), agrees("a 1", "b 1")
    (True, False, False)
    """
    if _NUMBER.sub("#", said).split() != _NUMBER.sub("#", got).split():
        return False
    return all(_near(a, b, share) for a, b in zip(_NUMBER.findall(said), _NUMBER.findall(got), strict=True))


def _near(a: str, b: str, share: float) -> bool:
    x, y = (float(text.replace(",", "").rstrip(".")) for text in (a, b))
    digits = len(a.partition(".")[2])
    last = 10.0**-digits if digits else 0.0
    return abs(x - y) <= max(share * abs(x), 1.01 * last)
