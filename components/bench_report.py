"""The report of a bench test in plain words, for the person who built the collector."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from loopnet.site.source import row_text

if TYPE_CHECKING:
    from components.bench_result import CollectorFit

__all__ = ["report"]

WIDTH = 100
METHODS = {"flow": "flow and temperatures of {liquid}", "boil-off": "water boiled away",
           "efficiency": "efficiencies as they were given"}
DNI = 900.0
"""Sun for which the report tells efficiencies [W/m2]."""


def _wrapped(text: str, first: str = "", rest: str | None = None) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, break_long_words=False,
                         subsequent_indent=" " * len(first) if rest is None else rest)


def _listed(title: str, items: Iterable[str]) -> list[str]:
    lines = [line for item in items for line in _wrapped(item, "  - ")]
    return ["", title, *lines] if lines else []


def _figure(value: float, uncertainty: float) -> str:
    """A value to two figures of its uncertainty."""
    if not uncertainty > 0 or not np.isfinite(uncertainty) or value == 0 or abs(value) < 1e-3:
        return f"{value:.3g}"
    return f"{value:.{min(max(1 - int(np.floor(np.log10(uncertainty))), 0), 6)}f}"


def _sums(fit: CollectorFit) -> list[str]:
    """What a square metre does at some temperatures."""
    low, high = fit.tested["over"]
    if not fit.has_loss:
        useful, error = fit.useful(low, DNI)
        return [f"at {0.5 * (low + high):.0f} K above the air: {100 * float(useful) / DNI:.1f} % "
                f"+/- {200 * float(error) / DNI:.1f} %"]
    nodes = np.unique(np.linspace(max(low, 0.0), high, 4).round(-1 if high > 40 else 0))
    wind = float(np.mean(fit.tested["wind"])) if "a3" in fit.values or "a6" in fit.values else 0.0
    useful, error = fit.useful(nodes, DNI, wind=wind)
    return [f"{over:6.0f} K above the air: {q:5.0f} W of {DNI:.0f} W on a square metre, {100 * q / DNI:5.1f} % "
            f"+/- {200 * e / DNI:.1f} %" for over, q, e in zip(nodes, useful, error, strict=True)]


def report(fit: CollectorFit) -> str:
    """Write down what a bench test found.

    Parameters
    ----------
    fit : CollectorFit
        The result.

    Returns
    -------
    str
        Lines of at most 100 characters.
    """
    t, sure = fit.tested, f"{100 * fit.confidence:g} %"
    tested = (f"{len(fit.points)} points, direct sun {t['dni'][0]:.0f} to {t['dni'][1]:.0f} W/m2, "
              f"{t['over'][0]:.0f} to {t['over'][1]:.0f} K above the air (mean of inlet and outlet "
              f"{t['middle'][0] - 273.15:.0f} to {t['middle'][1] - 273.15:.0f} degC)")
    if fit.method == "boil-off":
        tested = tested.replace("mean of inlet and outlet", "the water")
    size = "" if fit.method == "efficiency" else f", aperture {fit.aperture:g} m2"
    heading = f"{fit.name}: from {METHODS[fit.method].format(liquid=fit.liquid)}{size}"
    lines = [*_wrapped(heading), *_wrapped(tested), "",
             *_wrapped("For each square metre of mirror opening, with d for how many kelvins (degrees) the "
                       f"{'water' if fit.method == 'boil-off' else 'liquid'} is above the air:"),
             "", "  useful heat = " + _formula(fit), ""]
    lines += [f"{'':11}{'value':>11}  {sure + ' sure it lies between':27}{'unit':10}"]
    for c in fit.coefficients:
        between = f"{_figure(c.low, c.uncertainty)} and {_figure(c.high, c.uncertainty)}"
        lines += [f"  {c.name:9}{_figure(c.value, c.uncertainty):>11}  {between:27}{c.unit.strip('-')}".rstrip()]
        lines += _wrapped(f"{c.words}; uncertain by {c.scatter:.1g} from scatter and {c.instruments:.1g} from the "
                          "instruments", " " * 13)
    lines += ["", f"What that means under a sun of {DNI:.0f} W/m2 (the second number is twice the standard "
              "uncertainty):", *(f"  {line}" for line in _sums(fit)), "",
              *_wrapped(f"The points scatter about the fit by {fit.scatter:.1f} W/m2.")]
    lines += _listed("Warnings", fit.warnings)
    lines += _listed("Terms that were tried and dropped, or not tried", (f"{d.term}: {d.why}" for d in fit.dropped))
    lines += _listed("Rows of the file that are not used", (
        x.reason if x.kind == "outlier" else f"{row_text(x.rows)}: {x.reason}" for x in fit.left_out))
    lines += _listed("Notes", fit.notes)
    if not fit.has_loss:
        lines += ["", *_wrapped("Without losses no plant can be drawn with this collector yet. Next: measure at two or "
                                "more temperatures, or weigh the same kettle with part of the mirrors covered.")]
    lines += _listed("Cautions: local codes and licensed practice decide", fit.cautions)
    return "\n".join(lines)


_PARTS = {"eta0": "{} x sun", "k1": "+ {} x angle x sun", "k2": "+ {} x angle^2 x sun", "eta1": "- {} x d x sun",
          "a1": "- {} x d", "a2": "- {} x d^2", "a3": "- {} x wind x d", "a5": "- {} x warming per second",
          "a6": "- {} x wind x sun", "a8": "- {} x d^4", "radiation": "- {} x 5.67e-8 x (T^4 - Tair^4)"}


def _formula(fit: CollectorFit) -> str:
    return " ".join(_PARTS[c.name].format(_figure(c.value, c.uncertainty)) for c in fit.coefficients).replace(
        "+ -", "- ").replace("- -", "+ ")
