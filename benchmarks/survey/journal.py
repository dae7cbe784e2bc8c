"""Finished rows, one JSON line each, so that nothing is lost and a second run goes on."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from benchmarks.survey.outcome import Row


@dataclass(frozen=True)
class Journal:
    """A file of rows that only ever grows."""

    path: Path

    def append(self, row: Row) -> None:
        """Write one row and let go of the file."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        with self.path.open("a", encoding="utf-8") as file:
            file.write(self._gap() + row.to_json() + "\n")

    def _gap(self) -> str:
        """A line end, after a line that a kill cut short."""
        text = self.path.read_bytes()
        return "" if not text or text.endswith(b"\n") else "\n"

    def rows(self) -> dict[int, Row]:
        """Rows by seed, the last one of each; a line cut short by a kill is left out."""
        if not self.path.exists():
            return {}
        found: dict[int, Row] = {}
        for line in self.path.read_text(encoding="utf-8").splitlines():
            try:
                row = Row.from_json(line)
            except json.JSONDecodeError:
                continue
            found[row.seed] = row
        return found
