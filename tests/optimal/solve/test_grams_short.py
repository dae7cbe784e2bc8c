"""A tank that only a fine mesh finds some grams too small."""

from __future__ import annotations

from dataclasses import replace

import pytest

import ascentopt as ao
from tests.launchers import HERON_SPIT, PHALAROPE

STRONGER = {"first": 354955.0, "second": 29257.8}  # N


def grams_short(payload: float = 524.58) -> ao.Vehicle:
    """Phalarope with engines that lift 13 g less, 1 kg/kN heavier or lighter for it."""
    stages = []
    for one in PHALAROPE.stages:
        assert isinstance(one.engine, ao.Engine)
        thrust = STRONGER[one.name]
        dry = one.dry_mass + 1e-3 * (thrust - one.engine.vacuum_thrust)
        engine = replace(one.engine, vacuum_thrust=thrust)
        stages.append(replace(one, dry_mass=dry, engine=engine))
    return replace(PHALAROPE, payload_mass=payload, stages=stages)


@pytest.mark.slow
def test_it_is_refused_by_how_much_is_missing() -> None:
    """It ended in the search for an arc of no length in a flight that there was not."""
    with pytest.raises(ao.InfeasibleAscent) as refused:
        ao.optimize(grams_short(), HERON_SPIT)
    assert refused.value.shortfall is not None
    assert 0.0 < refused.value.shortfall < 1.0
