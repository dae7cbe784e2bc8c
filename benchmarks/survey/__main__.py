"""Run the survey: `python -m benchmarks.survey --cases 300 --workers 2 --out out/survey`.

A second run with the same `--out` goes on where the first one stopped. `--case SEED` tells the
whole story of one case and writes nothing. `--audit` solves every case from random starts as
well and writes `audit.md`: where is the default answer not the best? With `--answered` it leaves
out what the survey in the same folder could not solve.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
from collections.abc import Iterable
from concurrent.futures import Executor, ProcessPoolExecutor
from pathlib import Path

from benchmarks.survey.audit import Finding, audit_table, audited, lost
from benchmarks.survey.generator import case
from benchmarks.survey.journal import Journal
from benchmarks.survey.judge import Judge, crash_row
from benchmarks.survey.library import optimise
from benchmarks.survey.outcome import Row
from benchmarks.survey.run import Work, survey
from benchmarks.survey.search import search
from benchmarks.survey.table import as_csv, markdown, story

_ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


def main() -> None:
    options = _options()
    judge = Judge(optimise, None if options.no_search else search)
    if options.case is not None:
        drawn = case(options.case)
        print(f"{drawn.vehicle}\n\n{drawn.mission}\n")
        print(story(judge(options.case)))
        return
    for name in _ONE_THREAD:  # workers are the parallelism; they inherit this when they start
        os.environ.setdefault(name, "1")
    seeds = range(options.first, options.first + options.cases)
    journal = Journal(options.out / "rows.jsonl", Row.from_json)
    if options.audit:
        solved = [seed for seed, row in journal.rows().items() if row.propellant_used is not None]
        chosen = [seed for seed in seeds if seed in solved] if options.answered else seeds
        _audit(chosen, options.out, options.workers)
        return
    rows = survey(
        seeds,
        Work(judge, crash_row),
        journal,
        make_executor=_processes,
        workers=options.workers,
        progress=_show,
    )
    title = "Survey of random rockets on random missions"
    (options.out / "survey.md").write_text(markdown(rows, title), encoding="utf-8")
    (options.out / "survey.csv").write_text(as_csv(rows), encoding="utf-8")
    print(markdown(rows, title))


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.survey", description=__doc__)
    parser.add_argument("--cases", type=int, default=300, help="how many cases")
    parser.add_argument("--first", type=int, default=0, help="seed of the first case")
    parser.add_argument("--workers", type=int, default=1, help="processes at a time")
    parser.add_argument("--out", type=Path, default=Path("out/survey"), help="folder for results")
    parser.add_argument("--case", type=int, help="seed of one case to run and describe")
    text = "solve from random starts as well, about a minute a case"
    parser.add_argument("--audit", action="store_true", help=text)
    text = "audit only what the survey in the same folder has solved"
    parser.add_argument("--answered", action="store_true", help=text)
    text = "do not look for flights where a refusal is not proved: saves 10 s each"
    parser.add_argument("--no-search", action="store_true", help=text)
    return parser.parse_args()


def _audit(seeds: Iterable[int], out: Path, workers: int) -> None:
    findings = survey(
        seeds,
        Work(audited, lost),
        Journal(out / "audit.jsonl", Finding.from_json),
        make_executor=_processes,
        workers=workers,
        progress=lambda found: print(audit_table([found], "").splitlines()[-1], flush=True),
    )
    table = audit_table(findings, "Survey cases from random starts")
    (out / "audit.md").write_text(table, encoding="utf-8")
    print(table)


def _processes(workers: int) -> Executor:
    # Spawned, not forked: a fork would inherit this process's thread pools.
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(max_workers=workers, mp_context=context)


def _show(row: Row) -> None:
    mark = " " if row.good else "!"
    print(
        f"{mark} {row.seed:5} {row.seconds:7.2f} s  {row.outcome.value:28} {row.label}", flush=True
    )


if __name__ == "__main__":
    main()
