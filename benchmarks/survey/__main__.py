"""Run the survey: `python -m benchmarks.survey --cases 300 --workers 2 --out out/survey`.

A second run with the same `--out` goes on where the first one stopped. `--case SEED` tells the
whole story of one case and writes nothing. `--audit` solves every case from random starts as
well and writes `audit.md`: where is the default answer not the best?
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
from concurrent.futures import Executor, ProcessPoolExecutor
from pathlib import Path

from benchmarks.survey.audit import Finding, audit, audit_table
from benchmarks.survey.generator import case
from benchmarks.survey.journal import Journal
from benchmarks.survey.judge import Judge
from benchmarks.survey.library import optimise
from benchmarks.survey.outcome import Row
from benchmarks.survey.run import survey
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
    out: Path = options.out
    if options.audit:
        _audit(range(options.first, options.first + options.cases), out)
        return
    rows = survey(
        range(options.first, options.first + options.cases),
        judge,
        Journal(out / "rows.jsonl"),
        make_executor=_processes,
        workers=options.workers,
        progress=_show,
    )
    title = "Survey of random rockets on random missions"
    (out / "survey.md").write_text(markdown(rows, title), encoding="utf-8")
    (out / "survey.csv").write_text(as_csv(rows), encoding="utf-8")
    print(markdown(rows, title))


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.survey", description=__doc__)
    parser.add_argument("--cases", type=int, default=300, help="how many cases")
    parser.add_argument("--first", type=int, default=0, help="seed of the first case")
    parser.add_argument("--workers", type=int, default=1, help="processes at a time")
    parser.add_argument("--out", type=Path, default=Path("out/survey"), help="folder for results")
    parser.add_argument("--case", type=int, help="seed of one case to run and describe")
    text = "solve from random starts as well; one process, about a minute a case"
    parser.add_argument("--audit", action="store_true", help=text)
    text = "do not look for flights where a refusal is not proved: saves 10 s each"
    parser.add_argument("--no-search", action="store_true", help=text)
    return parser.parse_args()


def _audit(seeds: range, out: Path) -> None:
    """Write the table anew after every case, so that an interrupted run leaves what it has."""
    out.mkdir(parents=True, exist_ok=True)
    findings: list[Finding] = []
    for seed in seeds:
        drawn = case(seed)
        findings.append(audit(drawn.vehicle, drawn.mission, seed, drawn.label))
        table = audit_table(findings, "Survey cases from random starts")
        (out / "audit.md").write_text(table, encoding="utf-8")
        print(table.splitlines()[-1], flush=True)


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
