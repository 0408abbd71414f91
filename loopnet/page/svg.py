"""Pictures for a page: a matplotlib figure as inline SVG that a screen reader can tell and dark mode can recolour.
No style attributes, so that a strict content security policy holds; ids of its own, so that figures do not mix."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from typing import Any
from xml.etree import ElementTree

from matplotlib.axes import Axes
from matplotlib.patches import Patch
from matplotlib.text import Text

from loopnet.draw.palette import rgb

__all__ = ["dark_colour", "dark_rules", "printable", "svg_of"]

_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_REFERENCE = re.compile(r"#([\w-]+)")
_LONG = re.compile(r"-?\d+\.\d{2,}")
_COLOUR = re.compile(r'(fill|stroke)="(#[0-9a-f]{6})"')
_DROPPED = {"metadata", "style"}
_DARK_PAPER = 0.22
"""Lightness of the paper in dark mode, OKLab [-]; `report.css` has the same colour."""


def printable(text: str) -> str:
    """The text with a replacement mark for what no page can hold: control characters, halves of a pair.

    >>> printable("air\\x00 & \\x1b[1msand")
    'air� & �[1msand'
    """
    return _UNPRINTABLE.sub("\ufffd", text)


def svg_of(picture: Axes, name: str, title: str, description: str) -> str:
    """A picture as an SVG element to be put into a page.

    Parameters
    ----------
    picture : matplotlib Axes
        Its figure is changed (names of its parts are taken away) and should not be used further.
    name : str
        Begins every id in it: letters, digits and hyphens; one for each figure of a page.
    title, description : str
        What a screen reader says.

    Returns
    -------
    str
        Text stays text; the same input gives the same characters.
    """
    import matplotlib

    figure: Any = picture.get_figure(root=True)
    for artist in figure.findobj():
        artist.set_gid(None)
        if isinstance(artist, Text):
            artist.set_text(printable(artist.get_text()))
        if isinstance(artist, Patch) and "." in (artist.get_hatch() or ""):
            artist.set_hatch("\\\\\\\\")  # dots are a thousand circles in SVG; lines that lean the other way serve too
    written = io.BytesIO()
    with matplotlib.rc_context({"svg.hashsalt": "loopnet", "svg.fonttype": "none"}):
        figure.savefig(written, format="svg", metadata={"Date": None, "Creator": None})
    root = ElementTree.fromstring(written.getvalue())
    _bare(root)
    _renamed(root, name)
    _described(root, name, printable(title), printable(description))
    return ElementTree.tostring(root, encoding="unicode")


def _bare(node: ElementTree.Element) -> None:
    """Plain tags, attributes in place of styles, short numbers, no groups that hold nothing together."""
    node.tag = node.tag.rpartition("}")[2]
    for key, value in list(node.attrib.items()):
        del node.attrib[key]
        plain = key.rpartition("}")[2]
        if plain == "style":
            for part in filter(None, map(str.strip, value.split(";"))):
                word, _, what = part.partition(":")
                if word != "font-family":  # the page's own
                    node.set(word, _short(what.strip()))
        elif plain != "transform" or not value.startswith(("rotate(0 ", "rotate(-0 ")):
            node.set(plain, value if plain == "id" else _short(value))
    children: list[ElementTree.Element] = []
    for child in list(node):
        node.remove(child)
        _bare(child)
        if child.tag in _DROPPED:
            continue
        if child.tag != "text":
            child.text = None
        child.tail = None
        attributes = set(child.attrib) - {"id"}
        children += list(child) if child.tag == "g" and not attributes else [child]
    if node.tag != "text":
        node.text = None
    node.extend(children)


def _short(value: str) -> str:
    """Two digits behind the point are a seventieth of a pixel; newlines between the steps of a path are not needed."""
    return _LONG.sub(lambda number: f"{round(float(number[0]), 2):g}" if abs(float(number[0])) < 1e4 else number[0],
                     " ".join(value.split()))


def _renamed(root: ElementTree.Element, name: str) -> None:
    """Keep the ids that are pointed at, under names that no other figure has."""
    places = [(node, key) for node in root.iter() for key, value in node.attrib.items()
              if key == "href" or "url(#" in value]
    wanted: dict[str, str] = {}
    for node, key in places:
        node.set(key, _REFERENCE.sub(lambda found: "#" + wanted.setdefault(found[1], f"{name}-{len(wanted)}"),
                                     node.attrib[key]))
    for node in root.iter():
        if "id" in node.attrib:
            node.attrib |= {"id": wanted[node.attrib["id"]]} if node.attrib["id"] in wanted else {}
            if node.attrib["id"] not in wanted.values():
                del node.attrib["id"]


def _described(root: ElementTree.Element, name: str, title: str, description: str) -> None:
    width, height = (float(x) for x in root.attrib["viewBox"].split()[2:])
    root.attrib = {"xmlns": "http://www.w3.org/2000/svg", "viewBox": root.attrib["viewBox"], "role": "img",
                   "width": f"{1.5 * width:.0f}", "height": f"{1.5 * height:.0f}",
                   "aria-labelledby": f"{name}-title {name}-desc", "stroke-linejoin": "round"}
    for place, (tag, text) in enumerate((("title", title), ("desc", description))):
        told = ElementTree.Element(tag, {"id": f"{name}-{tag}"})
        told.text = text
        root.insert(place, told)


# -- dark mode ---------------------------------------------------------------------------------------------------------


def dark_rules(pictures: Iterable[str]) -> str:
    """Style rules that give every colour of the pictures its counterpart on dark paper.

    >>> print(dark_rules(['<path fill="#ffffff"/>']))
    svg [fill="#ffffff"]{fill:#1a1b1c}
    """
    found = sorted({pair for picture in pictures for pair in _COLOUR.findall(picture)})
    return "\n".join(f'svg [{kind}="{colour}"]{{{kind}:{dark_colour(colour)}}}' for kind, colour in found)


def dark_colour(colour: str) -> str:
    """The colour that plays the same part on dark paper: greys change places, hues are kept and lifted where dark.

    Parameters
    ----------
    colour : str
        Such as ``"#22262b"``.

    Returns
    -------
    str
        Another of that kind.

    References
    ----------
    B. Ottosson, A perceptual color space for image processing (2020), for the space OKLab; from memory.

    Examples
    --------
    >>> dark_colour("#ffffff"), dark_colour("#22262b"), dark_colour("#0f2850")
    ('#1a1b1c', '#d0d5d9', '#5976a4')
    """
    light, a, b = _oklab(colour)
    if (a * a + b * b) ** 0.5 < 0.035:
        # black to 0.96, white to the paper; light greys are spread, so that neighbours can be told apart
        light = 0.96 - (0.96 - _DARK_PAPER) * light ** 1.6
        return _hex(light, max(min(a, 0.01), -0.01) - 0.001, max(min(b, 0.01), -0.004) - 0.003)
    return _hex(max(light, 0.42 + 0.5 * light), a, b)


def _oklab(colour: str) -> tuple[float, float, float]:
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in rgb(colour))
    long = (0.4122214708 * red + 0.5363325363 * green + 0.0514459929 * blue) ** (1 / 3)
    middle = (0.2119034982 * red + 0.6806995451 * green + 0.1073969566 * blue) ** (1 / 3)
    short = (0.0883024619 * red + 0.2817188376 * green + 0.6299787005 * blue) ** (1 / 3)
    return (0.2104542553 * long + 0.7936177850 * middle - 0.0040720468 * short,
            1.9779984951 * long - 2.4285922050 * middle + 0.4505937099 * short,
            0.0259040371 * long + 0.7827717662 * middle - 0.8086757660 * short)


def _hex(light: float, a: float, b: float) -> str:
    long = (light + 0.3963377774 * a + 0.2158037573 * b) ** 3
    middle = (light - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (light - 0.0894841775 * a - 1.2914855480 * b) ** 3
    linear = (4.0767416621 * long - 3.3077115913 * middle + 0.2309699292 * short,
              -1.2684380046 * long + 2.6097574011 * middle - 0.3413193965 * short,
              -0.0041960863 * long - 0.7034186147 * middle + 1.7076147010 * short)
    coded = (12.92 * c if c <= 0.0031308 else 1.055 * c ** (1 / 2.4) - 0.055 for c in (max(c, 0.0) for c in linear))
    return "#" + "".join(f"{round(255 * min(c, 1.0)):02x}" for c in coded)
