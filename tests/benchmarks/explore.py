"""How many plant-years a second an exploration runs, on one core and on all; all is timed in this run.

    python tests/benchmarks/explore.py [--plants 40] [--jobs 2] [--exact] [--json -]

The plants are those of the space that `loopnet explore --example` writes, a Latin hypercube over its circuits and
numbers. A plant-year is everything from the choices to the cost: draw, size, tabulate, march, bill, write. Processor
time stands beside wall time, for machines that do other work as well.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from loopnet.explore import Candidate, Results, Space
from loopnet.explore.designs import hypercube
from loopnet.explore.example import example_space
from loopnet.explore.judge import Judge, Setting
from loopnet.explore.pool import Crew, free_processors
from loopnet.explore.runner import Runner
from loopnet.site import tamarisk_basin


def processor_time() -> float:
    """Of this process and of those that it has waited for [s]."""
    return sum(use.ru_utime + use.ru_stime for use in map(resource.getrusage, (resource.RUSAGE_SELF,
                                                                               resource.RUSAGE_CHILDREN)))


def timed(space: Space, setting: Setting, candidates: list[Candidate], jobs: int, file: Path) -> dict[str, float]:
    """Wall and processor time of a run into a new file, workers being warm."""
    judge = Judge(space, setting).warm(candidates[0])
    used = processor_time()
    crew = Crew(judge, jobs=jobs)
    with Results(file) as results:
        start = time.perf_counter()
        rows = Runner(crew, results).run(candidates)
        wall = time.perf_counter() - start
    crew.finish()
    work = sum(row.seconds for row in rows.values())
    return {"wall": wall, "processor": processor_time() - used, "work": work,
            "failed": sum(row.failed for row in rows.values()), "done": len(rows)}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--plants", type=int, default=40, help="plant-years to run [-]")
    parser.add_argument("--jobs", type=int, default=free_processors(), help="processes of the second run [-]")
    parser.add_argument("--exact", action="store_true", help="hour by hour in place of the operating map")
    parser.add_argument("--json", metavar="FILE", help="write figures as JSON; - for stdout")
    told = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "space.toml"
        file.write_text(example_space(), encoding="utf-8")
        space = Space.read(file)
        setting = Setting(weathers=dict.fromkeys(space.sites, tamarisk_basin()), exact=told.exact)
        candidates = list(hypercube(space, told.plants).candidates)
        runs = {jobs: timed(space, setting, candidates, jobs, Path(folder) / f"{jobs}.sqlite")
                for jobs in dict.fromkeys((1, told.jobs))}
    one, all_ = runs[1], runs[told.jobs]
    rate = all_["done"] / all_["wall"]
    out: dict[str, Any] = {
        "plant_years_per_second": rate, "plant_years_per_second_per_core": rate / told.jobs,
        "plant_years_per_second_one_core": one["done"] / one["wall"],
        "parallel_efficiency": one["wall"] / all_["wall"] / told.jobs,
        "processor_seconds_per_plant_year": all_["processor"] / all_["done"],
        "plant_years_per_processor_second": all_["done"] / all_["processor"],
        "overhead_share": 1.0 - one["work"] / one["wall"], "plants": all_["done"], "failed": all_["failed"],
        "jobs": told.jobs, "mode": setting.mode, "load_of_the_machine": os.getloadavg()[0]}
    if told.json == "-":
        json.dump(out, sys.stdout, indent=1)
        return
    if told.json:
        Path(told.json).write_text(json.dumps(out, indent=1), encoding="utf-8")
    for name, value in out.items():
        print(f"{name.replace('_', ' '):40} {value if isinstance(value, str) else f'{value:.4g}'}")


if __name__ == "__main__":
    main()
