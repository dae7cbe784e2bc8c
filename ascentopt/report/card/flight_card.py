"""One page to fly by."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.flight.results.telemetry import Readings
from ascentopt.mission.lift_off import lift_off_text
from ascentopt.report.card.knots import KnotTable, knot_table
from ascentopt.report.card.loads import loads
from ascentopt.report.card.steps import UPRIGHT, orbit_text, steps
from ascentopt.report.card.views import VIEWS, draw_pitch, draw_views
from ascentopt.report.card.waypoints import waypoints
from ascentopt.report.flown import CAUTION, Flown, Subject
from ascentopt.report.page.palette import GROUND, LIMIT
from ascentopt.report.page.sheet import A4, MARGIN, Head, Sheet
from ascentopt.report.target_orbit import lower_ground
from ascentopt.units import deg, in_places, km, kPa

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_LEFT, _RIGHT = MARGIN, A4[0] - MARGIN
_WIDE = _RIGHT - _LEFT

_TRIES = ((20, 1.0), (16, 1.0), (16, 0.92), (12, 0.92), (12, 0.84), (9, 0.76), (6, 0.68), (5, 0.6))
"""Angles to pass through and scale of the letters: the first that fits the page is taken."""

_STEPS = (
    Head("time", "s", 40.0),
    Head("", "min:s", 42.0),
    Head("altitude", "km", 46.0),
    Head("air speed", "m/s", 50.0),
    Head("inertial", "m/s", 44.0),
    Head("", "", 18.0),
    Head("event", "", 104.0, right=False),
    Head("what to do", "", _WIDE - 344.0, right=False),
)
_WAYPOINTS = (
    Head("time", "s", 44.0),
    Head("altitude", "km", 48.0),
    Head("air speed", "m/s", 52.0),
    Head("pitch", "deg", 40.0),
    Head("heading", "deg", 46.0),
    Head("path", "deg", 40.0),
    Head("q", "kPa", 44.0),
)
_KNOTS = (
    Head("time", "s", 44.0),
    Head("altitude", "km", 48.0),
    Head("pitch", "deg", 40.0),
    Head("", "", 8.0),
    Head("from here on", "", 174.0, right=False),
)
_LOADS = (
    Head("load", "", 112.0, right=False),
    Head("peak", "", 68.0),
    Head("at", "s", 38.0),
    Head("limit", "", 64.0),
    Head("share", "of limit", 52.0),
)
_CAUTION_AT = A4[1] - MARGIN - 28.0
"""Points from the top at which the caution begins: two lines above the margin."""

_AIR = 9.0
"""Points between one part of the card and the next."""

_LEAST_PLOT = 150.0
"""Points that the plot beside a table is high at least."""

_FACTS = (Head("", "", 84.0, right=False), Head("", "", 98.0, right=False))


@checked
def flight_card(subject: Subject) -> Figure:
    """Write what to do when on one page of A4, upright; nothing pops up.

    Save it with `savefig` as PDF or PNG. Steps from lift-off to the end, angles to pass through
    (of a pitch programme its knots, and what to do between them), the orbit reached and the
    propellant left, peaks beside their limits; where the page has room the way and the ground track
    with the numbers of the steps. Letters shrink and angles are left out where there are many
    steps; no text runs into another.

    Raises:
        InputError: when a page does not hold the steps even so.
    """
    from matplotlib.figure import Figure

    flown = Flown.of(subject)
    for most, scale in _TRIES:
        points, knots = waypoints(flown, most), knot_table(flown)
        parts = _Parts(_step_rows(flown), points, knots, _load_rows(flown))
        room = _CAUTION_AT - _fill(Sheet(Figure(), scale, writing=False), flown, parts)
        if room >= 0.0:
            spare = 0.0 if room > VIEWS else max(room - _AIR * scale, 0.0)
            parts = parts._replace(spare=spare)
            figure = Figure(figsize=(A4[0] / 72.0, A4[1] / 72.0))
            sheet = Sheet(figure, scale, writing=True)
            bottom = _fill(sheet, flown, parts)
            draw_views(sheet, flown, steps(flown), (bottom, _CAUTION_AT))
            _write_caution(sheet)
            return figure
    raise InputError(
        f"flight_card: the flight has {len(steps(flown))} steps, with names that leave no room for "
        "them on one page. Shorten the names of stages and boosters."
    )


class _Parts(NamedTuple):
    """Rows of the steps and of the loads; points to pass through, or the knots of a programme.

    `spare` points of height go to the plot of the pitch, where nothing else wants them.
    """

    steps: list[list[str]]
    points: list[Readings]
    knots: KnotTable | None
    loads: list[list[str]]
    spare: float = 0.0


def _fill(sheet: Sheet, flown: Flown, parts: _Parts) -> float:
    """Write all parts but the caution; points from the top of the page to their end."""
    gap = _AIR * sheet.scale
    _write_title(sheet, flown)
    sheet.cursor += gap
    sheet.heading(_LEFT, _RIGHT, "What to do")
    sheet.table(_LEFT, _STEPS, parts.steps, 8.0)
    sheet.cursor += gap
    if parts.knots is None:
        sheet.heading(_LEFT, _RIGHT, "Angles to pass through")
        _write_waypoints(sheet, flown, parts)
    else:
        sheet.heading(_LEFT, _RIGHT, "Pitch programme")
        _write_knots(sheet, flown, parts.knots, parts.spare)
    sheet.cursor += gap
    _write_end(sheet, flown, parts.loads)
    return sheet.cursor


def _write_caution(sheet: Sheet) -> None:
    """At the foot of the page."""
    sheet.cursor = _CAUTION_AT
    sheet.rule(_LEFT, _RIGHT, LIMIT, 1.2)
    sheet.cursor += 4.0
    lines = sheet.wrapped(CAUTION, _WIDE, 8.5 / sheet.scale, bold=True)
    for line in lines:
        sheet.write((_LEFT, sheet.cursor), line, 8.5 / sheet.scale, bold=True)
        sheet.cursor += sheet.line(8.5 / sheet.scale)


def _write_title(sheet: Sheet, flown: Flown) -> None:
    vehicle, mission = flown.vehicle, flown.mission
    sheet.paragraph(_LEFT, _WIDE, f"Flight card: {vehicle.name}", 15.0, bold=True)
    site = mission.site
    place = f"{site.name}, " if site.name else ""
    goal = f"Target: {mission.orbit} of {mission.body.name}; {flown.law.plan}."
    start = f"From {place}latitude {site.latitude / deg:.2f} deg, {site.altitude:.0f} m;"
    load = f"{vehicle.lift_off_mass:.0f} kg at lift-off, payload {vehicle.payload_mass:.0f} kg."
    lift_off = lift_off_text(mission)
    when = [lift_off[0].upper() + lift_off[1:] + "."] if lift_off else []
    for line in (f"{goal} Steering: {flown.name}.", f"{start} {load}", *when):
        sheet.paragraph(_LEFT, _WIDE, line, 8.5)


def _step_rows(flown: Flown) -> list[list[str]]:
    return [
        [
            f"{step.time:.1f}",
            clock_text(step.time),
            in_places(step.altitude / km, 1),
            f"{step.air_speed:.0f}",
            f"{step.speed:.0f}",
            str(number),
            step.event,
            step.action,
        ]
        for number, step in enumerate(steps(flown), start=1)
    ]


def clock_text(time: float) -> str:
    """Minutes and seconds, to the tenth."""
    tenths = round(10.0 * time)
    return f"{tenths // 600}:{(tenths % 600) / 10.0:04.1f}"


def _write_waypoints(sheet: Sheet, flown: Flown, parts: _Parts) -> None:
    top, points = sheet.cursor, parts.points
    sheet.table(_LEFT, _WAYPOINTS, [_waypoint_row(point) for point in points], 8.0)
    sheet.cursor += 2.0 * sheet.scale
    note = "Pitch and heading of the thrust; path of the motion through the air. Angles above the "
    note += "local horizon, headings from north, clockwise."
    sheet.paragraph(_LEFT, sum(h.width for h in _WAYPOINTS), note, 7.0)
    sheet.cursor += parts.spare
    shown = [point for point in points if float(point.time) <= _climb_end(flown)]
    places = [(float(point.time), float(point.pitch)) for point in shown]
    _draw_beside(sheet, flown, places, top)


def _write_knots(sheet: Sheet, flown: Flown, table: KnotTable, spare: float) -> None:
    top = sheet.cursor
    sheet.table(_LEFT, _KNOTS, table.rows, 8.0)
    sheet.cursor += 2.0 * sheet.scale
    for note in table.notes:
        sheet.paragraph(_LEFT, sum(h.width for h in _KNOTS), note, 7.0)
    sheet.cursor = max(sheet.cursor, top + _LEAST_PLOT) + spare
    _draw_beside(sheet, flown, table.places, top)


def _climb_end(flown: Flown) -> float:
    """When the first long coast begins, or the flight ends."""
    return flown.long_coasts[0].start if flown.long_coasts else flown.end


def _draw_beside(
    sheet: Sheet, flown: Flown, places: list[tuple[float, float]], top: float
) -> None:
    """The pitch in the room to the right of a table that ends at the cursor."""
    left = _LEFT + sum(head.width for head in _WAYPOINTS) + 40.0
    box = left, top + 10.0, _RIGHT - left, sheet.cursor - top - 36.0
    if sheet.writing:
        draw_pitch(sheet, flown, places, (box, _climb_end(flown)))


def _waypoint_row(point: Readings) -> list[str]:
    return [
        f"{float(point.time):.1f}",
        in_places(float(point.altitude) / km, 1),
        f"{float(point.air_speed):.0f}",
        _angle(float(point.pitch)),
        _angle(float(point.heading)) if float(point.pitch) < UPRIGHT else "-",
        _angle(float(point.air_flight_path_angle)),
        f"{float(point.dynamic_pressure) / kPa:.1f}",
    ]


def _angle(value: float) -> str:
    """Degrees to the tenth; zero has no sign."""
    return in_places(value / deg, 1)


def _write_end(sheet: Sheet, flown: Flown, rows: list[list[str]]) -> None:
    """The orbit reached on the left, the loads on the right."""
    top, middle = sheet.cursor, _WIDE - sum(head.width for head in _LOADS) + MARGIN
    sheet.heading(_LEFT, middle - 12.0, "In orbit" if flown.in_orbit else "At its end, in no orbit")
    for name, value in _facts(flown):
        sheet.row(_LEFT, _FACTS, (name, value), 8.0, GROUND)
    if (note := lower_ground(flown)):
        sheet.paragraph(_LEFT, middle - 18.0 - _LEFT, note, 7.0)
    bottom = sheet.cursor
    sheet.cursor = top
    sheet.heading(middle, _RIGHT, "Loads and their limits")
    sheet.table(middle, _LOADS, rows, 8.0)
    sheet.cursor = max(bottom, sheet.cursor)


def _facts(flown: Flown) -> list[tuple[str, str]]:
    final = Readings.of(flown.trajectory.arcs[-1].readings[-1])
    last = len(flown.trajectory.arcs) - 1
    orbit = flown.orbit_at(flown.trajectory.final_state)
    cut_off = flown.law.plan.cut_off_stage(flown.vehicle)
    ballast = flown.law.plan.ballast
    stage = flown.vehicle.stages[-1 if cut_off is None else cut_off].name
    kept, unlit = flown.sequence.reserve, flown.sequence.untouched
    return [
        (f"{flown.ending} at", f"{flown.end:.1f} s ({clock_text(flown.end)} min)"),
        ("above the ground", f"{float(final.altitude) / km:.2f} km"),
        ("inertial speed", f"{float(final.speed):.1f} m/s"),
        ("flight-path angle", f"{in_places(float(final.flight_path_angle) / deg, 3)} deg"),
        ("orbit" if flown.in_orbit else "path", orbit_text(flown, last)),
        ("inclination", f"{orbit.inclination / deg:.3f} deg"),
        ("mass", f"{float(final.mass):.1f} kg"),
        *([("of that ballast", f"{ballast:.1f} kg")] if ballast else []),
        ("propellant left", f"{in_places(flown.propellant_left, 1)} kg in {stage}"),
        *([("in stages never lit", f"{unlit:.1f} kg")] if unlit else []),
        *([("beyond a reserve", f"of {kept:.1f} kg")] if flown.mission.reserve is not None else []),
        ("propellant used", f"{flown.propellant_used:.1f} kg"),
    ]


def _load_rows(flown: Flown) -> list[list[str]]:
    rows = []
    for load in loads(flown):
        limit = "none" if load.limit is None else f"{load.limit:.4g} {load.unit}"
        rows.append([load.name, load.shown, f"{load.time:.1f}", limit, load.verdict])
    return rows
