"""Expressions without the lookups in them, so that derivatives cost what the arithmetic costs.

A call within a scalar expression is a lookup: a function of one number that picks several, which
are constant between its jumps. Here the results and the arguments of lookups become symbols of
their own. The rest is differentiated by these as well, and the chain rule joins the parts: much
less work than to carry the derivatives of an altitude through everything that depends on it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import casadi as ca

from ascentopt.typing import Expr


@dataclass(frozen=True, eq=False)
class Lookup:
    """``symbol`` stands for ``argument``, and each of ``picked`` for a function's results there.

    The argument holds symbols of lookups before this one, never of later ones.
    """

    argument: Expr
    symbol: Expr
    picked: list[tuple[ca.Function, Expr]] = field(default_factory=list)

    def result(self, call: Expr) -> Expr:
        """The symbols that stand for the results of a call at this argument."""
        function = call.which_function()
        for known, symbols in self.picked:
            if known.name() == function.name():
                return symbols
        self.picked.append((function, ca.SX.sym("picked", function.numel_out(0))))
        return self.picked[-1][1]


@dataclass(frozen=True, eq=False)
class Lifted:
    """A column ``value`` with the symbols of ``lookups`` in the place of what they stand for."""

    value: Expr
    lookups: tuple[Lookup, ...]

    @classmethod
    def of(cls, value: Expr) -> Lifted:
        """Lift the lookups out of a column."""
        entries = [value[k] for k in range(value.numel())]
        nodes = list(_nodes(entries))
        arguments = {_key(node.dep(0)) for node in nodes if node.is_call()}
        new: dict[int, Expr] = {}
        lookups: dict[int, Lookup] = {}
        for node in nodes:
            key = _key(node)
            if not node.is_call():
                new[key] = _rebuilt(node, new, lookups)
            if key in arguments:
                lookups[key] = Lookup(new[key], ca.SX.sym("argument"))
                new[key] = lookups[key].symbol
        column = _column([new[_key(entry)] for entry in entries])
        return cls(column, tuple(lookups.values()))

    def jacobian(self, variable: Expr) -> Expr:
        """Derivative of the value."""
        own = ca.jacobian(self.value, self._with_symbols(variable))
        return self._restored(own @ self._tangents(variable))

    def hessian(self, weight: Expr, variable: Expr) -> Expr:
        """Second derivative of weight . value.

        With the symbols as variables that are tied to their arguments, it is the second derivative
        of the Lagrangian along the tangents of the ties; a multiplier is the slope at its symbol.
        """
        ties = ca.SX.sym("tie", len(self.lookups))
        arguments = _column([lookup.argument for lookup in self.lookups])
        lagrangian = ca.dot(weight, self.value) + ca.dot(ties, arguments)
        second, slope = ca.hessian(lagrangian, self._with_symbols(variable))
        tangents = self._tangents(variable)
        # The slope at a symbol holds the multipliers of later ties only.
        slopes = slope[variable.numel() :]
        multipliers = [slopes[k] for k in range(len(self.lookups))]
        for k in reversed(range(len(multipliers))):
            known = _column([*([ca.SX(0)] * (k + 1)), *multipliers[k + 1 :]])
            multipliers[k] = ca.substitute(multipliers[k], ties, known)
        found = tangents.T @ second @ tangents
        return self._restored(ca.substitute(found, ties, _column(multipliers)))

    def _with_symbols(self, variable: Expr) -> Expr:
        return ca.vertcat(variable, *(lookup.symbol for lookup in self.lookups))

    def _tangents(self, variable: Expr) -> Expr:
        """Derivative of the variable and of the symbols by the variable."""
        rows, within = ca.SX.eye(variable.numel()), variable
        for lookup in self.lookups:
            rows = ca.vertcat(rows, ca.jacobian(lookup.argument, within) @ rows)
            within = ca.vertcat(within, lookup.symbol)
        return rows

    def _restored(self, expression: Expr) -> Expr:
        """The expression with the symbols replaced by what they stand for."""
        symbols, meanings = ca.SX(0, 1), ca.SX(0, 1)
        for lookup in self.lookups:
            argument = ca.substitute(lookup.argument, symbols, meanings)
            symbols = ca.vertcat(symbols, lookup.symbol, *(own for _, own in lookup.picked))
            results = [function(argument) for function, _ in lookup.picked]
            meanings = ca.vertcat(meanings, argument, *results)
        return ca.substitute(expression, symbols, meanings)


def _column(parts: list[Expr]) -> Expr:
    return ca.vertcat(ca.SX(0, 1), *parts)


def _key(node: Expr) -> int:
    return int(node.element_hash())


def _nodes(roots: list[Expr]) -> Iterator[Expr]:
    """Every scalar that the roots are made of, once, and after those that it is made of itself."""
    seen: set[int] = set()
    stack = [(root, False) for root in reversed(roots)]
    while stack:
        node, parts_done = stack.pop()
        if parts_done:
            yield node
        elif _key(node) not in seen:
            seen.add(_key(node))
            stack.append((node, True))
            stack += [(node.dep(k), False) for k in range(node.n_dep())]


def _rebuilt(node: Expr, new: dict[int, Expr], lookups: dict[int, Lookup]) -> Expr:
    """The same scalar of new parts."""
    if node.is_output():
        call = node.dep(0)
        return lookups[_key(call.dep(0))].result(call)[node.which_output()]
    if node.n_dep() == 0:
        return node
    parts = [new[_key(node.dep(k))] for k in range(node.n_dep())]
    return ca.SX.unary(node.op(), *parts) if len(parts) == 1 else ca.SX.binary(node.op(), *parts)
