"""Import paths of classes, those that were saved before they moved as well."""

from __future__ import annotations

import importlib
from collections.abc import Mapping
from dataclasses import is_dataclass
from types import FunctionType
from typing import Any

from ascentopt.errors import InputError

PACKAGE = "ascentopt."

# Where modules and classes went whose names stand in files that were saved before they moved, and
# what classes are called now that had another name.
MOVED = {
    "flight.budget": "flight.results.budget",
    "flight.ending": "flight.guidance.ending",
    "flight.events": "flight.results.events",
    "flight.exceeded": "flight.results.excess",
    "flight.orbiting": "flight.orbit.orbiting",
    "flight.results.limit_check:Excess": "flight.results.excess",
    "flight.simulate": "flight.results.flight",
    "flight.trajectory": "flight.results.trajectory",
    "optimal.ascent": "optimal.result.ascent",
    "optimal.ascent:Candidate": "optimal.result.candidate",
    "optimal.candidate": "optimal.attempt",
    "optimal.certificate": "optimal.result.certificate",
    "optimal.prices:NoPrice": "optimal.result.partials:NoPartial",
    "optimal.prices:Price": "optimal.result.partials:Partial",
    "optimal.prices:Prices": "optimal.result.partials:Partials",
    "optimal.result.ascent:Candidate": "optimal.result.candidate",
    "optimal.result.prices:NoPrice": "optimal.result.partials:NoPartial",
    "optimal.result.prices:Price": "optimal.result.partials:Partial",
    "optimal.result.prices:Prices": "optimal.result.partials:Partials",
    "rules.parameter": "rules.laws.parameter",
    "steering.tabulated:SteeringSegment": "steering.table.segment",
    "studies.comparison": "studies.comparison.comparison",
    "studies.cost_map": "studies.maps.cost_map",
    "studies.cost_map:Axis": "studies.maps.axis",
    "studies.max_payload": "studies.payload.greatest",
    "studies.outcome": "studies.comparison.outcome",
    "studies.simpler": "studies.simplify.simpler",
    "studies.way_home": "studies.deorbit.way_home",
}

# Fields that had another name in files saved before, by the class as it is called now.
_RENAMED_FIELDS = {"optimal.result.ascent:Ascent": {"prices": "partials"}}


def by_present_names(kind: type, own: Mapping[str, Any]) -> dict[str, Any]:
    """Fields of a class by the names that they have now; others as they are."""
    renamed = _RENAMED_FIELDS.get(import_path(kind).removeprefix(PACKAGE), {})
    return {renamed.get(name, name): value for name, value in own.items()}


def import_path(kind: type | FunctionType) -> str:
    """Module and qualified name."""
    return f"{kind.__module__}:{kind.__qualname__}"


def find_ours(name: str, base: type | None) -> Any:
    """A dataclass (or, with ``base``, an enum) that the named module itself defines.

    A file may come from anywhere: nothing but our own frozen descriptions and results is made from
    it, and no function is ever called by name.
    """
    module, _, qualified = name.partition(":")
    plain = all(part.isidentifier() and not part.startswith("__") for part in module.split("."))
    if not module.startswith(PACKAGE) or not plain:
        raise InputError(f"persistence: {name!r} is not a class of this package. Refused.")
    own_name, own_module = name.removeprefix(PACKAGE), module.removeprefix(PACKAGE)
    place, _, renamed = MOVED.get(own_name, MOVED.get(own_module, own_module)).partition(":")
    module, qualified = PACKAGE + place, renamed or qualified
    found = getattr(importlib.import_module(module), qualified, None)
    own = found if isinstance(found, type) and found.__module__ == module else object
    if is_dataclass(own) if base is None else issubclass(own, base):
        return own
    raise InputError(f"persistence: {name!r} is not a class that is ever saved. Refused.")


def same_path(one: str, other: str) -> bool:
    """Whether two import paths may be of one class: a script's own module is called __main__."""
    (module, _, name), (module2, _, name2) = one.partition(":"), other.partition(":")
    return name == name2 and (module == module2 or "__main__" in {module, module2})
