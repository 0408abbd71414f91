"""Make the pages of docs/: `python docs/make.py` writes what is out of date, `--check` only tells, `--run` also runs
the tutorial and writes what it prints into its page."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

DOCS = Path(__file__).resolve().parent
sys.path[:0] = [str(DOCS), str(DOCS.parent)]

from making.pages import made_pages  # noqa: E402
from making.tutorial import SOURCE, notebook, run, with_outputs  # noqa: E402


def wanted() -> dict[Path, str]:
    """Every file that is made, with what it should hold."""
    pages = {DOCS / name: text for name, text in made_pages().items()}
    return {**pages, DOCS / "tutorial.ipynb": notebook(SOURCE.read_text(encoding="utf-8"))}


def stale() -> dict[Path, str | None]:
    """Files that are not what they should be, with what they should hold; None for pages of what is no more."""
    made = wanted()
    found: dict[Path, str | None] = {path: text for path, text in made.items()
                                     if not path.exists() or path.read_text(encoding="utf-8") != text}
    return {**found, **{path: None for path in sorted((DOCS / "reference").glob("*.md")) if path not in made}}


def main(argv: list[str] | None = None) -> int:
    """Write or check the pages; the exit status is 1 where `--check` finds one that is out of date."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="tell what is out of date, and write nothing")
    parser.add_argument("--run", action="store_true", help="run the tutorial and renew what it prints")
    asked = parser.parse_args(argv)
    if asked.run and not asked.check:
        page = SOURCE.read_text(encoding="utf-8")
        SOURCE.write_text(with_outputs(page, run(notebook(page), DOCS)), encoding="utf-8")
    found = stale()
    for path, text in found.items():
        print(f"{'out of date' if asked.check else 'wrote' if text is not None else 'removed'}: "
              f"{path.relative_to(DOCS.parent)}")
        if not asked.check and text is None:
            path.unlink()
        elif not asked.check:
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
    return 1 if asked.check and found else 0


if __name__ == "__main__":
    sys.exit(main())
