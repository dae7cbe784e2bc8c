"""Finished rows, one JSON line each, so that nothing is lost and a second run goes on."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, Protocol, TypeVar


class Record(Protocol):
    """What became of one case, as a line of JSON."""

    @property
    def seed(self) -> int:
        """Of the case."""
        ...

    def to_json(self) -> str:
        """One line; the journal's `read` turns it back."""
        ...


R = TypeVar("R", bound=Record)


@dataclass(frozen=True)
class Journal(Generic[R]):
    """A file of rows that only ever grows; `read` makes a row of a line."""

    path: Path
    read: Callable[[str], R]

    def append(self, row: R) -> None:
        """Write one row and let go of the file."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        with self.path.open("a", encoding="utf-8") as file:
            file.write(self._gap() + row.to_json() + "\n")

    def _gap(self) -> str:
        """A line end, after a line that a kill cut short."""
        text = self.path.read_bytes()
        return "" if not text or text.endswith(b"\n") else "\n"

    def rows(self) -> dict[int, R]:
        """Rows by seed, the last one of each; a line cut short by a kill is left out."""
        if not self.path.exists():
            return {}
        found: dict[int, R] = {}
        for line in self.path.read_text(encoding="utf-8").splitlines():
            try:
                row = self.read(line)
            except json.JSONDecodeError:
                continue
            found[row.seed] = row
        return found
