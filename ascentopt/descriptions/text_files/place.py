"""Where in a file something stands, and refusals that name it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

from ascentopt.errors import InputError
from ascentopt.telling import told

_BARE = re.compile(r"[A-Za-z0-9_-]{1,60}\Z")


@dataclass(frozen=True)
class Place:
    """A key in a file, with dots: `vehicle.stages[1].engine`; empty for the whole file."""

    file: Path
    key: str = ""

    def child(self, name: str) -> Place:
        """A key of the table that stands here."""
        written = name if _BARE.match(name) else shortened(name)
        return replace(self, key=f"{self.key}.{written}" if self.key else written)

    def item(self, index: int) -> Place:
        """An entry of the list that stands here; the first is 0."""
        return replace(self, key=f"{self.key}[{index}]")

    def __str__(self) -> str:
        return f"{self.file}: {self.key}" if self.key else str(self.file)

    def refusal(self, value: object, rule: str, fix: str) -> InputError:
        """File, key, value, rule and fix; the fix ends with a full stop."""
        return self.says(f"is {shortened(value)}; it must be {rule}. {fix}")

    def says(self, text: str) -> InputError:
        """File, key, and what is wrong there in words."""
        return InputError(f"{self} {text}")


def shortened(value: object) -> str:
    """A value in the words of the file that it stands in."""
    if isinstance(value, dict):
        return "a table of " + (", ".join(map(shortened, [*value][:4])) or "nothing")
    if isinstance(value, bool):
        return str(value).lower()
    return told(value)
