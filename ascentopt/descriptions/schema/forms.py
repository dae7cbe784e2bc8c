"""Which keys a table may have: read off the descriptions, so that a new field is never forgotten.

A form is a way to describe an object by keys: mostly a dataclass with its fields. Where there are
several for one key (an engine or a solid motor), the keys that are given say which one is meant.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, is_dataclass, replace
from functools import lru_cache
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from ascentopt.descriptions.schema.dimensions import DIMENSIONS
from ascentopt.world import Atmosphere, Body, earth, mars, moon

NAMED: dict[type, dict[str, Callable[[], Any]]] = {
    Body: {"earth": earth, "mars": mars, "moon": moon},
    Atmosphere: {"standard 1976": Atmosphere.standard_1976},
}
"""What may be given by its name alone."""


@dataclass(frozen=True)
class Kind:
    """What may stand at a key.

    Args:
        plain: of `float`, `int`, `bool` and `str` those that may.
        column: whether a list of numbers may.
        objects: dataclasses of which one may.
        items: a dataclass of which a list may; None = it may not.
        optional: whether the text "none" may.
    """

    plain: tuple[type, ...]
    column: bool
    objects: tuple[type, ...]
    items: type | None
    optional: bool


@dataclass(frozen=True)
class Field:
    """A key of a form.

    Args:
        kind: what may stand there.
        si: unit of the SI of its number or numbers; None where there are none.
        default: what it is when left out; `inspect.Parameter.empty` where it may not be.
    """

    kind: Kind
    si: str | None
    default: Any

    @property
    def required(self) -> bool:
        """Whether it may not be left out."""
        return self.default is inspect.Parameter.empty


@dataclass(frozen=True)
class Form:
    """A way to describe an object by keys.

    Args:
        name: what is made.
        make: makes it of the keys.
        fields: the keys.
        afterwards: what is done in turn to what was made, by those keys that are not for `make`.
    """

    name: str
    make: Callable[..., Any]
    fields: Mapping[str, Field]
    afterwards: Mapping[str, Callable[[Any, Any], Any]] = field(default_factory=dict)

    def made(self, values: Mapping[str, Any]) -> Any:
        """The object. Raises `InputError`, as its class does."""
        first = {name: one for name, one in values.items() if name not in self.afterwards}
        made = self.make(**first)
        for name, change in self.afterwards.items():
            made = change(made, values[name]) if name in values else made
        return made

    @property
    def columns(self) -> tuple[str, ...]:
        """The keys of its table, which may be in a file of its own."""
        return tuple(name for name, one in self.fields.items() if one.kind.column)

    @property
    def required(self) -> frozenset[str]:
        """The keys that may not be left out."""
        return frozenset(name for name, one in self.fields.items() if one.required)


@lru_cache(maxsize=64)
def form_of(kind: type[Any]) -> Form:
    """The form of a dataclass with all its fields."""
    return Form(kind.__name__, kind, _fields(kind))


@lru_cache(maxsize=64)
def forms_of(kind: type) -> tuple[Form, ...]:
    """All ways to describe an object of a dataclass."""
    if kind is not Atmosphere:
        return (form_of(kind),)
    full = form_of(kind)
    made = Atmosphere.exponential, Atmosphere.tabulated, Atmosphere.sounding
    return (*(_constructor(one) for one in made), full)


def changing(kind: type, base: Any) -> Form:
    """The form of a table that changes an object: all keys are free, and what they change."""
    own = {name: replace(one, default=None) for name, one in form_of(kind).fields.items()}
    changes = _CHANGES_OF_AIR if kind is Atmosphere else {}
    fields = {**own, **{name: _change_field(name) for name in changes}}
    as_it_is = {name: getattr(base, name) for name in own}
    # Made anew and not by `replace`: what a file says of it may be a slip, and is warned of.
    return Form(kind.__name__, lambda **new: kind(**{**as_it_is, **new}), fields, changes)


def _constructor(make: Callable[..., Any]) -> Form:
    """A constructor of atmospheres; what changes the air is given beside its arguments."""
    beside = {name: _change_field(name) for name in _CHANGES_OF_AIR}
    fields = {**_fields(make), **beside}
    return Form(f"Atmosphere, {make.__name__}", make, fields, _CHANGES_OF_AIR)


_CHANGES_OF_AIR: dict[str, Callable[[Any, Any], Any]] = {
    "temperature_offset": Atmosphere.with_temperature_offset,
    "density_factor": Atmosphere.with_density_scaled,
    "wind": Atmosphere.with_wind,
    "name": lambda air, name: replace(air, name=name),
}


def _change_field(name: str) -> Field:
    """Of a key that changes air; it may be left out."""
    full = form_of(Atmosphere).fields
    if name in full:
        return replace(full[name], default=None)
    change = _CHANGES_OF_AIR[name]
    _, own = _fields(change).values()  # the air, and what it is given
    return replace(own, default=None)


def _fields(of: Callable[..., Any]) -> dict[str, Field]:
    """The parameters of a class or function."""
    hints = get_type_hints(of if isinstance(of, type) else inspect.unwrap(of))
    known = DIMENSIONS.get(of, {})
    factories = {
        name: one.default_factory
        for name, one in getattr(of, "__dataclass_fields__", {}).items()
        if callable(one.default_factory)
    }
    return {
        name: Field(
            kind_of(hints.get(name, Atmosphere)),  # without a hint: the object of a method
            known.get(name),
            factories[name]() if name in factories else given.default,
        )
        for name, given in inspect.signature(of).parameters.items()
    }


@lru_cache(maxsize=64)
def kind_of(hint: Any) -> Kind:
    """What a type hint of a description allows."""
    members = get_args(hint) if get_origin(hint) in {Union, UnionType} else (hint,)
    lists = [get_args(one)[0] for one in members if _is_list(one)]
    return Kind(
        plain=tuple(one for one in members if one in {float, int, bool, str}),
        column=float in lists,
        objects=tuple(one for one in members if is_dataclass(one) and isinstance(one, type)),
        items=next((one for one in lists if isinstance(one, type) and is_dataclass(one)), None),
        optional=type(None) in members,
    )


def _is_list(hint: Any) -> bool:
    origin = get_origin(hint)
    return isinstance(origin, type) and issubclass(origin, Iterable) and origin is not dict


def described(root: type) -> list[Form]:
    """All forms that the description of a dataclass may hold, its own first."""
    found: dict[type, tuple[Form, ...]] = {}
    waiting = [root]
    while waiting:
        kind = waiting.pop(0)
        if kind in found:
            continue
        found[kind] = forms_of(kind)
        waiting += [one for form in found[kind] for one in _below(form)]
    return [form for forms in found.values() for form in forms]


def _below(form: Form) -> Sequence[type]:
    kinds = [one.kind for one in form.fields.values()]
    below = [one for kind in kinds for one in kind.objects]
    return below + [kind.items for kind in kinds if kind.items is not None]
