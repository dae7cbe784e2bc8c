"""The search for the best design: down from a design that flies, and again from others."""

from __future__ import annotations

from dataclasses import dataclass, field

from ascentopt.errors import InfeasibleAscent, InputError
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.studies.designs.beginnings import Beginning, other_beginnings
from ascentopt.studies.designs.first_designs import first_designs
from ascentopt.studies.designs.uncertified import no_design_certified
from ascentopt.studies.sizing.flown import FlownDesign, unlit_propellant
from ascentopt.studies.sizing.prices import Prices
from ascentopt.studies.sizing.sized import Sizing
from ascentopt.studies.sizing.steps import Certified, Steps

KEPT = 2e-5
"""Of payload and dry last stage together: what is left in the tank, lest another mesh find the
vehicle a few grams short. It costs about as much of the objective."""

CLOSE = 1e-4
"""Likewise: what another structure of the flight may leave beyond that; with more it is better, and
the search goes on from it. Of the objective: what another mesh, or beginning, may make of it."""

MOST_ROUNDS = 6
"""Descents, each from the flight that was solved for anew; one or two do."""

MOST_HALVINGS = 4
"""Times that a vehicle which leaves stages unlit is brought half of the way to its least."""

MOST_RESTARTS = 2
"""Times that the search begins again elsewhere, the second time from what the first one found."""


@dataclass(frozen=True, kw_only=True, eq=False)
class _Outcome:
    """Where a search ended.

    Attributes:
        best: the last design that was certified.
        settled: whether nothing is gained any more.
    """

    best: Certified
    settled: bool


