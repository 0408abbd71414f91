"""How sure the ranking is, and how long that takes: surfaces from full-model runs, then draws; timed in this run.

    python tests/benchmarks/uncertainty.py [PLANT ...] [--samples 10000] [--prices-only] [--check 3] [--json -]
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from loopnet.plants import find_plant, shipped
from loopnet.site import tamarisk_basin
from loopnet.study import Case, Uncertainty, bridge, fit_surfaces, knob, rank, uncertainty


def full_model(cases: list[Case], result: Uncertainty, draws: int) -> dict[str, Any]:
    """Draws put through the full model: the largest relative error of the drawn cost, by plant [-]."""
    errors: dict[str, float] = {}
    for case, surface, costs in zip(cases, result.surfaces, result.costs, strict=True):
        worst = 0.0
        for k in np.linspace(0, result.samples - 1, draws).astype(int):
            moved = case
            for u in surface.inputs:
                moved = knob(moved, u.path).turn(moved, _own(result, u, k))
            drawn = {key: float(result.draws[key][k]) for key in surface.keys if key in result.draws}
            moved = moved.with_prices(drawn)
            worst = max(worst, abs(float(costs[k]) / moved.cost - 1.0))
        errors[case.name] = worst
    return errors


def _own(result: Uncertainty, u: Any, k: int) -> float:
    """A draw is one share of the range; where plants have ranges of their own, it is carried over to this one's."""
    shown = result.ranges[u.name]
    share = (result.draws[u.name][k] - shown.low) / (shown.high - shown.low)
    return float(u.low + share * (u.high - u.low))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("plants", nargs="*", help="shipped plants; all if left out")
    parser.add_argument("--samples", type=int, default=10_000, help="draws [-]")
    parser.add_argument("--prices-only", action="store_true", help="draw prices alone")
    parser.add_argument("--check", type=int, default=0, metavar="DRAWS", help="draws to put through the full model")
    parser.add_argument("--json", metavar="FILE", help="write figures as JSON; - for stdout")
    told = parser.parse_args()
    sky, start = tamarisk_basin(), time.perf_counter()
    ranking = rank([find_plant(name) for name in told.plants or shipped()], sky)
    ranked = time.perf_counter()
    cases = [Case.of(a, sky) for a in ranking if a.cost.product == ranking.assessments[0].cost.product]
    surfaces = fit_surfaces(cases, only=() if told.prices_only else None)
    fitted = time.perf_counter()
    result = uncertainty(cases, surfaces, samples=told.samples)
    out: dict[str, Any] = {"seconds_rank": ranked - start, "seconds_surfaces": fitted - ranked,
                           "runs": sum(s.runs for s in surfaces), "seconds_draws": result.seconds, **result.to_dict()}
    if len(ranking) > 1:
        first, second = ranking.assessments[1], ranking.assessments[0]
        out["bridge"] = bridge(first, second).to_dict()
    if told.check:
        out["error_in_full_model"] = full_model(cases, result, told.check)
    if told.json == "-":
        json.dump(out, sys.stdout, indent=1)
        return
    if told.json:
        Path(told.json).write_text(json.dumps(out, indent=1), encoding="utf-8")
    print(result.to_frame().round(4).to_string())
    print("\n".join([*result.sentences(), result.checks()]))
    print(f"ranking {out['seconds_rank']:.1f} s, {out['runs']} runs for surfaces {out['seconds_surfaces']:.1f} s, "
          f"{told.samples:,} draws of {len(cases)} plants {result.seconds:.2f} s")
    if told.check:
        print("largest error of", told.check, "draws put through the full model:",
              {name: f"{100 * e:.2g} %" for name, e in out["error_in_full_model"].items()})


if __name__ == "__main__":
    main()
