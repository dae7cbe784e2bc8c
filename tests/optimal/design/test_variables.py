"""A vehicle with other numbers, and what follows from them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.optimal.design.design import Aim, Design
from ascentopt.optimal.design.variables import PayloadMass, PropellantLoad, Thrust
from ascentopt.units import kN, tonne
from tests.optimal.launchers import four_phase_launcher, lander

BOTH = (PropellantLoad(part="ascent"), Thrust(part="ascent"))
LAW = ao.StructuralLaw(stage="ascent", fixed=300.0, per_propellant=0.1, per_thrust=0.01)


def test_dry_mass_follows_from_load_and_thrust() -> None:
    design = Design.least_lift_off_mass(lander(), BOTH, (LAW,))
    found = design.vehicle(lander(), np.array([4000.0, 30e3]))
    assert found.stages[0].dry_mass == pytest.approx(300.0 + 400.0 + 300.0)
    assert found.stages[0].burn_time == pytest.approx(4000.0 / (30e3 / (9.80665 * 320.0)))
    assert design.aim.worth == pytest.approx((1.1, 0.01))
    assert design.values(found) == pytest.approx([4000.0, 30e3])


def test_each_booster_counts_at_lift_off() -> None:
    vehicle = four_phase_launcher()
    design = Design.least_lift_off_mass(vehicle, (PropellantLoad(part="six"),))
    assert design.aim.worth == pytest.approx((6.0,))


@pytest.mark.parametrize(
    "engine",
    [
        ao.Engine(vacuum_thrust=40 * kN, vacuum_isp=320.0, sea_level_isp=250.0),
        ao.Engine(vacuum_thrust=40 * kN, vacuum_isp=320.0, sea_level_thrust=31 * kN),
        ao.Engine(vacuum_thrust=40 * kN, vacuum_isp=320.0, exit_area=0.09),
    ],
)
def test_a_stronger_engine_has_a_larger_nozzle(engine: ao.Engine) -> None:
    vehicle = replace(lander(), stages=(replace(lander().stages[0], engine=engine),))
    found = Thrust(part="ascent").changed(vehicle, 80 * kN).stages[0].engine
    assert found.effective_exit_area == pytest.approx(2.0 * engine.effective_exit_area)
    assert found.isp_at_sea_level == pytest.approx(engine.isp_at_sea_level)


def test_what_is_no_unknown_is_refused() -> None:
    motor = ao.SolidMotor(time=(0.0, 60.0), vacuum_thrust=(40 * kN, 30 * kN), vacuum_isp=270.0)
    solid = ao.Stage(
        name="solid", propellant_mass=motor.propellant_mass, dry_mass=0.1 * tonne, engine=motor
    )
    vehicle = replace(lander(), stages=(*lander().stages, solid))
    for variable in (PropellantLoad(part="solid"), Thrust(part="solid")):
        with pytest.raises(ao.InputError, match="solid motor"):
            variable.changed(vehicle, 1000.0)
    with pytest.raises(ao.InputError, match=r"no part 'nose'; it has \['ascent', 'solid'\]"):
        PropellantLoad(part="nose").value(vehicle)
    with pytest.raises(ao.InputError, match="0 <= lower < upper"):
        PayloadMass(lower=5.0, upper=5.0)
    with pytest.raises(ao.InputError, match="per_thrust is -1"):
        ao.StructuralLaw(stage="ascent", per_thrust=-1.0)
    aim = Aim(name="mass", unit="kg", worth=(1.0,))
    with pytest.raises(ao.InputError, match="must be unique"):
        Design(variables=(PayloadMass(), PayloadMass()), aim=aim)
    with pytest.raises(ao.InputError, match="1 entries in worth for 2"):
        Design(variables=BOTH, aim=aim)
