"""What stands for a user's object that a file holds and whose class nobody gave."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from ascentopt.errors import InputError


@dataclass(frozen=True)
class NotGiven:
    """What stands for a user's object whose class or function was not given on loading.

    Anything that is asked of it raises `InputError`.

    Args:
        name: import path of the class or function, as the file tells it.
        saved: what the file holds.
    """

    name: str
    saved: Any
    stands_for_another: ClassVar[bool] = True

    def __getattr__(self, asked: str) -> Any:
        if asked.startswith("__"):  # copying and pickling ask for what there may not be
            raise AttributeError(asked)
        raise self._missing()

    def __call__(self, *given: object) -> Any:
        """Refuse to."""
        raise self._missing()

    def __hash__(self) -> int:
        return hash(self.name)

    def _missing(self) -> InputError:
        fix = f"Load it again with the class: load(path, rules=[{self.name.rpartition(':')[2]}])."
        if "function" in self.saved:
            fix = "Load it again with the rule that has the function: load(path, rules=[rule])."
        if "opaque" in self.saved:
            fix = "It is no frozen dataclass, so its fields were not saved: make it one."
        return InputError(
            f"persistence: this needs {self.name!r}, which the file only names and which was not "
            f"given on loading; nothing is imported because a file says so. {fix}"
        )
