"""The decorators that hold arguments against annotations."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import wraps
from inspect import isfunction
from typing import Any, TypeVar, cast

from ascentopt.arguments.parameters import Parameters, Refusal
from ascentopt.errors import InputError

Target = TypeVar("Target", bound=Callable[..., Any])


def checked(target: Target) -> Target:
    """Hold the arguments of a function, or of a class, against the annotations.

    Of a class that goes for its constructor and its public methods; not for those that a base class
    declares, which are a contract that the library itself asks. Floats must be finite. What is
    called then gets Python's own numbers, and tuples for lists.

    Raises:
        InputError: when it is called, for what is missing, not known or does not fit.
    """
    return _checked(target, finite=True)


def checked_kinds(target: Target) -> Target:
    """As `checked`, for results: a number in them may be unknown (nan) or without end (inf)."""
    return _checked(target, finite=False)


def _checked(target: Target, *, finite: bool) -> Target:
    if isinstance(target, type):
        return cast(Target, _checked_class(target, finite=finite))
    return cast(Target, _call(Parameters(target.__name__, target, finite=finite), owned=0))


def _checked_class(kind: type, *, finite: bool) -> type:
    if "__init__" in vars(kind):
        own = kind.__dict__["__init__"]
        known = Parameters(kind.__name__, own, described=kind, bound=True, finite=finite)
        setattr(kind, "__init__", _constructor(known))  # noqa: B010
    for name, method in list(vars(kind).items()):
        inherited = any(name in vars(base) for base in kind.__mro__[1:])
        function = method.__func__ if isinstance(method, classmethod) else method
        if name.startswith("_") or inherited or not isfunction(function):
            continue
        owner = f"{kind.__name__}.{name}"
        call = _call(Parameters(owner, function, bound=True, finite=finite), owned=1)
        setattr(kind, name, classmethod(call) if isinstance(method, classmethod) else call)
    return kind


def _call(parameters: Parameters, *, owned: int) -> Callable[..., Any]:
    """The function, its arguments held; the first ``owned`` of them are its owner's."""
    function = parameters.function

    @wraps(function)
    def call(*given: Any, **named: Any) -> Any:
        try:
            first, rest = parameters.kept(given[owned:], named)
        except Refusal as refusal:
            raise refusal.error from None
        return function(*given[:owned], *first, **rest)

    return call


def _constructor(parameters: Parameters) -> Callable[..., None]:
    """As a method; what the class itself says of an argument that does not fit goes before."""
    made = parameters.function

    @wraps(made)
    def call(self: Any, /, *given: Any, **named: Any) -> None:
        try:
            first, rest = parameters.kept(given, named)
        except Refusal as refusal:
            raise _in_its_own_words(made, refusal, self, given, named) from None
        made(self, *first, **rest)

    return call


def _in_its_own_words(
    made: Callable[..., None],
    refusal: Refusal,
    blank: object,
    given: Sequence[Any],
    named: Mapping[str, Any],
) -> InputError:
    """What the class says of the value, by its units and examples; or else the refusal."""
    try:
        made(blank, *given, **named)
    except InputError as own:
        names_all = str(own).startswith(type(blank).__name__) and refusal.told in str(own)
        return own if refusal.told and names_all else refusal.error
    except Exception:  # noqa: BLE001 - whatever comes of what does not fit
        return refusal.error
    return refusal.error
