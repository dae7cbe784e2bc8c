"""Without losses sizing is optimal staging, for which there is a closed form."""

from __future__ import annotations

import pytest

import ascentopt as ao
from tests.studies.sizing.rockets import (
    NAMES,
    all_propellants,
    by_the_book,
    dotterel,
    shares,
    slab,
)


def sized(acceleration: float) -> ao.Sizing:
    vehicle = dotterel(acceleration)
    free = all_propellants(vehicle)
    return ao.size(vehicle, slab(), free=free, laws=shares(), objective=ao.LeastLiftOffMass())


def test_the_closed_form_itself() -> None:
    """Computed beforehand from the book's formulas."""
    book = by_the_book()
    assert 1e3 * book.multiplier == pytest.approx(0.467069931, abs=5e-10)
    assert book.ratios == pytest.approx((4.541951, 2.508153, 1.361301), abs=5e-7)
    assert book.steps == pytest.approx((165953.591, 18090.643, 2482.348), abs=5e-4)
    assert book.lift_off_mass == pytest.approx(191526.582, abs=5e-4)


@pytest.mark.slow
def test_sizing_comes_to_it_as_thrust_grows() -> None:
    """A burn of t seconds loses by the square of t: three times the thrust, a ninth of the loss."""
    book = by_the_book()
    weak, strong = sized(80.0), sized(240.0)
    over = [one.value / book.lift_off_mass - 1.0 for one in (weak, strong)]
    assert 0.0 < over[1] < 3e-3
    assert over[0] / over[1] == pytest.approx(9.0, rel=0.15)
    for one in (weak, strong):
        assert one.settled
        assert one.balanced
        assert one.ascent.certificate
    steps = [strong.vehicle.stages[k].mass for k in range(len(NAMES))]
    assert steps == pytest.approx(book.steps, rel=3e-3)
