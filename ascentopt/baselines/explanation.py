"""What the inputs that changed are worth by the recorded partials."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ascentopt.arguments import checked_kinds
from ascentopt.baselines.case import BaselineCase
from ascentopt.baselines.input_partials import TOGETHER
from ascentopt.baselines.inputs import Input, is_same
from ascentopt.descriptions.schema.dimensions import DIMENSIONS

PROPORTIONAL = 1e-6
"""Share by which inputs that have a partial together may differ in how much they changed."""

_UNITS = {
    **{name: unit for units in DIMENSIONS.values() for name, unit in units.items()},
    "burn_time": "s",  # what a motor's curve is told by
}
"""Of single numbers, by the last part of their names; for reading only."""


@checked_kinds
@dataclass(frozen=True, kw_only=True)
class InputChange:
    """An input that is not as it was recorded.

    Args:
        name: its place; of several that changed together by the same share, the first one's.
        along: the others' places.
        old, new: SI units; None where it is not there.
        predicted: kg that the recorded partial predicts, to first order; None without a partial.
        by_both: kg by the mean of the recorded partial and the present one, right to second order;
            None where either is missing.
    """

    name: str
    along: tuple[str, ...] = ()
    old: Input | None
    new: Input | None
    predicted: float | None = None
    by_both: float | None = None

    @property
    def unpriced(self) -> bool:
        """Whether nothing is known of what it is worth."""
        return self.predicted is None

    def __str__(self) -> str:
        names = TOGETHER.join((self.name, *self.along))
        unit = _UNITS.get(self.name.rsplit(".", 1)[-1], "")
        return f"{names} {_shown(self.old)} -> {_shown(self.new)} {unit}".rstrip()


def changes_between(recorded: BaselineCase, found: BaselineCase) -> tuple[InputChange, ...]:
    """Every input that changed, with what it is worth, those with partials first."""
    open_names = _changed_names(recorded, found)
    known: list[InputChange] = []
    for key, partial in recorded.partials.items():
        names = key.split(TOGETHER)
        by = _common_change(names, open_names, recorded, found)
        if by is not None:
            known.append(_worth(names, by, partial, found.partials.get(key), (recorded, found)))
            open_names = [name for name in open_names if name not in names]
    return (*known, *(_without_partial(name, recorded, found) for name in open_names))


def predicted(changes: tuple[InputChange, ...]) -> float:
    """Kg that all partials predict together, to first order."""
    return sum(change.predicted or 0.0 for change in changes)


def predicted_by_both(changes: tuple[InputChange, ...]) -> float | None:
    """Kg by the means of recorded and present partials; None where one is missing."""
    worths = [one.by_both for one in changes if one.predicted is not None]
    found = [worth for worth in worths if worth is not None]
    return sum(found) if found and len(found) == len(worths) else None


def _changed_names(recorded: BaselineCase, found: BaselineCase) -> list[str]:
    names = dict.fromkeys([*recorded.inputs, *found.inputs])
    pairs = ((name, recorded.inputs.get(name), found.inputs.get(name)) for name in names)
    return [name for name, old, new in pairs if not is_same(old, new)]


def _common_change(
    names: list[str], changed: list[str], recorded: BaselineCase, found: BaselineCase
) -> float | None:
    """Units by which the first of the names changed, all of them by the same share; else None."""
    if any(name not in changed for name in names):
        return None
    pairs = [(recorded.inputs.get(name), found.inputs.get(name)) for name in names]
    numbers = [
        (old, new)
        for old, new in pairs
        if isinstance(old, int | float) and isinstance(new, int | float)
    ]
    if len(numbers) < len(names):
        return None
    first_old, first_new = numbers[0]
    by = first_new - first_old
    # Shares compared without a division, since an input may be zero.
    alike = (
        abs((new - old) * first_old - by * old) <= PROPORTIONAL * abs(by * old)
        for old, new in numbers[1:]
    )
    return by if all(alike) else None


def _worth(
    names: list[str],
    by: float,
    partial: float,
    now: float | None,
    cases: tuple[BaselineCase, BaselineCase],
) -> InputChange:
    recorded, found = cases
    name, *along = names
    return InputChange(
        name=name,
        along=tuple(along),
        old=recorded.inputs.get(name),
        new=found.inputs.get(name),
        predicted=partial * by,
        by_both=None if now is None else 0.5 * (partial + now) * by,
    )


def _without_partial(name: str, recorded: BaselineCase, found: BaselineCase) -> InputChange:
    """A name costs nothing; what else has no partial may cost anything."""
    free = 0.0 if name.endswith(".name") else None
    old, new = recorded.inputs.get(name), found.inputs.get(name)
    return InputChange(name=name, old=old, new=new, predicted=free, by_both=free)


def _shown(value: Input | None) -> str:
    if value is None:
        return "none"
    if isinstance(value, tuple):
        return f"[{', '.join(f'{number:g}' for number in value)}]"
    return repr(value) if isinstance(value, str) else f"{value:.10g}"


def signed(mass: float, decimals: int) -> str:
    """Kilograms with their sign; what is rounded to nothing has a plus."""
    return f"{round(mass, decimals) + 0.0:+.{decimals}f}"


def lines(changes: tuple[InputChange, ...], decimals: int) -> Iterator[str]:
    """A line for each input that changed."""
    for change in changes:
        told = "has no partial" if change.predicted is None else "predicts "
        worth = "" if change.predicted is None else signed(change.predicted, decimals)
        yield f"{change} {told}{worth}"
