"""Where answers of a sweep are kept: a folder with two files for each, or memory."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections import OrderedDict
from pathlib import Path

from ascentopt.errors import InputError
from ascentopt.files import path_given, why
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.studies.sweep.answer import SweepAnswer
from ascentopt.studies.sweep.manifest import Manifest
from ascentopt.studies.sweep.schedule import Solve

Key = tuple[int, int]
"""Point and serial of an answer."""

_AT_HAND = 200
"""Ascents of a folder that stay in memory: neighbours are solved from them soon, 0.7 MB each."""


class Store(ABC):
    """Answers and ascents by point and serial."""

    @abstractmethod
    def answer(self, solve: Solve) -> SweepAnswer | None:
        """What was kept of a solve; None where nothing was, or from another neighbour."""

    @abstractmethod
    def ascent(self, key: Key) -> Ascent:
        """The ascent of an answer that flies."""

    @abstractmethod
    def keep(self, answer: SweepAnswer, ascent: Ascent | None) -> None:
        """Keep both."""


class MemoryStore(Store):
    """Keeps what belongs to one run."""

    def __init__(self) -> None:
        self._ascents: dict[Key, Ascent] = {}

    def answer(self, solve: Solve) -> SweepAnswer | None:
        """None: there was no run before."""
        return None

    def ascent(self, key: Key) -> Ascent:
        """As it was solved."""
        return self._ascents[key]

    def keep(self, answer: SweepAnswer, ascent: Ascent | None) -> None:
        """Keep the ascent."""
        if ascent is not None:
            self._ascents[answer.point, answer.serial] = ascent


class FolderStore(Store):
    """Keeps all in files, each written whole: the ascent first, then the answer that tells of it.

    Raises:
        InputError: where the folder cannot be made or read, or holds another sweep.
    """

    def __init__(self, folder: Path, manifest: Manifest) -> None:
        self.folder = folder
        self._at_hand: OrderedDict[Key, Ascent] = OrderedDict()
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise InputError(
                f"sweep: store {str(folder)!r} cannot be made ({why(fault)}); it must be a folder, "
                "or a place where one can be made. Give another path."
            ) from fault
        place = folder / "sweep.json"
        if place.exists():
            Manifest.load(place).check_same(str(folder), manifest)
        else:
            self._check_empty()
            manifest.save(place)

    def _check_empty(self) -> None:
        other = next(self.folder.glob("*.json"), None)
        if other is not None:
            raise InputError(
                f"sweep: store {str(self.folder)!r} holds {other.name!r} but no sweep.json; it "
                "must be an empty folder, or one of a sweep. Give another folder."
            )

    def answer(self, solve: Solve) -> SweepAnswer | None:
        """From its file; one that is damaged is solved again."""
        place = self._place((solve.point, solve.serial), "answer")
        if not place.exists():
            return None
        try:
            found = SweepAnswer.load(place)
        except InputError:
            return None
        return found if found.solve == solve else None

    def ascent(self, key: Key) -> Ascent:
        """From its file, if it was not solved a moment ago."""
        found = self._at_hand.get(key)
        return found if found is not None else ascent_in(self.folder, key)

    def keep(self, answer: SweepAnswer, ascent: Ascent | None) -> None:
        """Write both."""
        key = answer.point, answer.serial
        if ascent is not None:
            ascent.save(self._place(key, "ascent"))
            self._at_hand[key] = ascent
            if len(self._at_hand) > _AT_HAND:
                self._at_hand.popitem(last=False)
        answer.save(self._place(key, "answer"))

    def _place(self, key: Key, what: str) -> Path:
        return _file(self.folder, key, what)


def store_for(folder: str | Path | None, manifest: Manifest) -> Store:
    """A store in a folder, or in memory for None."""
    return MemoryStore() if folder is None else FolderStore(path_given("sweep", folder), manifest)


def ascent_in(folder: Path, key: Key) -> Ascent:
    """The ascent that a folder holds. Raises `InputError` where it holds none."""
    return Ascent.load(_file(folder, key, "ascent"))


def _file(folder: Path, key: Key, what: str) -> Path:
    point, serial = key
    return folder / f"{point:06d}-{serial}.{what}.json"
