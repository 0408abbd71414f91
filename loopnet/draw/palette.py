"""Colours that survive greyscale and colour blindness: every kind of energy has its own lightness.
Lightness is CIE L* of the sRGB colour, 0 black to 100 white."""

from __future__ import annotations

__all__ = ["HATCH", "INK", "KINDS", "LEAST_STEP", "LOOPS", "MUTED", "PAPER", "darker", "lighter", "lightness", "rgb"]

INK, MUTED, PAPER = "#22262b", "#5b626b", "#ffffff"

KINDS = {"sun": "#f0b030", "heat": "#dd6b33", "electricity": "#0f2850", "loss": "#eceded", "store": "#1d5356"}
"""Colour by kind of energy."""

HATCH = {"loss": "#cdcfd2", "store": "#4a8285"}
"""Colour of the hatch over those kinds that are not passed on at once."""

LEAST_STEP = 15.0
"""The smallest difference of lightness L* between any two kinds [-], with or without red or green cones."""

LOOPS = (("#a8431a", ()), ("#0f6f7c", (6.0, 2.0)), ("#5a2d82", (6.0, 2.0, 1.5, 2.0)), ("#1d4e9e", (2.0, 1.5)),
         ("#6b6b1f", (10.0, 3.0)), ("#8a1750", (10.0, 2.0, 2.0, 2.0, 2.0, 2.0)), ("#3c3f44", (1.0, 1.5)))
"""Colour and dashes [pt] by loop, in the order in which loops appear; with more loops they repeat."""


def rgb(colour: str) -> tuple[float, float, float]:
    """Red, green and blue of ``"#rrggbb"``, each 0 to 1 [-]."""
    return int(colour[1:3], 16) / 255, int(colour[3:5], 16) / 255, int(colour[5:7], 16) / 255


def _hex(parts: tuple[float, ...]) -> str:
    return "#" + "".join(f"{round(255 * min(max(part, 0.0), 1.0)):02x}" for part in parts)


def darker(colour: str, by: float = 0.25) -> str:
    """The colour mixed with black; `by` is the share of black [-].

    >>> darker("#ffffff", 0.2)
    '#cccccc'
    """
    return _hex(tuple(part * (1 - by) for part in rgb(colour)))


def lighter(colour: str, by: float = 0.5) -> str:
    """The colour mixed with white; `by` is the share of white [-].

    >>> lighter("#000000", 0.2)
    '#333333'
    """
    return _hex(tuple(part + (1 - part) * by for part in rgb(colour)))


def lightness(parts: tuple[float, float, float]) -> float:
    """CIE lightness L* of an sRGB colour.

    L* = 116 f(Y) - 16, with f the cube root (linear below Y = 0.008856), and Y the luminance
    0.2126 R + 0.7152 G + 0.0722 B of the linear parts.

    Parameters
    ----------
    parts : tuple of float
        Red, green, blue of sRGB, 0 to 1 [-].

    Returns
    -------
    float
        Lightness, 0 to 100 [-].

    References
    ----------
    IEC 61966-2-1:1999 (sRGB); CIE 15:2004 (L*). Both from memory.

    Examples
    --------
    >>> round(lightness((1.0, 1.0, 1.0)), 3), round(lightness((0.0, 0.0, 0.0)), 3)
    (100.0, 0.0)
    """
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    root = luminance ** (1 / 3) if luminance > 0.008856 else 7.787 * luminance + 16 / 116
    return 116 * root - 16
