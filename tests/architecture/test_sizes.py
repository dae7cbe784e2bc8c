"""Ceilings on the length of files and functions, and on what a signature may ask for."""

from __future__ import annotations

import ast
from pathlib import Path

from tests.architecture.sizes import (
    PACKAGE,
    Size,
    code_lines,
    file_sizes,
    function_sizes,
    percentile,
    report,
)

# Where readable numerical packages stand: no file of logic above 400 lines, nine functions in ten
# under 30. The ceiling of a single function leaves room for one formula with many terms.
FILE_CEILING = 400
FUNCTION_CEILING = 60
MOST_FUNCTIONS = 30

SAMPLE = '''"""A module."""

# A comment.
TABLE = [
    1,

    2,
]


def short(a: int) -> int:
    """Two
    lines."""
    # why
    return a  # here


class Holder:
    """A class."""

    def long(self) -> str:
        def inner() -> int:
            return 1

        return """text
        of two lines""" * inner()
'''


def test_no_file_is_too_long_to_read() -> None:
    sizes = file_sizes(PACKAGE)
    assert sizes
    assert [size for size in sizes if size.lines > FILE_CEILING] == []


def test_no_function_is_too_long_to_read() -> None:
    sizes = function_sizes(PACKAGE)
    assert sizes
    assert [size for size in sizes if size.lines > FUNCTION_CEILING] == []


def test_nine_functions_in_ten_fit_one_look() -> None:
    assert percentile(function_sizes(PACKAGE), 0.9) <= MOST_FUNCTIONS


def test_only_lines_of_code_are_counted() -> None:
    table, short, holder = {4, 5, 7, 8}, {11, 15}, {18, 21, 22, 23, 25, 26}
    assert code_lines(SAMPLE) == table | short | holder


def test_functions_are_measured_with_what_they_hold(tmp_path: Path) -> None:
    (tmp_path / "sample.py").write_text(SAMPLE)
    path = f"{tmp_path.name}/sample.py"
    assert function_sizes(tmp_path) == [
        Size(lines=5, where=f"{path}:21 long"),
        Size(lines=2, where=f"{path}:22 inner"),
        Size(lines=2, where=f"{path}:11 short"),
    ]
    assert file_sizes(tmp_path) == [Size(lines=12, where=path)]
    assert f"   5  {path}:21 long" in report(tmp_path)


def test_percentile_is_a_size_that_occurs() -> None:
    sizes = [Size(lines=n, where="") for n in (10, 1, 7, 3)]
    assert percentile(sizes, 0.5) == 3
    assert percentile(sizes, 0.75) == 7
    assert percentile(sizes, 1.0) == 10


def keywords_passed_through(text: str) -> list[str]:
    """Functions that take `**anything`, which hides what they accept; one that wraps says it."""
    return [
        node.name
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.FunctionDef)
        and node.args.kwarg is not None
        and not any("wraps(" in ast.unparse(each) for each in node.decorator_list)
    ]


def test_no_function_takes_loose_keywords() -> None:
    loose = {
        str(path): names
        for path in PACKAGE.rglob("*.py")
        if (names := keywords_passed_through(path.read_text(encoding="utf-8")))
    }
    assert loose == {}


def test_loose_keywords_are_found_where_planted() -> None:
    assert keywords_passed_through("def plot(x, **style): ...\ndef fly(*, x): ...") == ["plot"]
    assert keywords_passed_through("@wraps(fly)\ndef call(**named): ...") == []
