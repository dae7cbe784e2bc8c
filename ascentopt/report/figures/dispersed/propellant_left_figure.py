"""The propellant that dispersed flights leave, and the reserve that covers a share of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.palette import ABOVE, GROUND, LIMIT, LOSS_FILLS, OTHERS, SOFT
from ascentopt.studies.dispersions.dispersed_flights import DispersedFlights
from ascentopt.studies.dispersions.reserve import DispersionReserve
from ascentopt.typing import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_FEWEST, _MOST = 8, 60
"""Bins: as many as the cube root of the flights asks for (D. W. Scott, Biometrika 66 (1979) 605,
from memory), within these."""


@checked
def propellant_left_figure(
    flights: DispersedFlights, *, share: float = 0.9973, confidence: float = 0.9
) -> Figure:
    """Draw how much propellant the flights leave; nothing pops up.

    Over the flights stands the normal distribution that the partials of the optimum foretell, about
    the nominal flight, and where the reserve for the share ends. Left of zero propellant is
    missing. Flights that fell leave nothing that could be drawn, and are told.

    Args:
        flights: as `disperse` returns them.
        share, confidence: of the reserve. Where the flights are too few for it none is drawn, and
            the foot says how many it takes.

    Raises:
        InputError: where all flights fell.
    """
    from matplotlib.figure import Figure

    known = flights.margins[~np.isnan(flights.margins)]
    if not len(known):
        raise InputError(
            "propellant_left_figure: all flights fell; there is nothing to draw. Let less scatter."
        )
    figure = Figure(figsize=(9.0, 5.4), layout="constrained")
    axes = figure.subplots()
    reserve, why = _reserve(flights, share, confidence)
    edges = np.histogram_bin_edges(known, _bins(known))
    _draw_flights(axes, known, edges)
    _draw_partials(axes, flights, len(known) * float(edges[1] - edges[0]), edges)
    _draw_marks(axes, flights, reserve)
    axes.set(xlabel="propellant left beyond the mission's reserve, kg", ylabel="flights")
    axes.legend(fontsize=8, **{**ABOVE, "ncols": 2})
    axes.grid(visible=True, axis="y", lw=0.4, color=SOFT, alpha=0.4)
    axes.set_axisbelow(True)
    one = flights.ascent
    write_head(
        figure,
        f"{one.vehicle.name} to {one.mission.orbit} of {one.mission.body.name}: propellant left by "
        f"{len(flights)} dispersed flights",
    )
    fell = len(flights) - len(known)
    notes = [*([f"{fell} flights fell to the ground."] if fell else []), *([why] if why else [])]
    write_foot(figure, notes)
    return figure


def _reserve(
    flights: DispersedFlights, share: float, confidence: float
) -> tuple[DispersionReserve | None, str]:
    """The reserve, or why there is none."""
    try:
        return flights.reserve(share, confidence), ""
    except InputError as refusal:
        return None, f"No reserve is drawn: {refusal}"


def _bins(known: Floats) -> int:
    spread = float(known.std())
    width = 3.5 * spread / len(known) ** (1.0 / 3.0)
    span = float(known.max() - known.min())
    return int(np.clip(span / width if width > 0.0 else _FEWEST, _FEWEST, _MOST))


def _draw_flights(axes: Axes, known: Floats, edges: Floats) -> None:
    fill = LOSS_FILLS[2]
    counts, _ = np.histogram(known, edges)
    axes.bar(edges[:-1], counts, width=np.diff(edges), align="edge", color=fill.color,
             edgecolor=GROUND, lw=0.4,
             label=f"flown: mean {known.mean():.1f} kg, sigma {known.std():.1f} kg")  # fmt: skip
    axes.set_ylim(0.0, 1.12 * float(counts.max()))


def _draw_partials(axes: Axes, flights: DispersedFlights, area: float, edges: Floats) -> None:
    """The normal distribution by the partials, of as many flights."""
    first = flights.first_order
    if first.sigma <= 0.0:
        return
    centre, stroke = flights.nominal_margin, OTHERS[0]
    far = 3.5 * first.sigma
    at = np.linspace(min(edges[0], centre - far), max(edges[-1], centre + far), 300)
    density = np.exp(-0.5 * ((at - centre) / first.sigma) ** 2) / (first.sigma * np.sqrt(2 * np.pi))
    curve = area * density
    name = f"by partials: sigma {first.sigma:.1f} kg"
    if first.without:
        name += f", without {len(first.without)} that have none"
    axes.plot(at, curve, color=stroke.color, ls=stroke.dashes, lw=1.6, label=name)
    axes.set_ylim(0.0, max(axes.get_ylim()[1], 1.12 * float(curve.max())))


def _draw_marks(axes: Axes, flights: DispersedFlights, reserve: DispersionReserve | None) -> None:
    centre = flights.nominal_margin
    axes.axvline(centre, color=GROUND, lw=1.0, label=f"nominal flight: {centre:.1f} kg")
    if reserve is not None:
        told = (
            f"reserve for {100 * reserve.share:g} % at {100 * reserve.confidence:g} %: "
            f"{reserve.mass:.1f} kg (by partials {reserve.by_partials:.1f})"
        )
        axes.axvline(centre - reserve.mass, color=LIMIT, ls="--", lw=1.6, label=told)
        axes.axvspan(centre - reserve.mass, centre, color=LIMIT, alpha=0.08, lw=0.0)
    low, high = axes.get_xlim()
    if low < 0.0 < high:
        axes.axvline(0.0, color=SOFT, ls=":", lw=1.4, label="nothing left")
