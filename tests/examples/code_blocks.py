"""Code in prose, run in order in one namespace, and what it prints held against what is shown."""

from __future__ import annotations

import contextlib
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass

FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
PRINTED = "<!-- printed -->\n"
NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?")

# What is shown is rounded, and flights differ by rounding from one processor to the next: instants
# of cut-offs by parts in 1e5, slopes by parts in 1e4.
CLOSE = 5e-4


@dataclass(frozen=True)
class Block:
    """A fenced block: its language, its text, its first line, and whether code printed it."""

    language: str
    text: str
    line: int
    printed: bool


def blocks(page: str) -> Iterator[Block]:
    """All fenced blocks of a page or docstring."""
    for found in FENCE.finditer(page):
        language, text = found.groups()
        line = page.count("\n", 0, found.start()) + 2
        yield Block(language, text, line, page[: found.start()].endswith(PRINTED))


def run(page: str, name: str) -> None:
    """Run the Python of a page; raises AssertionError where it prints other than is shown."""
    space: dict[str, object] = {"__name__": "__main__"}
    said = ""
    for block in blocks(page):
        if block.language == "python":
            out = io.StringIO()
            code = compile("\n" * (block.line - 1) + block.text, name, "exec")
            with contextlib.redirect_stdout(out):
                exec(code, space)
            said = out.getvalue()
        elif block.printed:
            missing = first_missing(block.text, said)
            assert missing is None, f"{name}: the code above does not print {missing!r}"


def first_missing(shown: str, printed: str) -> str | None:
    """The first line shown that is not printed after those before it; `...` stands for any."""
    left = iter(printed.splitlines())
    for line in shown.splitlines():
        if line == "...":
            continue
        if not any(alike(line, other) for other in left):
            return line
    return None


def alike(shown: str, printed: str) -> bool:
    """Whether two lines have the same words, and numbers that differ by rounding alone."""
    if words(shown) != words(printed):
        return False
    pairs = zip(NUMBER.findall(shown), NUMBER.findall(printed), strict=True)
    return all(abs(float(a) - float(b)) <= CLOSE * abs(float(b)) + last(a) for a, b in pairs)


def words(line: str) -> list[str]:
    """What is left of a line when its numbers are all the same."""
    return NUMBER.sub(" # ", line).split()


def last(number: str) -> float:
    """One unit of the last place of a number as it is written."""
    digits = re.sub(r"e.*", "", number).partition(".")[2]
    exponent = int(number.partition("e")[2] or 0)
    return float(10.0 ** (exponent - len(digits)))
