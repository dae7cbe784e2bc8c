"""A pitch programme of knots, as someone flies it: the third kind of rows of a flight card."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ascentopt.flight.results.telemetry import Readings
from ascentopt.report.card.steps import UPRIGHT
from ascentopt.report.card.waypoints import passing
from ascentopt.report.flown import Flown
from ascentopt.steering.formulas import PitchProgramme
from ascentopt.steering.knots import Knots, knots_of
from ascentopt.steering.pitch_table import Against
from ascentopt.steering.programme import Programme
from ascentopt.steering.throttling import ThrottleProgramme
from ascentopt.units import STANDARD_GRAVITY, deg, in_places, km, kPa

_SAME = 0.05 * deg
"""rad. What a card shows no difference of."""


@dataclass(frozen=True, kw_only=True)
class KnotTable:
    """What the card says of a programme.

    Attributes:
        rows: of the table: time, altitude, pitch, nothing, and what to do from there on.
        places: time in s and pitch in rad of each knot that the flight passes.
        notes: below the table.
    """

    rows: list[list[str]]
    places: list[tuple[float, float]]
    notes: list[str]


def knot_table(flown: Flown) -> KnotTable | None:
    """The programme of a flight; None where it was not steered by knots."""
    knots = _knots(flown)
    if knots is None:
        return None
    passed = [_passed(flown, knots.against, at) for at in knots.abscissae]
    places = [
        (float(there.time), pitch)
        for there, pitch in zip(passed, knots.pitches, strict=True)
        if there is not None
    ]
    rows = [*_tip_over(flown, knots), *_turns(knots, passed), *_last_burn(flown)]
    return KnotTable(rows=rows, places=places, notes=[*_notes(knots), *_throttle(flown)])


def _knots(flown: Flown) -> Knots | None:
    law = flown.law
    if not isinstance(law, Programme) or len(law.steps) < 2:
        return None
    first = law.steps[0].formula
    if not isinstance(first, PitchProgramme) or first.heading is None:
        return None
    return knots_of(law.steps)[0]


def _passed(flown: Flown, against: Against, at: float) -> Readings | None:
    """Where a flight passes a knot; None where it does not."""
    track = flown.trajectory
    if against is Against.TIME:
        return track.at(at) if 0.0 <= at <= flown.end else None
    if not track.altitude[0] < at < track.altitude.max():
        return None
    (time,) = passing(flown, np.array([at]), track.altitude)
    return track.at(float(time))


def _tip_over(flown: Flown, knots: Knots) -> Iterator[list[str]]:
    """The pitch that is held from the end of the vertical rise to the first knot."""
    rises = [k for k, arc in enumerate(flown.sequence.arcs) if arc.rise is not None]
    pitch = knots.pitches[0]
    if not rises or pitch > UPRIGHT:
        return
    end = Readings.of(flown.trajectory.arcs[rises[-1]].readings[-1])
    yield _row(end, pitch, f"tip over at once to {_degrees(pitch)} deg and hold")


def _turns(knots: Knots, passed: list[Readings | None]) -> Iterator[list[str]]:
    """What to do from each knot on."""
    size, unit = (1.0, "deg/s") if knots.against is Against.TIME else (km, "deg per km")
    for there, (here, following) in zip(passed, pairwise([*knots.pairs, None]), strict=False):
        if here is None:
            continue
        text = "hold until the cut-off"
        if following is not None:
            rate = (following[1] - here[1]) / deg / ((following[0] - here[0]) / size)
            way = "down" if rate < 0.0 else "up"
            text = f"turn {way} evenly, {abs(rate):.2f} {unit}, to {_degrees(following[1])} deg"
            if abs(following[1] - here[1]) < _SAME:
                text = "hold"
        yield _row(there, here[1], text, knots.against, here[0])


def _row(
    there: Readings | None,
    pitch: float,
    text: str,
    against: Against = Against.TIME,
    at: float = 0.0,
) -> list[str]:
    """A row; of a knot that the flight does not pass only what it counts is known."""
    time = "-" if there is None else f"{float(there.time):.1f}"
    height = "-" if there is None else f"{float(there.altitude) / km:.2f}"
    if there is None and against is Against.TIME:
        time = f"{at:.1f}"
    if there is None and against is Against.ALTITUDE:
        height = f"{at / km:.2f}"
    return [time, height, _degrees(pitch), "", text]


def _last_burn(flown: Flown) -> Iterator[list[str]]:
    """Pitch on the arcs that are steered in their own way."""
    law = flown.law
    own = {name for name, _ in law.by_arc} if isinstance(law, Programme) else set()
    for stretch in flown.stretches:
        arc = flown.sequence.arcs[stretch.first]
        if stretch.burning and arc.name in own:
            start = Readings.of(flown.trajectory.arcs[stretch.first].readings[0])
            yield _row(start, float(start.pitch), f"hold through {arc.name}")


def _notes(knots: Knots) -> Iterator[str]:
    counted = "the clock" if knots.against is Against.TIME else "the altimeter"
    yield (
        f"Pitch of the thrust above the local horizon, a straight line against {counted} from knot "
        "to knot. Heading as at the pitch-over till the flight leans, then in its own plane."
    )


def _throttle(flown: Flown) -> Iterator[str]:
    """Knots of the throttle, and the loads for which it is turned down."""
    law = flown.law
    programme = law.throttling if isinstance(law, Programme) else None
    if programme is None or not any(arc.kind.throttled for arc in flown.sequence.arcs):
        return
    if min(programme.throttles) < 1.0:
        size, unit = (1.0, "s") if programme.against is Against.TIME else (km, "km")
        pairs = zip(programme.abscissae, programme.throttles, strict=True)
        told = ", ".join(f"{100.0 * share:.0f} % at {at / size:.1f} {unit}" for at, share in pairs)
        yield f"Throttle, straight between: {told}."
    yield from _kept(programme)


def _kept(programme: ThrottleProgramme) -> Iterator[str]:
    if programme.acceleration is not None:
        yield f"Throttle down to keep within {programme.acceleration / STANDARD_GRAVITY:.2f} g."
    if programme.dynamic_pressure is not None:
        yield f"Throttle down to keep q within {programme.dynamic_pressure / kPa:.1f} kPa."


def _degrees(pitch: float) -> str:
    return in_places(pitch / deg, 1)
