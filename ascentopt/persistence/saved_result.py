"""Results that a user keeps in files of their own."""

from __future__ import annotations

from pathlib import Path
from typing import Any, ClassVar, Self

from ascentopt.persistence.decoding import result_of, told_as_damage
from ascentopt.persistence.files import save, saved, saved_text
from ascentopt.persistence.given import Given
from ascentopt.persistence.result import Result


class SavedResult(Result):
    """A result with a file format: its `_form` and `_version`, and how it reads older ones.

    Attributes:
        _form: what the file calls it.
        _version: that is written; all before it are read.
        _unsigned: the last version that was saved without a checksum.
    """

    _form: ClassVar[str]
    _version: ClassVar[int] = 1
    _unsigned: ClassVar[int] = 0

    def save(self, path: str | Path) -> None:
        """Write JSON that `load` reads without solving or flying anything.

        A checksum and the library's version are written with it. Raises `InputError` where nothing
        can be written.
        """
        save(path, self._form, self._version, self)

    def to_text(self) -> str:
        """What `save` writes: whoever makes it need not be who writes it."""
        return saved_text(self._form, self._version, self)

    @classmethod
    def load(cls, path: str | Path) -> Self:
        """Read what `save` wrote, as an equal object.

        Raises `InputError` for any other file, and for one that was damaged or changed since: its
        checksum says so. Whoever changes the checksum as well is found out by flying again.
        """
        return cls._loaded(path)

    @classmethod
    def _loaded(cls, path: str | Path, given: Given | None = None) -> Self:
        versions = tuple(range(1, cls._version + 1))
        data = saved(path, cls.__name__, cls._form, versions, unsigned=versions[: cls._unsigned])
        with told_as_damage(f"{cls.__name__}.load: {str(path)!r}"):
            own = cls._amended(data)
        return result_of(cls, own, path, given)

    @classmethod
    def _amended(cls, data: dict[str, Any]) -> dict[str, Any]:
        """What a file of an older version would hold now."""
        return data
