"""How long the files and functions of the package are: `python -m tests.architecture.sizes`.

Lines of code are counted: blank lines, comments and docstrings cost a reader nothing.
"""

from __future__ import annotations

import ast
import io
import math
import statistics
import tokenize
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "ascentopt"

Function = ast.FunctionDef | ast.AsyncFunctionDef

# What carries no code of its own on a line.
SILENT = {
    tokenize.COMMENT,
    tokenize.NL,
    tokenize.NEWLINE,
    tokenize.INDENT,
    tokenize.DEDENT,
    tokenize.ENDMARKER,
}


@dataclass(frozen=True, kw_only=True, order=True)
class Size:
    """Lines of code of one file or function, and where it stands."""

    lines: int
    where: str


def file_sizes(package: Path) -> list[Size]:
    """The size of every file, longest first."""
    sizes = [
        Size(lines=len(code_lines(path.read_text(encoding="utf-8"))), where=place(path, package))
        for path in package.rglob("*.py")
    ]
    return sorted(sizes, reverse=True)


def function_sizes(package: Path) -> list[Size]:
    """The size of every function and method with its `def` line, longest first."""
    sizes = [
        size
        for path in package.rglob("*.py")
        for size in sizes_in(path.read_text(encoding="utf-8"), place(path, package))
    ]
    return sorted(sizes, reverse=True)


def place(path: Path, package: Path) -> str:
    """A file's path from the folder that holds the package."""
    return str(path.relative_to(package.parent))


def sizes_in(text: str, where: str) -> list[Size]:
    """The size of every function of one file. A nested one counts in its parent as well."""
    lines = code_lines(text)
    return [
        Size(
            lines=len(lines & set(range(node.lineno, (node.end_lineno or node.lineno) + 1))),
            where=f"{where}:{node.lineno} {node.name}",
        )
        for node in ast.walk(ast.parse(text))
        if isinstance(node, Function)
    ]


def code_lines(text: str) -> set[int]:
    """Numbers of the lines that hold code."""
    lines: set[int] = set()
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type not in SILENT:
            lines |= set(range(token.start[0], token.end[0] + 1))
    return lines - docstring_lines(ast.parse(text))


def docstring_lines(tree: ast.Module) -> set[int]:
    """Numbers of the lines that docstrings take up."""
    lines: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | Function) and ast.get_docstring(node):
            text = node.body[0]
            lines |= set(range(text.lineno, (text.end_lineno or text.lineno) + 1))
    return lines


def percentile(sizes: Sequence[Size], share: float) -> int:
    """The smallest size that a share (0 to 1) of all do not exceed."""
    ordered = sorted(size.lines for size in sizes)
    return ordered[max(0, math.ceil(share * len(ordered)) - 1)]


def report(package: Path) -> str:
    """Medians, 90th percentiles and the longest of files and functions."""
    lines = []
    for kind, sizes in (("files", file_sizes(package)), ("functions", function_sizes(package))):
        median = statistics.median(size.lines for size in sizes)
        lines.append(
            f"{len(sizes)} {kind}: median {median:g} lines of code, "
            f"90 per cent within {percentile(sizes, 0.9)}; the longest:"
        )
        lines += [f"  {size.lines:4d}  {size.where}" for size in sizes[:5]]
    return "\n".join(lines)


if __name__ == "__main__":
    print(report(PACKAGE))
