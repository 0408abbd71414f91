"""A picture as SVG inside a page: no date, no comments, ids that clash with no other picture, as wide as its place."""

from __future__ import annotations

import hashlib
import io
import re
from html import escape
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

__all__ = ["inline_svg"]


def inline_svg(picture: Axes | Figure, alt: str) -> str:
    """A picture as an ``<svg>`` element to put into HTML.

    Letters are outlines, so it looks alike everywhere; it stands on paper white, so it can be read on a dark page.

    Parameters
    ----------
    picture : matplotlib Axes or Figure
        What to write.
    alt : str
        What it shows, for those who do not see it; written as the label of the picture.

    Returns
    -------
    str
        One element, without declaration, script or outer reference; the same picture gives the same text.

    Examples
    --------
    >>> from loopnet.draw.figure import new_axes
    >>> text = inline_svg(new_axes(1.0, 1.0), "nothing <yet>")
    >>> text.startswith("<svg"), 'aria-label="nothing &lt;yet&gt;"' in text
    (True, True)
    """
    import matplotlib

    figure: Any = picture if isinstance(picture, Figure) else picture.get_figure(root=True)
    out = io.StringIO()
    with matplotlib.rc_context({"svg.hashsalt": "loopnet", "svg.fonttype": "path"}):
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    text = out.getvalue()
    text = text[text.index("<svg"):]
    text = re.sub(r"<!--.*?-->|<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    text = re.sub(r' d="[^"]*"', lambda path: re.sub(r"(\d\.\d\d)\d+", r"\1", path[0]), text)
    text = _own_ids(text)
    text = re.sub(r"\s*\n\s*", "\n", text)
    head, _, rest = text.partition(">")
    width = re.search(r'\bwidth="([\d.]+)pt"', head)
    head = re.sub(r'\s(?:width|height|version|xmlns)="[^"]*"', "", head)
    most = f"max-width:{float(width[1]):.0f}pt;" if width else ""
    return (f'{head} xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{escape(alt, quote=True)}" '
            f'style="width:100%;{most}height:auto;background:#fff;border-radius:4px">{rest}').strip()


def _own_ids(text: str) -> str:
    """Ids that something refers to get a prefix of the picture's own; all others go."""
    wanted = set(re.findall(r'(?:url\(#|href="#)([^)"]+)', text))
    own = "p" + hashlib.sha256(text.encode()).hexdigest()[:8]
    text = re.sub(r' id="([^"]*)"', lambda m: f' id="{own}-{m[1]}"' if m[1] in wanted else "", text)
    return re.sub(r'(url\(#|href="#)', rf"\g<1>{own}-", text)
