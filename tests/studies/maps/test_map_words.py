"""What a map says of a number with a unit, and of one without."""

from __future__ import annotations

import numpy as np

from ascentopt.studies.maps.axis import Axis, axis_label, in_unit
from ascentopt.studies.maps.map_slope import slope_texts

POWER = Axis(name="power", unit="", values=np.array([0.0, 1.0, 2.0]))
SPEED = Axis(name="speed", unit="m/s", values=np.array([10.0, 11.0, 12.0]))


def test_a_number_without_a_unit_leaves_no_gap() -> None:
    cost = np.array([[3.0, 2.0, 3.0], [2.0, 1.0, 2.0], [3.0, 2.0, 3.0]])
    across, upward = slope_texts((SPEED, POWER), cost, np.zeros((3, 3)), (1, 1))
    assert across == "One off the best power costs 1.0 kg (below) or 1.0 kg (above)."
    assert upward == "One m/s off the best speed costs 1.0 kg (below) or 1.0 kg (above)."
    assert (axis_label(POWER), axis_label(SPEED)) == ("power", "speed, m/s")
    assert (in_unit(0.95, POWER), in_unit(11.0, SPEED)) == ("0.95", "11 m/s")
