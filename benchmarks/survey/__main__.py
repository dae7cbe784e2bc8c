"""Run the survey: `python -m benchmarks.survey --cases 300 --workers 2 --out out/survey`.

A second run with the same `--out` goes on where the first one stopped. `--case SEED` tells the
whole story of one case and writes nothing. `--audit` solves every case from random starts as
well and writes `audit.md`: where is the default answer not the best? With `--answered` it leaves
out what the survey in the same folder could not solve. `--relations` solves neighbours of every
case that must not come out worse, and writes `relations.md`. All of them take `--fresh`, for a
block of ordinary missions with seeds of its own; its files are called `fresh`.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
from collections.abc import Iterable
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from benchmarks.survey.audit import Finding, audit_table, audited, lost
from benchmarks.survey.features import by_feature
from benchmarks.survey.generator import case
from benchmarks.survey.journal import Journal
from benchmarks.survey.judge import Family, Judge, crash_row
from benchmarks.survey.library import optimise
from benchmarks.survey.ordinary.cases import FIRST, ordinary
from benchmarks.survey.outcome import Outcome, Row
from benchmarks.survey.pairs import Related, Relating, died, enough
from benchmarks.survey.relations_table import relations_table
from benchmarks.survey.run import Work, survey
from benchmarks.survey.search import search
from benchmarks.survey.table import as_csv, markdown, story

_ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


@dataclass(frozen=True, kw_only=True)
class Block:
    """A family of cases, its first seed, its journals, and what its tables are called."""

    family: Family
    first: int
    title: str
    tables: str
    rows: str
    starts: str
    pairs: str


OLD = Block(
    family=case,
    first=0,
    title="Survey of random rockets on random missions",
    tables="survey",
    rows="rows.jsonl",
    starts="audit",
    pairs="relations",
)
FRESH = Block(
    family=ordinary,
    first=FIRST,
    title="Survey of ordinary missions",
    tables="fresh",
    rows="fresh.jsonl",
    starts="fresh-audit",
    pairs="fresh-relations",
)


def main() -> None:
    options = _options()
    block = FRESH if options.fresh else OLD
    judge = Judge(optimise, None if options.no_search else search, block.family)
    if options.case is not None:
        _tell(judge, options.case)
        return
    for name in _ONE_THREAD:  # workers are the parallelism; they inherit this when they start
        os.environ.setdefault(name, "1")
    first = block.first + options.first
    seeds = range(first, first + options.cases)
    if options.relations:
        _relations(first, block, options)
    elif options.audit:
        rows = Journal(options.out / block.rows, Row.from_json).rows()
        solved = [seed for seed, row in rows.items() if row.propellant_used is not None]
        chosen = [seed for seed in seeds if seed in solved] if options.answered else seeds
        _audit(chosen, block, options)
    else:
        _survey(seeds, judge, block, options)


def _tell(judge: Judge, seed: int) -> None:
    drawn = judge.family(seed)
    row = judge(seed)
    # Told after the run: a mission that the library does not take is refused when it is made.
    print(drawn.vehicle)
    if row.outcome is not Outcome.REJECTED:
        print(f"\n{drawn.mission}")
    print(f"\n{story(row)}")


def _survey(seeds: range, judge: Judge, block: Block, options: argparse.Namespace) -> None:
    rows = survey(
        seeds,
        Work(judge, partial(crash_row, family=block.family)),
        Journal(options.out / block.rows, Row.from_json),
        make_executor=_processes,
        workers=options.workers,
        progress=_show,
    )
    table = markdown(rows, block.title) + by_feature(rows)
    (options.out / f"{block.tables}.md").write_text(table, encoding="utf-8")
    (options.out / f"{block.tables}.csv").write_text(as_csv(rows), encoding="utf-8")
    print(table)


def _relations(first: int, block: Block, options: argparse.Namespace) -> None:
    """As many solved cases as asked for, beside their neighbours."""
    work = Work(Relating(Judge(optimise, None, block.family)), partial(died, family=block.family))
    journal = Journal(options.out / f"{block.pairs}.jsonl", Related.from_json)

    def run(seeds: range) -> list[Related]:
        return survey(
            seeds,
            work,
            journal,
            make_executor=_processes,
            workers=options.workers,
            progress=_show_related,
        )

    found = enough(first, options.cases, run)
    table = relations_table(found, f"{block.title}: relations")
    (options.out / f"{block.pairs}.md").write_text(table, encoding="utf-8")
    print(table)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.survey", description=__doc__)
    text = "how many cases: by default 300, or 200 solved ones for relations"
    parser.add_argument("--cases", type=int, help=text)
    text = "ordinary missions in place of the first family"
    parser.add_argument("--fresh", action="store_true", help=text)
    parser.add_argument("--first", type=int, default=0, help="leave out so many of the block")
    parser.add_argument("--workers", type=int, default=1, help="processes at a time")
    parser.add_argument("--out", type=Path, default=Path("out/survey"), help="folder for results")
    parser.add_argument("--case", type=int, help="seed of one case to run and describe")
    text = "solve neighbours as well, which must not come out worse: some half a minute a case"
    parser.add_argument("--relations", action="store_true", help=text)
    text = "solve from random starts as well, about a minute a case"
    parser.add_argument("--audit", action="store_true", help=text)
    text = "audit only what the survey in the same folder has solved"
    parser.add_argument("--answered", action="store_true", help=text)
    text = "do not look for flights where a refusal is not proved: saves 10 s each"
    parser.add_argument("--no-search", action="store_true", help=text)
    options = parser.parse_args()
    if options.cases is None:
        options.cases = 200 if options.relations else 300
    return options


def _audit(seeds: Iterable[int], block: Block, options: argparse.Namespace) -> None:
    findings = survey(
        seeds,
        Work(partial(audited, family=block.family), partial(lost, family=block.family)),
        Journal(options.out / f"{block.starts}.jsonl", Finding.from_json),
        make_executor=_processes,
        workers=options.workers,
        progress=lambda found: print(audit_table([found], "").splitlines()[-1], flush=True),
    )
    table = audit_table(findings, f"{block.title}: random starts")
    (options.out / f"{block.starts}.md").write_text(table, encoding="utf-8")
    print(table)


def _processes(workers: int) -> Executor:
    # Spawned, not forked: a fork would inherit this process's thread pools.
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(max_workers=workers, mp_context=context)


def _show_related(found: Related) -> None:
    broken = ", ".join(pair.relation for pair in found.broken()) if found.solved else ""
    seconds = found.seconds + sum(pair.seconds for pair in found.pairs)
    mark = "!" if broken else " "
    print(
        f"{mark} {found.seed:5} {seconds:7.2f} s  {found.outcome.value:28} "
        f"{len(found.pairs):2} pairs  {broken or found.label}",
        flush=True,
    )


def _show(row: Row) -> None:
    mark = " " if row.good else "!"
    print(
        f"{mark} {row.seed:5} {row.seconds:7.2f} s  {row.outcome.value:28} {row.label}", flush=True
    )


if __name__ == "__main__":
    main()
