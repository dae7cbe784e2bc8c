"""Where answers of a sweep are kept: a folder with two files for each, or memory."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections import OrderedDict
from pathlib import Path
from pickle import dumps, loads

from ascentopt.errors import InputError
from ascentopt.files import path_given, why, write_whole
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.studies.sweep.answer import SweepAnswer
from ascentopt.studies.sweep.manifest import Manifest
from ascentopt.studies.sweep.point_solve import PointFound
from ascentopt.studies.sweep.schedule import Solve

Key = tuple[int, int]
"""Point and serial of an answer."""

_AT_HAND = 200
"""Ascents of a folder that stay in memory: neighbours are solved from them soon, 0.7 MB each."""


class Store(ABC):
    """Answers, and ascents by point and serial.

    Attributes:
        filed: whether ascents go into files.
    """

    filed: bool

    @abstractmethod
    def answer(self, solve: Solve) -> SweepAnswer | None:
        """What was kept of a solve; None where nothing was, or from another neighbour."""

    @abstractmethod
    def packed(self, key: Key) -> bytes:
        """The ascent of an answer that flies, pickled."""

    @abstractmethod
    def keep(self, answer: SweepAnswer, found: PointFound) -> None:
        """Keep both."""

    def ascent(self, key: Key) -> Ascent:
        """The ascent of an answer that flies."""
        found: Ascent = loads(self.packed(key))
        return found


class MemoryStore(Store):
    """Keeps what belongs to one run."""

    filed = False

    def __init__(self) -> None:
        self._packed: dict[Key, bytes] = {}

    def answer(self, solve: Solve) -> SweepAnswer | None:
        """None: there was no run before."""
        return None

    def packed(self, key: Key) -> bytes:
        """As it came."""
        return self._packed[key]

    def keep(self, answer: SweepAnswer, found: PointFound) -> None:
        """Keep the ascent."""
        if found.ascent is not None:
            self._packed[answer.point, answer.serial] = found.ascent


class FolderStore(Store):
    """Keeps all in files, each written whole: the ascent first, then the answer that tells of it.

    Raises:
        InputError: where the folder cannot be made or read, or holds another sweep.
    """

    filed = True

    def __init__(self, folder: Path, manifest: Manifest) -> None:
        self.folder = folder
        self._at_hand: OrderedDict[Key, bytes] = OrderedDict()
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
        place = _file(self.folder, (solve.point, solve.serial), "answer")
        if not place.exists():
            return None
        try:
            found = SweepAnswer.load(place)
        except InputError:
            return None
        return found if found.solve == solve else None

    def packed(self, key: Key) -> bytes:
        """From its file, if it was not solved a moment ago."""
        if key not in self._at_hand:
            self._put_at_hand(key, dumps(ascent_in(self.folder, key)))
        return self._at_hand[key]

    def keep(self, answer: SweepAnswer, found: PointFound) -> None:
        """Write both."""
        key = answer.point, answer.serial
        if found.ascent is not None:
            write_whole("sweep", _file(self.folder, key, "ascent"), found.file)
            self._put_at_hand(key, found.ascent)
        answer.save(_file(self.folder, key, "answer"))

    def _put_at_hand(self, key: Key, ascent: bytes) -> None:
        self._at_hand[key] = ascent
        if len(self._at_hand) > _AT_HAND:
            self._at_hand.popitem(last=False)


def store_for(folder: str | Path | None, manifest: Manifest) -> Store:
    """A store in a folder, or in memory for None."""
    return MemoryStore() if folder is None else FolderStore(path_given("sweep", folder), manifest)


def ascent_in(folder: Path, key: Key) -> Ascent:
    """The ascent that a folder holds. Raises `InputError` where it holds none."""
    return Ascent.load(_file(folder, key, "ascent"))


def _file(folder: Path, key: Key, what: str) -> Path:
    point, serial = key
    return folder / f"{point:06d}-{serial}.{what}.json"
