"""Expressions without the lookups in them, so that derivatives cost what the arithmetic costs.

A call within a scalar expression is a lookup: a function of one number that picks several, which
are constant between its jumps. Here the results and the arguments of lookups become symbols of
their own. The rest is differentiated by these as well, and the chain rule joins the parts: much
less work than to carry the derivatives of an altitude through everything that depends on it.
"""

from __future__ import annotations

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

    def result(self, function: ca.Function) -> Expr:
        """The symbols that stand for the results of a function called with this argument."""
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
        symbols, column = ca.vertcat(ca.SX(0, 1), *ca.symvar(value)), ca.densify(value)
        code = _Code.of(ca.Function("column", [symbols], [column]))
        return code.lifted(symbols) if code.arguments else cls(column, ())

    def jacobian(self, variable: Expr) -> Expr:
        """Derivative of the value."""
        if not self.lookups:
            return ca.jacobian(self.value, variable)
        own = ca.jacobian(self.value, self._with_symbols(variable))
        return self._restored(own @ self._tangents(variable))

    def hessian(self, weight: Expr, variable: Expr) -> Expr:
        """Second derivative of weight . value.

        With the symbols as variables that are tied to their arguments, it is the second derivative
        of the Lagrangian along the tangents of the ties; a multiplier is the slope at its symbol.
        """
        if not self.lookups:
            return ca.hessian(ca.dot(weight, self.value), variable)[0]
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


@dataclass(frozen=True, eq=False)
class _Code:
    """A function of one column, operation by operation; to walk its expressions takes far longer.

    Attributes:
        steps: operation, places that it reads, places that it writes (-1: nowhere).
        arguments: of the calls, in order: which step makes each.
        size: number of places.
    """

    function: ca.Function
    steps: list[tuple[int, list[int], list[int]]]
    arguments: dict[int, int]
    size: int

    @classmethod
    def of(cls, function: ca.Function) -> _Code:
        """Read a function's operations."""
        steps = [
            (function.instruction_id(k), list(function.instruction_input(k)),
             list(function.instruction_output(k)))
            for k in range(function.n_instructions())
        ]  # fmt: skip
        makers: dict[int, int] = {}
        arguments: dict[int, int] = {}
        for k, (operation, given, taken) in enumerate(steps):
            if operation == ca.OP_CALL:
                arguments[k] = makers[given[0]]
            if operation != ca.OP_OUTPUT:
                makers |= dict.fromkeys(taken, k)
        return cls(function, steps, arguments, function.sz_w())

    def lifted(self, symbols: Expr) -> Lifted:
        """Do the operations again, with symbols for what calls take and give."""
        nodes = self.function.instructions_sx()
        entries: list[Expr] = [ca.SX(0)] * self.function.numel_out(0)
        work: list[Expr] = [ca.SX(0)] * (self.size + 1)
        wanted, lookups = set(self.arguments.values()), dict[int, Lookup]()
        for k, (operation, given, taken) in enumerate(self.steps):
            if operation == ca.OP_OUTPUT:
                entries[taken[1]] = work[given[0]]
            elif operation == ca.OP_CALL:
                results = lookups[self.arguments[k]].result(nodes[k].which_function())
                for place, result in zip(taken, ca.vertsplit(results), strict=True):
                    work[place] = result  # what nobody reads has the last place
            elif operation == ca.OP_INPUT:
                work[taken[0]] = symbols[given[1]]
            elif operation == ca.OP_CONST:
                work[taken[0]] = nodes[k]
            else:
                build = ca.SX.unary if len(given) == 1 else ca.SX.binary
                work[taken[0]] = build(operation, *(work[place] for place in given))
            if k in wanted:
                lookups[k] = Lookup(work[taken[0]], ca.SX.sym("argument"))
                work[taken[0]] = lookups[k].symbol
        return Lifted(_column(entries), tuple(lookups.values()))
