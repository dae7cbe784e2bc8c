"""What a sweep's folder says of the sweep that it holds."""

from __future__ import annotations

from dataclasses import dataclass, fields
from hashlib import sha256
from json import dumps
from typing import ClassVar, Self

from ascentopt.errors import InputError
from ascentopt.mission import Mission
from ascentopt.optimal.optimize import Effort
from ascentopt.optimal.perturbations import Case
from ascentopt.persistence import SavedResult, differences, encode, library
from ascentopt.rocket import Vehicle
from ascentopt.studies.sweep.points.grid import SweptName, SweptPoints
from ascentopt.telling import told


@dataclass(frozen=True, eq=False, kw_only=True)
class Manifest(SavedResult):
    """Vehicle, mission, effort and points, and by which version they are solved.

    ``digests`` are of the vehicle and mission of each point: a function of a user's own may make
    others of the same values.
    """

    by: str
    vehicle: Vehicle
    mission: Mission
    effort: Effort
    names: tuple[SweptName, ...]
    shape: tuple[int, ...]
    values: tuple[tuple[object, ...], ...]
    digests: tuple[str, ...]

    _form: ClassVar = "begun sweep"

    @classmethod
    def of(cls, case: Case, effort: Effort, points: SweptPoints) -> Self:
        """The manifest of a sweep that is to be begun."""
        return cls(
            by=library(),
            vehicle=case.vehicle,
            mission=case.mission,
            effort=effort,
            names=points.names,
            shape=points.shape,
            values=points.values,
            digests=tuple(map(_digest, points.cases)),
        )

    def check_same(self, folder: str, other: Manifest) -> None:
        """Refuse to go on with another sweep. Raises `InputError` with the first difference."""
        for field in fields(self):
            kept, given = getattr(self, field.name), getattr(other, field.name)
            for place, there, here in differences(kept, given, field.name):
                raise InputError(
                    f"sweep: store {folder!r} holds another sweep: {place} is {told(there)} there "
                    f"and {told(here)} here; they must be the same. Give another folder, or what "
                    "the sweep was begun with."
                )


def _digest(case: Case | InputError) -> str:
    if isinstance(case, InputError):
        return "refused"
    text = dumps([encode(case.vehicle), encode(case.mission)], sort_keys=True)
    return sha256(text.encode()).hexdigest()[:16]
