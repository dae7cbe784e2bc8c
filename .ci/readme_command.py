"""Print the command that README.md gives under a mark: `python3 readme_command.py README.md run`.

The mark is an HTML comment, `<!-- run -->`, directly above a fenced `sh` block of one line. What CI
runs is then what a reader pastes, and cannot drift from it.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path


def marked_command(text: str, mark: str) -> str:
    """The one line of the block under the mark. Raises SystemExit with the reason if not one."""
    block = rf"^<!-- {re.escape(mark)} -->\n```sh\n(.*?)\n```$"
    found = re.findall(block, text, re.MULTILINE | re.DOTALL)
    if len(found) != 1:
        raise SystemExit(f"README: {len(found)} sh blocks stand under <!-- {mark} -->, not 1")
    command: str = found[0].strip()
    if not command or "\n" in command:
        raise SystemExit(f"README: the command under <!-- {mark} --> is not one line: {command!r}")
    return command


if __name__ == "__main__":
    print(marked_command(Path(sys.argv[1]).read_text(encoding="utf-8"), sys.argv[2]))
