"""Frozen objects as JSON and back, to the last bit.

What a user's own class or function holds is saved by its import path. It is never imported from
there: who loads gives the classes and objects that may be made again, and what was not given comes
back as `NotGiven`, which says so when it is used.
"""

from __future__ import annotations

from ascentopt.persistence.annotated import check_fields
from ascentopt.persistence.checksum import checksum
from ascentopt.persistence.content import differences, same_content
from ascentopt.persistence.decoding import decode, told_as_damage
from ascentopt.persistence.encoding import encode
from ascentopt.persistence.files import library, read, read_text, save, saved, write
from ascentopt.persistence.given import Given
from ascentopt.persistence.names import by_present_names
from ascentopt.persistence.not_given import NotGiven
from ascentopt.persistence.result import Result
from ascentopt.persistence.saved_result import SavedResult

__all__ = [
    "Given",
    "NotGiven",
    "Result",
    "SavedResult",
    "by_present_names",
    "check_fields",
    "checksum",
    "decode",
    "differences",
    "encode",
    "library",
    "read",
    "read_text",
    "same_content",
    "save",
    "saved",
    "told_as_damage",
    "write",
]
