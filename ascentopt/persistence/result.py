"""What every result has in common."""

from __future__ import annotations

from ascentopt.persistence.annotated import check_fields
from ascentopt.persistence.content import content_hash, same_content


class Result:
    """A frozen dataclass that is valid from birth, and equal to what holds the same.

    Its fields are held against their annotations; a class with rules of its own adds them in a
    `__post_init__` that begins with this one's. Decorate it with `eq=False`.
    """

    def __post_init__(self) -> None:
        """Refuse fields of another type than theirs. Raises `InputError`."""
        check_fields(type(self), vars(self), "Give what it is to hold.")

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return same_content(self, other)

    def __hash__(self) -> int:
        return content_hash(self)
