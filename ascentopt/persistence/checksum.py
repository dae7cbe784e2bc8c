"""A checksum of what a file holds, in a form that its layout does not change.

It guards against slips and damage: a number mended by hand, a disk, a line lost on the way. It does
not guard against whoever means to deceive: anyone can write another file with a checksum that fits.
`Ascent.verify` flies the result again, and finds that out as well.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from hashlib import sha256
from typing import Any

KEY = "checksum"


def checksum(data: Mapping[str, Any]) -> str:
    """SHA-256 of all but the checksum: keys sorted, no blanks, floats in their shortest form."""
    content = {name: value for name, value in data.items() if name != KEY}
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return "sha256:" + sha256(text.encode("utf-8")).hexdigest()
