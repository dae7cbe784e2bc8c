"""Frozen objects as JSON and back, to the last bit.

What a user's own class or function holds is saved by its import path. It is never imported from
there: who loads gives the classes and objects that may be made again, and what was not given comes
back as `NotGiven`, which says so when it is used.
"""

from __future__ import annotations

from ascentopt.persistence.decoding import decode
from ascentopt.persistence.encoding import encode
from ascentopt.persistence.files import read, save, saved, write
from ascentopt.persistence.given import Given
from ascentopt.persistence.names import by_present_names
from ascentopt.persistence.not_given import NotGiven

__all__ = [
    "Given",
    "NotGiven",
    "by_present_names",
    "decode",
    "encode",
    "read",
    "save",
    "saved",
    "write",
]