@dataclass(eq=False)
class Search:
    """For the best design.

    Args:
        steps: what it is made of.
        beginnings: a line for each other design that it began again with.
    """

    steps: Steps
    beginnings: list[str] = field(default_factory=list)

    def so_far(self) -> Sizing | None:
        """The last vehicle that was certified; None before."""
        latest = self.steps.latest
        return None if latest is None else self._result(latest, settled=False)

    def best(self) -> Sizing:
        """The best design that was found, from the first one and from others where bounds hold it.

        Raises:
            InfeasibleAscent: where none flies.
        """
        found = self._improved(*self._begun())
        for _ in range(MOST_RESTARTS):
            elsewhere = self._better_elsewhere(found) if found.settled else None
            if elsewhere is None:
                break
            other = self._improved(*elsewhere)
            if self._gain(found.best.flown, other.best.flown) <= 0.0:
                break  # what promised to be better did not hold
            found = other
        return self._result(found.best, settled=found.settled)

    def _improved(self, flown: FlownDesign, searched: Ascent) -> _Outcome:
        """Descend, search the structures of the flight anew, and go on while that does better."""
        steps, kept, before = self.steps, self._kept(flown), None
        steps.certified(flown, searched)
        for _ in range(MOST_ROUNDS):
            flown, _ = steps.settled(steps.solved_at_once(flown, kept), kept)
            now = steps.certified(flown, searched)
            if now is not None and self._repeats(before, now):
                return _Outcome(best=now, settled=self._balanced(now))
            before = now or before
            again, searched = steps.searched(flown.values)
            gained, close = again.margin - flown.margin, CLOSE * self._empty(again)
            if gained > close:
                flown = again
                continue
            # on meshes of its own, unless the search lost the flight at hand
            lost = gained < -close and again.attempt.plan != flown.attempt.plan
            flown, settled = steps.settled(flown if lost else again, kept)
            now = steps.certified(flown, searched)
            if now is None:
                kept *= 3.0
            elif settled or self._repeats(before, now):
                return _Outcome(best=now, settled=settled or self._balanced(now))
            before = now or before
        if steps.latest is None:
            raise no_design_certified(steps.design, flown.values, flown.margin)
        return _Outcome(best=steps.latest, settled=False)

    def _repeats(self, before: Certified | None, now: Certified) -> bool:
        """Whether a design on other meshes is the same: a mesh's own noise is not descended."""
        return before is not None and abs(self._gain(before.flown, now.flown)) < CLOSE

    def _balanced(self, now: Certified) -> bool:
        """Whether prices promise nothing more; else something holds it that is no bound."""
        return self._result(now, settled=True).balanced

    def _better_elsewhere(self, found: _Outcome) -> tuple[FlownDesign, Ascent] | None:
        """The first better design that another beginning leads to; None where none does."""
        best = found.best.flown
        for beginning in other_beginnings(self.steps.design, best.values):
            self.steps.watch.begins(f"again {beginning}")
            other, searched = self._from(beginning, best)
            better = other is not None and self._gain(best, other) > CLOSE
            self._tell(beginning, other, better=better)
            if other is not None and searched is not None and better:
                return other, searched
        return None

    def _from(
        self, beginning: Beginning, best: FlownDesign
    ) -> tuple[FlownDesign | None, Ascent | None]:
        """What a beginning leads to, and what its search of structures found; None where it fails.

        Its structure is searched: that of the best flight is what led to the bounds.
        """
        steps, kept = self.steps, self._kept(best)
        try:
            there, searched = self._with_all_stages_lit(*steps.searched(beginning.values))
        except (InfeasibleAscent, InputError):
            return None, None
        there, _ = steps.descended(steps.solved_at_once(there, kept), kept)
        if there.margin >= 0.0 and self._gain(best, there) > CLOSE:
            there, _ = steps.settled(there, kept)
        return (there, searched) if there.margin >= 0.0 else (None, None)

    def _tell(self, beginning: Beginning, other: FlownDesign | None, *, better: bool) -> None:
        came = "no flight"
        if other is not None:
            design = self.steps.design
            came = f"{design.value_of(design.vehicle_at(other.values)):.6g}"
        line = f"again {beginning}: {came}{', from where the search went on' if better else ''}"
        self.beginnings.append(line)
        self.steps.note(line)

    def _gain(self, before: FlownDesign, after: FlownDesign) -> float:
        """Share of the objective by which a design is better than one before."""
        worth = self.steps.design.worth
        return float(worth @ (before.values - after.values)) / abs(float(worth @ before.values))

    def _kept(self, flown: FlownDesign) -> float:
        """Kg to be left in the tank."""
        return KEPT * self._empty(flown)

    def _empty(self, flown: FlownDesign) -> float:
        """Payload and dry last stage, kg."""
        vehicle = self.steps.design.vehicle_at(flown.values)
        return vehicle.payload_mass + vehicle.stages[-1].dry_mass

    def _begun(self) -> tuple[FlownDesign, Ascent]:
        """The first of a few designs that flies; what the first one lacks where none does."""
        first: InfeasibleAscent | InputError | None = None
        for values in first_designs(self.steps.design):
            try:
                return self._with_all_stages_lit(*self.steps.searched(values))
            except (InfeasibleAscent, InputError) as refusal:
                first = first or refusal
        if isinstance(first, InputError):
            raise first
        short = None if first is None else first.shortfall
        raise InfeasibleAscent(
            f"size: no vehicle within the bounds was found that flies. {first}", shortfall=short
        )

    def _with_all_stages_lit(
        self, flown: FlownDesign, searched: Ascent
    ) -> tuple[FlownDesign, Ascent]:
        """A lighter design, where the first one leaves stages unlit: sized so they never would be.

        The first one stands where none that is lighter lights them all.
        """
        first, design = (flown, searched), self.steps.design
        for _ in range(MOST_HALVINGS):
            if not flown.attempt.plan.unlit:
                break
            less = 0.5 * (design.lower + flown.values)
            if design.seeks_payload:
                less[-1] = flown.values[-1]
            try:
                flown, searched = self.steps.searched(less)
            except (InfeasibleAscent, InputError):
                break
        return first if flown.attempt.plan.unlit else (flown, searched)

    def _result(self, found: Certified, *, settled: bool) -> Sizing:
        flown, ascent, design = found.flown, found.ascent, self.steps.design
        prices = Prices.of(design, flown, CLOSE * self._empty(flown))
        return Sizing(
            given=design.vehicle,
            objective=design.objective,
            laws=design.laws,
            numbers=prices.numbers,
            value=design.value_of(ascent.vehicle),
            exchange=prices.exchange,
            objective_slope=prices.objective_slope,
            kept=ascent.propellant_margin - unlit_propellant(ascent.vehicle, ascent.plan),
            ascent=ascent,
            settled=settled,
            history=tuple(self.steps.history),
            beginnings=tuple(self.beginnings),
        )
