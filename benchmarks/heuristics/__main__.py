"""Run the scenarios: `python -m benchmarks.heuristics --out DIR [--workers 2] [NAME ...]`.

Each finished scenario is written to DIR at once; a second run with the same DIR goes on where the
first one stopped. RESULTS.md and RESULTS.csv are made from all of them at the end.

`--rule package.module:Name` flies a rule of your own over the scenarios instead, against the optima
on record, and prints its column beside the published ones; `--optima` writes these optima again.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import ascentopt as ao
from ascentopt.scenarios import Scenario, scenarios
from benchmarks.heuristics import optima, scoreboard
from benchmarks.heuristics.record import Line, Record
from benchmarks.heuristics.run import run
from benchmarks.heuristics.table import as_csv, markdown

_ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


def main() -> None:
    options = _options()
    chosen = tuple(s for s in scenarios().values() if not options.names or s.name in options.names)
    if options.optima:
        optima.save([optima.solved(scenario) for scenario in scenarios().values()])
    elif options.rule:
        _score(options.rule, chosen)
    else:
        _compare(options, chosen)


def _score(path: str, chosen: tuple[Scenario, ...]) -> None:
    try:
        rule = scoreboard.rule_named(path)
        own = scoreboard.fly_over(rule, chosen, optima.load(), progress=_show_lines)
    except ao.InputError as refused:
        raise SystemExit(str(refused)) from None
    print(scoreboard.scoreboard(rule, own, [scenario.name for scenario in chosen]))


def _compare(options: argparse.Namespace, chosen: tuple[Scenario, ...]) -> None:
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
    parser.add_argument("--rule", help="package.module:Name of a rule of your own to fly instead")
    parser.add_argument("--optima", action="store_true", help="write the table of optima again")
    return parser.parse_args()


def _show_lines(scenario: Scenario, lines: tuple[Line, ...]) -> None:
    for line in lines:
        penalty = "no orbit" if line.penalty is None else f"{line.penalty:.1f} kg"
        told = "; ".join(one for one in (line.parameters, line.broken, line.remark) if one)
        how = "tuned" if line.tuned else "by habit"
        print(f"{scenario.name}: {line.insertion}, {how}: {penalty} ({told})", flush=True)


def _show(record: Record) -> None:
    print(
        f"{record.scenario:24} {record.seconds:6.1f} s  {record.failure or record.verdict}",
        flush=True,
    )


if __name__ == "__main__":
    main()
