"""Penalty of smallness, and that ten million devices take no longer than a thousand. All is timed in this run.

    python tests/benchmarks/smallness.py [--json -] [--aperture 1e6]
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

from components.field_piping import FieldPiping
from components.piping import Insulation
from components.smallness import FieldDuty, piping_figures, smallness, smallness_table
from loopnet.media import medium
from loopnet.money import price_book

FEW, MANY = 1e3, 1e7


def seconds(devices: float, repeat: int = 200) -> float:
    """Least time of one set of figures for a field of so many devices of 1 m2."""
    field = FieldPiping.of_points(1.0, in_series=20, branches=None, insulation=Insulation(thickness=0.05))
    oil, book, duty = medium("diphenyl oil"), price_book(), FieldDuty()
    best = float("inf")
    for _ in range(repeat):
        start = time.perf_counter()
        piping_figures(field, devices, oil, duty, book)
        best = min(best, time.perf_counter() - start)
    return best


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", metavar="FILE", help="write figures as JSON; - for stdout")
    parser.add_argument("--aperture", type=float, default=1e6, help="of the field in the table [m2]")
    told = parser.parse_args()
    figures = smallness(medium("diphenyl oil"), FieldDuty(), price_book(), aperture=told.aperture)
    few, many = seconds(FEW), seconds(MANY)
    out = {"aperture_m2": told.aperture, "devices": [f.to_dict() for f in figures], "seconds_1e3": few,
           "seconds_1e7": many, "ratio_1e7_to_1e3": many / few}
    if told.json == "-":
        json.dump(out, sys.stdout, indent=1)
        return
    if told.json:
        Path(told.json).write_text(json.dumps(out, indent=1), encoding="utf-8")
    print(smallness_table(figures).T.round(3).to_string())
    print(f"\n1e3 devices {few * 1e3:.2f} ms, 1e7 devices {many * 1e3:.2f} ms, ratio {many / few:.2f}")


if __name__ == "__main__":
    main()
