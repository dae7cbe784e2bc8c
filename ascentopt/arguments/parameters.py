"""What a function or a constructor takes, and what it is given held against it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property
from inspect import Parameter, signature
from types import SimpleNamespace
from typing import Any, get_type_hints

from ascentopt.arguments.annotations import kind_of
from ascentopt.arguments.kinds import Anything, Kind, Misfit
from ascentopt.errors import InputError
from ascentopt.telling import nearest, told


class Refusal(Exception):
    """An argument that is refused.

    Args:
        error: for whoever called.
        told: the text of the value that does not fit; empty where a name does not.
    """

    def __init__(self, error: InputError, told: str = "") -> None:
        super().__init__(str(error))
        self.error, self.told = error, told


class Parameters:
    """The parameters of a function, or of a class's constructor, as its annotations say.

    Annotations are evaluated when they are first needed: modules may then name each other.

    Args:
        owner: what errors call it.
        function: what is called.
        described: whose annotations count: the function, or the class that it makes objects of.
        bound: whether its first parameter is the object or the class.
        finite: whether floats must be finite.
    """

    def __init__(
        self,
        owner: str,
        function: Callable[..., Any],
        *,
        described: type | None = None,
        bound: bool = False,
        finite: bool = True,
    ) -> None:
        self.owner = owner
        self.function, self._described = function, described
        self._bound, self._finite = bound, finite

    @cached_property
    def _all(self) -> list[Parameter]:
        return list(signature(self.function).parameters.values())[self._bound :]

    @cached_property
    def positional(self) -> tuple[str, ...]:
        """Names of those that may be given by position."""
        kinds = {Parameter.POSITIONAL_ONLY, Parameter.POSITIONAL_OR_KEYWORD}
        return tuple(one.name for one in self._all if one.kind in kinds)

    @cached_property
    def needed(self) -> frozenset[str]:
        """Names of those that have no default."""
        many = {Parameter.VAR_POSITIONAL, Parameter.VAR_KEYWORD}
        own = (one for one in self._all if one.kind not in many)
        return frozenset(one.name for one in own if one.default is Parameter.empty)

    @cached_property
    def kinds(self) -> dict[str, Kind]:
        """What fits each name."""
        hints = self._hints()
        return {
            one.name: kind_of(hints[one.name], finite=self._finite)
            if one.name in hints
            else Anything()
            for one in self._all
            if one.kind is not Parameter.VAR_POSITIONAL
        }

    @cached_property
    def further(self) -> Kind | None:
        """What fits more arguments by position; None where there may be none."""
        named = [one.name for one in self._all if one.kind is Parameter.VAR_POSITIONAL]
        return kind_of(self._hints()[named[0]], finite=self._finite) if named else None

    def _hints(self) -> dict[str, Any]:
        if self._described is not None:
            return get_type_hints(self._described, include_extras=True)
        own = {k: v for k, v in self.function.__annotations__.items() if k != "return"}
        scope = getattr(self.function, "__globals__", {})
        shown = SimpleNamespace(__annotations__=own)
        return get_type_hints(shown, globalns=scope, include_extras=True)

    def kept(
        self, given: Sequence[Any], named: Mapping[str, Any]
    ) -> tuple[list[Any], dict[str, Any]]:
        """Arguments as they are kept. Raises `Refusal`."""
        by_name = dict(zip(self.positional, given, strict=False)) if given else {}
        if len(given) > len(by_name) and self.further is None:
            raise Refusal(self._by_position(given))
        if named:
            if by_name and not by_name.keys().isdisjoint(named):
                raise Refusal(self._twice(next(iter(by_name.keys() & named.keys())), named))
            by_name.update(named)
        if not self.needed <= by_name.keys() or not by_name.keys() <= self._known:
            raise Refusal(self._misnamed(by_name))
        self._keep_all(by_name)
        if not given:
            return [], by_name
        first = [by_name.pop(name) for name in self.positional[: len(given)]]
        return first + self._kept_further(given[len(first) :]), by_name

    def _keep_all(self, given: dict[str, Any]) -> None:
        """Put what is kept in place of what is given."""
        kinds = self.kinds
        for name, value in given.items():
            kind = kinds[name]
            if type(value) in kind.sure:
                continue
            try:
                kept = kind.keep(value)
            except Misfit as misfit:
                raise self._refused(name, misfit, given) from None
            if kept is not value:
                given[name] = kept

    @cached_property
    def _known(self) -> frozenset[str]:
        return frozenset(self.kinds)

    def _kept_further(self, given: Sequence[Any]) -> list[Any]:
        try:
            return [self.further.keep(one) for one in given] if self.further is not None else []
        except Misfit as misfit:
            raise self._refused(f"argument {len(self.positional) + 1}", misfit, {}) from None

    def _refused(self, name: str, misfit: Misfit, given: Mapping[str, Any]) -> Refusal:
        owner, other = self._called(given), self._exchanged(name, given)
        fix = misfit.fix
        if other is not None:
            fix = f"It looks exchanged with {other}, {told(given[other])}: exchange the two."
        shown = told(misfit.value)
        text = f"{owner}: {name}{misfit.place} is {shown}; it must be {misfit.rule}. {fix}"
        return Refusal(InputError(text), shown)

    def _exchanged(self, name: str, given: Mapping[str, Any]) -> str | None:
        """Another argument that fits here while this one fits there, and not each at home."""
        for other, value in given.items():
            if other == name or isinstance(self.kinds[other], Anything):
                continue
            at_home = self.kinds[other].fits(value)
            crossed = self.kinds[name].fits(value) and self.kinds[other].fits(given[name])
            if crossed and not at_home:
                return other
        return None

    def _called(self, given: Mapping[str, Any]) -> str:
        name = given.get("name") if self._described is not None else None
        return f"{self.owner} {name!r}" if isinstance(name, str) and name.strip() else self.owner

    def _misnamed(self, given: Mapping[str, Any]) -> InputError:
        owner = self._called(given)
        unknown = [name for name in given if name not in self.kinds]
        missing = [name for name in self.kinds if name in self.needed and name not in given]
        if not unknown:
            return InputError(
                f"{owner}: {missing[0]} is missing; it must be given. Add {missing[0]}=..., "
                f"{self.kinds[missing[0]].rule}."
            )
        free = [name for name in self.kinds if name not in given]
        near = nearest(unknown[0], free) or nearest(unknown[0], self.kinds)
        fix = f"Did you mean {near}? Write that." if near else "Leave it out."
        return InputError(
            f"{owner}: {unknown[0]} is {told(given[unknown[0]])}, but there is no such argument; "
            f"it must be one of {', '.join(self.kinds) or 'none'}. {fix}"
        )

    def _twice(self, name: str, named: Mapping[str, Any]) -> InputError:
        return InputError(
            f"{self.owner}: {name} is {told(named[name])}, but it is given by position too; it "
            "must be given once. Leave one of them out."
        )

    def _by_position(self, given: Sequence[Any]) -> InputError:
        count = len(self.positional)
        rule = f"at most {count} may be given without a name" if count else "all must be named"
        return InputError(
            f"{self.owner}: argument {count + 1} is {told(given[count])}; {rule}. "
            f"Write {self.owner}({', '.join(f'{name}=...' for name in self.kinds)})."
        )
