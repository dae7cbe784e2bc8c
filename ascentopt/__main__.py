"""`python -m ascentopt` is the command `ascentopt`."""

from __future__ import annotations

import sys

from ascentopt.command import main

if __name__ == "__main__":
    sys.exit(main())
