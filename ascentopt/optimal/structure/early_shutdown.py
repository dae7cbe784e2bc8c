"""Stages to be shut down early, since their last second breaks a limit on acceleration."""

from __future__ import annotations

from ascentopt.mission import Mission
from ascentopt.rocket import SolidMotor, Vehicle


def stages_that_must_end_early(
    vehicle: Vehicle, mission: Mission, inserting: int
) -> tuple[int, ...]:
    """Stages below the inserting one that cannot burn to their ends within the limit on thrust.

    The least thrust over the mass with which the burn would end, fairing and boosters gone.
    """
    limit = mission.limits.axial_acceleration
    if limit is None:
        return ()
    return tuple(
        index
        for index, stage in enumerate(vehicle.stages[:inserting])
        if not isinstance(stage.engine, SolidMotor)
        and stage.engine.min_throttle * stage.engine.vacuum_thrust
        > limit * (vehicle.mass_above(index) - vehicle.fairing_mass + stage.dry_mass)
    )
