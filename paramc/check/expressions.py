"""Expressions as written: their names and functions, and values for which they have no answer."""

from __future__ import annotations

from collections.abc import Collection
from fractions import Fraction
from typing import assert_never

from paramc.check.expression_rules import EXPRESSION_ARGUMENTS, EXPRESSION_NAME, EXPRESSION_TOO_DEEP
from paramc.check.nearest import Nearest
from paramc.check.words import listed, short
from paramc.model import expression as model
from paramc.model.answers import DEEPEST
from paramc.model.expression import Expression, Function
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic
from paramc.text.source import Span


def read_expression(
    node: nodes.Expression, owner: str, known: Collection[str], found: list[Diagnostic]
) -> Expression | None:
    """What an expression means; None beside a stop. owner: 'engine of param "Bend"'. known: the names that
    it may use."""
    told: list[Diagnostic] = []
    _check(node, owner, known, told)
    if not told:
        made = _made(node)
        if model.depth(made) <= DEEPEST:
            return made
        sentence = f"The expression in the {owner} is nested more than {DEEPEST} deep."
        shallower = f"Write it with at most {DEEPEST} brackets, functions and signs inside each other."
        told.append(Diagnostic(EXPRESSION_TOO_DEEP, sentence, node.span, try_=shallower))
    found.extend(told)
    return None


def expression_text(node: nodes.Expression) -> str:
    """An expression on one line, with no more brackets than it needs; as it was typed where it is flawed."""
    told: list[Diagnostic] = []
    _check(node, "", {model.VALUE}, told)
    return short(" ".join(node.span.text.split())) if told else model.written(_made(node))


def held_from(node: nodes.Expression, place: Span, least: Fraction) -> nodes.Expression:
    """The expression with what has no answer at a place held from falling below a number by max: a divisor,
    the base of a power, what a function is taken of."""
    if node.span == place:
        match node:
            case nodes.Power(parts=(base, *exponents)):
                return nodes.Power(node.span, (_held(base, least), *exponents))
            case nodes.Call(function=word, arguments=arguments):
                return nodes.Call(node.span, word, tuple(_held(part, least) for part in arguments))
            case _:
                return _held(node, least)
    match node:
        case nodes.Number() | nodes.Name():
            return node
        case nodes.Negated(value=value):
            return nodes.Negated(node.span, held_from(value, place, least))
        case nodes.Sum(terms=marked):
            return nodes.Sum(node.span, tuple((sign, held_from(part, place, least)) for sign, part in marked))
        case nodes.Factors(factors=marked):
            held = tuple((sign, held_from(part, place, least)) for sign, part in marked)
            return nodes.Factors(node.span, held)
        case nodes.Power(parts=parts):
            return nodes.Power(node.span, tuple(held_from(part, place, least) for part in parts))
        case nodes.Call(function=word, arguments=arguments):
            held_all = tuple(held_from(part, place, least) for part in arguments)
            return nodes.Call(node.span, word, held_all)
        case other:
            assert_never(other)


def _held(node: nodes.Expression, least: Fraction) -> nodes.Expression:
    return nodes.Call(node.span, Function.MAX.value, (node, nodes.Number(node.span, least)))


def _check(node: nodes.Expression, owner: str, known: Collection[str], found: list[Diagnostic]) -> None:
    left: list[nodes.Expression] = [node]
    while left:
        here = left.pop()
        match here:
            case nodes.Name(text=text) if text not in known:
                found.append(_unknown(here, owner, known))
            case nodes.Call(function=word, arguments=arguments):
                if not Function(word).takes(len(arguments)):
                    found.append(_miscounted(here, owner))
            case _:
                pass
        left.extend(reversed(_inside(here)))


def _unknown(node: nodes.Name, owner: str, known: Collection[str]) -> Diagnostic:
    sentence = f"The expression in the {owner} names {short(node.text)}, and it knows {listed(known)} alone."
    nearest = Nearest(known).to(node.text) or next(iter(known))
    return Diagnostic(EXPRESSION_NAME, sentence, node.span, try_=nearest)


def _miscounted(node: nodes.Call, owner: str) -> Diagnostic:
    several = node.function in (Function.MIN.value, Function.MAX.value)
    wants = "two numbers or more" if several else "one number"
    given = "one" if len(node.arguments) == 1 else str(len(node.arguments))
    sentence = f"In the expression of the {owner} {node.function} takes {wants}, not {given}."
    first = expression_text(node.arguments[0])
    return Diagnostic(
        EXPRESSION_ARGUMENTS, sentence, node.span, try_=first if several else f"{node.function}({first})"
    )


def _inside(node: nodes.Expression) -> tuple[nodes.Expression, ...]:
    match node:
        case nodes.Number() | nodes.Name():
            return ()
        case nodes.Negated(value=value):
            return (value,)
        case nodes.Sum(terms=marked) | nodes.Factors(factors=marked):
            return tuple(part for _, part in marked)
        case nodes.Power(parts=parts):
            return parts
        case nodes.Call(arguments=arguments):
            return arguments
        case other:
            assert_never(other)


def _made(node: nodes.Expression) -> Expression:
    """The same with each subtraction as a negated term and each division as a reciprocal factor."""
    place = node.span
    match node:
        case nodes.Number(value=value):
            return model.Number(value, place)
        case nodes.Name(text=text):
            return model.Name(text, place)
        case nodes.Negated(value=value):
            return model.Negated(_made(value), place)
        case nodes.Sum(terms=terms):
            return model.Sum(
                tuple(_made(term) if adds else model.Negated(_made(term), term.span) for adds, term in terms),
                place,
            )
        case nodes.Factors(factors=factors):
            return model.Factors(
                tuple(_made(f) if times else model.Reciprocal(_made(f), f.span) for times, f in factors),
                place,
            )
        case nodes.Power(parts=parts):
            return _power(parts)
        case nodes.Call(function=word, arguments=arguments):
            return model.Call(Function(word), tuple(map(_made, arguments)), place)
        case other:
            assert_never(other)


def _power(parts: tuple[nodes.Expression, ...]) -> Expression:
    """Powers are taken from the right."""
    made = _made(parts[-1])
    for base in reversed(parts[:-1]):
        made = model.Power(_made(base), made, base.span.to(parts[-1].span))
    return made
