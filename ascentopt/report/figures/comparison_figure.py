"""The optimum beside the rules of thumb."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.report.flown import first_shown
from ascentopt.report.page.bars import ROW, name_bars
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.palette import AIR, FLIGHT, GROUND, LIMIT, OPTIMUM, OTHERS, Stroke
from ascentopt.report.page.sheet import wrapped
from ascentopt.studies.comparison.comparison import Comparison
from ascentopt.studies.comparison.outcome import RuleOutcome
from ascentopt.units import deg, km, kPa

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 11.0
"""Inches of the figure."""

_AFTER = 30.0
"""s of a long coast that are drawn."""

_QUIET = 0.004
"""Share of the greatest dynamic pressure below which its panel has nothing more to show."""

_HABIT = "#b9c6d6"


def comparison_figure(comparison: Comparison) -> Figure:
    """Draw what the rules of thumb do and what they cost beside the optimum; nothing pops up.

    Curves: the optimum and the cheapest flight of each rule (the first six of them) that reaches
    the orbit, to the first coast of more than ten minutes. Bars: the penalty of every flight that
    reaches it. Those that do not are listed in words.
    """
    from matplotlib.figure import Figure

    reached = [one for one in comparison.outcomes if one.penalty is not None]
    failures = list(_failures(comparison))
    heights = [6.6, ROW * len(reached) + 1.4, 0.165 * len(failures) + 0.15]
    figure = Figure(figsize=(WIDTH, sum(heights) + 0.6), layout="constrained")
    curves, bars, words = figure.subfigures(3, 1, squeeze=False, height_ratios=heights)[:, 0]
    panels = curves.subplot_mosaic([["path", "path"], ["pitch", "load"]])
    _draw_curves([panels[name] for name in ("path", "pitch", "load")], comparison)
    _draw_penalties(bars.add_subplot(), comparison, reached)
    words.text(0.012, 0.98, "\n".join(failures), ha="left", va="top", fontsize=8, color=GROUND,
               parse_math=False)  # fmt: skip
    best = comparison.ascent
    write_head(
        figure,
        f"{best.vehicle.name} to {best.mission.orbit} of {best.mission.body.name}: rules of thumb "
        "beside the least propellant",
    )
    write_foot(figure)
    return figure


class _Curve(NamedTuple):
    """A flight to draw, as far as it is drawn."""

    name: str
    stroke: Stroke
    track: Trajectory

    @property
    def shown(self) -> np.ndarray:
        """Mask of the samples that are drawn."""
        shown: np.ndarray = self.track.time <= first_shown(self.track, _AFTER)
        return shown


def _curves(comparison: Comparison) -> Iterator[_Curve]:
    """The optimum, then the cheapest flight of each rule."""
    yield _Curve("least propellant", OPTIMUM, comparison.ascent.trajectory)
    cheapest: dict[str, RuleOutcome] = {}
    for one in comparison.outcomes:
        if one.flight is not None:
            cheapest.setdefault(one.rule, one)
    for stroke, one in zip(OTHERS, cheapest.values(), strict=False):
        if one.flight is not None:
            yield _Curve(one.name, stroke, one.flight.trajectory)


def _draw_curves(panels: list[Axes], comparison: Comparison) -> None:
    path, pitch, load = panels
    curves = list(_curves(comparison))
    for curve in reversed(curves):
        track, shown = curve.track, curve.shown
        style: dict[str, Any] = {
            "color": curve.stroke.color,
            "ls": curve.stroke.dashes,
            "lw": curve.stroke.width,
        }
        path.plot(track.downrange[shown] / km, track.altitude[shown] / km,
                  label=curve.name, **style)  # fmt: skip
        pitch.plot(track.time[shown], track.pitch[shown] / deg, **style)
        load.plot(track.time[shown], track.dynamic_pressure[shown] / kPa, **style)
    path.set(xlabel="downrange distance along the surface, km", ylabel="altitude, km")
    pitch.set(xlabel="time since lift-off, s", ylabel="pitch of the thrust, deg", xlim=(0.0, None))
    load.set(xlabel="time since lift-off, s", ylabel="dynamic pressure, kPa")
    path.set(xlim=(0.0, None), ylim=(0.0, None))
    handles, names = path.get_legend_handles_labels()
    path.legend(handles[::-1], names[::-1], fontsize=8, loc="lower right", framealpha=0.9)
    _draw_ceiling(path, comparison)
    _draw_limit(load, comparison, curves)


def _draw_ceiling(axes: Axes, comparison: Comparison) -> None:
    air = comparison.ascent.mission.body.atmosphere
    if air is not None:
        axes.axhspan(0.0, air.ceiling / km, color=AIR, lw=0, zorder=0)


def _draw_limit(axes: Axes, comparison: Comparison, curves: list[_Curve]) -> None:
    """Show the part of the flight with any dynamic pressure, and its limit."""
    peak = max(float(np.nanmax(curve.track.dynamic_pressure)) for curve in curves)
    ends = [
        float(c.track.time[c.shown & (c.track.dynamic_pressure >= _QUIET * peak)].max())
        for c in curves
    ]
    limit = comparison.ascent.mission.limits.dynamic_pressure
    top = peak / kPa
    if limit is not None:
        top = max(top, limit / kPa)
        axes.axhline(limit / kPa, color=LIMIT, lw=1.1, ls="-.")
        axes.text(0.99, limit / kPa, f"limit {limit / kPa:.4g} kPa", ha="right", va="bottom",
                  fontsize=8, color=LIMIT, transform=axes.get_yaxis_transform())  # fmt: skip
    axes.set(xlim=(0.0, 1.05 * max(ends)), ylim=(0.0, max(1.15 * top, 1e-3)))


def _draw_penalties(axes: Axes, comparison: Comparison, reached: list[RuleOutcome]) -> None:
    """Bars in kg, with the share of the optimum's margin above."""
    if not reached:
        axes.axis("off")
        axes.text(0.5, 0.5, "No rule of thumb reaches the orbit.", ha="center", fontsize=10)
        return
    penalties = np.array([one.penalty or 0.0 for one in reached])
    colors = [FLIGHT if one.tuned else _HABIT for one in reached]
    hatches = ["" if one.tuned else "//" for one in reached]
    axes.barh(range(len(reached)), penalties, height=0.6, color=colors, hatch=hatches,
              edgecolor=GROUND, lw=0.5)  # fmt: skip
    reach = max(float(penalties.max()), 1.0)
    axes.set_xlim(
        min(0.0, float(penalties.min())),
        (1.7 if any(one.broken for one in reached) else 1.5) * reach,
    )
    name_bars(axes, [one.name for one in reached])
    for row, one in enumerate(reached):
        text, color = _penalty_text(one)
        place = max(float(penalties[row]), 0.0) + 0.01 * reach
        axes.text(place, row, text, va="center", fontsize=8, color=color)
    axes.set_xlabel("propellant beyond the least, kg (plain: tuned; hatched: by habit)")
    margin = comparison.ascent.propellant_margin
    if margin > 0.0:
        one_per_cent = margin / 100.0
        share = axes.secondary_xaxis(
            "top",
            functions=(
                lambda kg: np.asarray(kg, dtype=float) / one_per_cent,
                lambda part: np.asarray(part, dtype=float) * one_per_cent,
            ),
        )
        share.set_xlabel(f"share of the {margin:.0f} kg that the optimum leaves, %")


def _penalty_text(one: RuleOutcome) -> tuple[str, str]:
    text = f"{one.penalty:.1f} kg"
    if one.penalty_of_margin is not None:
        text += f", {100.0 * one.penalty_of_margin:.1f} % of the margin"
    if not one.broken:
        return text, GROUND
    broken = "\n".join(f"beyond: {excess}" for excess in one.broken)
    return f"{text}\n{broken}", LIMIT


def _failures(comparison: Comparison) -> Iterator[str]:
    """Lines that say which rules do not reach the orbit, and why."""
    for one in comparison.outcomes:
        if one.penalty is None:
            why = one.remark or "no reason is known"
            yield from wrapped(f"No orbit: {one.name}: {why}.", 72.0 * 0.95 * WIDTH, 8.0)
