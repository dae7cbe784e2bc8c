"""What runs the pages' code sees what is wrong with it."""

from __future__ import annotations

import pytest

from tests.examples.code_blocks import first_missing, run

PAGE = """Text.

```python
import math
print("mass", 1000 * math.pi, "kg")
print("time 12.0 s")
```

Shown:

<!-- printed -->
```text
{shown}
```

```sh
not run
```
"""


@pytest.mark.parametrize("shown", ["mass 3141.6 kg", "...\ntime 12.0 s", "mass 3142 kg\n..."])
def test_what_is_printed_passes(shown: str) -> None:
    run(PAGE.format(shown=shown), "page")


@pytest.mark.parametrize(
    "shown", ["mass 3141.6 g", "mass 3147.6 kg", "time 12.0 s\nmass 3141.6 kg", "time 12 h"]
)
def test_what_is_not_printed_fails(shown: str) -> None:
    with pytest.raises(AssertionError, match="does not print"):
        run(PAGE.format(shown=shown), "page")


def test_blocks_share_their_names_and_faults_have_a_line() -> None:
    run("```python\na = 1\n```\n\n```python\nassert a == 1\n```\n", "page")
    with pytest.raises(ZeroDivisionError) as fault:
        run("One.\n\n```python\na = 1\n\nb = a / 0\n```\n", "page")
    assert fault.traceback[-1].lineno == 5


def test_lines_come_in_order() -> None:
    assert first_missing("a 1\nb 2", "b 2\na 1\nb 2") is None
    assert first_missing("b 2\na 1", "a 1\nb 2") == "a 1"
