"""Run the scenarios: `python -m benchmarks.heuristics --out DIR [--workers 2] [NAME ...]`.

Each finished scenario is written to DIR at once; a second run with the same DIR goes on where the
first one stopped. RESULTS.md and RESULTS.csv are made from all of them at the end.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from benchmarks.heuristics.record import Record
from benchmarks.heuristics.run import run
from benchmarks.heuristics.scenarios import scenarios
from benchmarks.heuristics.table import as_csv, markdown

_ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


def main() -> None:
    options = _options()
    chosen = tuple(s for s in scenarios() if not options.names or s.name in options.names)
    out: Path = options.out
    if options.workers == 1:
        records = run(chosen, out / "scenarios", progress=_show)
    else:
        for name in _ONE_THREAD:  # workers are the parallelism; they inherit this when they start
            os.environ.setdefault(name, "1")
        context = multiprocessing.get_context("spawn")
        with ProcessPoolExecutor(max_workers=options.workers, mp_context=context) as executor:
            records = run(chosen, out / "scenarios", executor=executor, progress=_show)
    (out / "RESULTS.md").write_text(markdown(records), encoding="utf-8")
    (out / "RESULTS.csv").write_text(as_csv(records), encoding="utf-8")
    print(markdown(records))


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.heuristics", description=__doc__)
    parser.add_argument("names", nargs="*", help="scenarios to run; by default all")
    parser.add_argument("--out", type=Path, default=Path("out/heuristics"), help="folder")
    parser.add_argument("--workers", type=int, default=1, help="processes at a time")
    return parser.parse_args()


def _show(record: Record) -> None:
    print(
        f"{record.scenario:24} {record.seconds:6.1f} s  {record.failure or record.verdict}",
        flush=True,
    )


if __name__ == "__main__":
    main()
