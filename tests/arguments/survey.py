"""`python -m tests.arguments.survey [-v]`: what comes of every public call with one thing wrong."""

from __future__ import annotations

import sys
import warnings
from collections import Counter, defaultdict

from ascentopt.telling import told
from tests.arguments.face import calls, is_data, uncovered
from tests.arguments.spoilt import Outcome, outcome, spoilt


def shown(value: object) -> str:
    """A few letters of it."""
    return object.__repr__(value)[:60] if is_data(value) else told(value)


def main() -> None:
    """Count, and with `-v` list, what is not refused as it should be."""
    warnings.simplefilter("ignore")
    counts: Counter[str] = Counter()
    bad: dict[str, list[Outcome]] = defaultdict(list)
    for call in calls():
        for one in spoilt(call):
            found = outcome(one)
            counts[found.verdict] += 1
            if found.verdict != "refused":
                bad[call.name].append(found)
    print(f"{sum(counts.values())} calls: {dict(counts)}; not covered: {uncovered() or 'none'}")
    for name, outcomes in bad.items():
        print(f"  {name}: {dict(Counter(one.verdict for one in outcomes))}")
        for each in outcomes if "-v" in sys.argv else []:
            told = f"{type(each.error).__name__}: {each.error}"[:110] if each.error else ""
            print(f"    {each.verdict}: {each.spoilt.what} = {shown(each.spoilt.value)} {told}")


if __name__ == "__main__":
    main()
