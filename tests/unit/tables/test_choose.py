"""Choosing by what it costs: alone, together, and for speed."""

from __future__ import annotations

from itertools import product

import pytest

from paramc.tables import choose as choosing
from paramc.tables.choose import Choice, Fits, Known, Wanted, choose, choose_together
from paramc.tables.costs import (
    DIVIDE,
    LARGEST_TABLE,
    MULTIPLY,
    Family,
    Part,
    Routine,
    cost_of,
    routine_bytes,
)
from paramc.tables.forms import AnyTable, Form, form_of, value_at
from paramc.tables.table import FullTable
from paramc.tables.tunnel import Tunnel
from tests.unit.tables.curves import EIGHT, KINKED, TABLED, Knob, tunnel_of

families = pytest.mark.parametrize("family", list(Family), ids=lambda family: family.value)


def flash(tables: list[AnyTable], family: Family) -> int:
    costs = [cost_of(table, family) for table in tables]
    shared = {routine for cost in costs for routine in cost.routines}
    return sum(cost.data + cost.call for cost in costs) + routine_bytes(family, shared)


def offered(tunnel: Tunnel) -> list[AnyTable]:
    fits = Fits(tunnel, None)
    return [table for form in Form if (table := fits.table(form)) is not None]


@pytest.mark.slow
@families
@pytest.mark.parametrize("knob", TABLED, ids=lambda knob: knob.name)
def test_nothing_offered_is_cheaper(knob: Knob, family: Family) -> None:
    tunnel = tunnel_of(knob, 10)
    choice = choose(tunnel, family=family)
    assert flash([choice.table], family) == min(flash([table], family) for table in offered(tunnel))


@pytest.mark.slow
@families
def test_the_report_is_true(family: Family) -> None:
    """Exact where a form was fitted, and never above what it costs where it was not."""
    for knob in (EIGHT[1], EIGHT[4], KINKED):
        tunnel = tunnel_of(knob, 10)
        costs = {cost.form: cost for cost in choose(tunnel, family=family).costs}
        for table in offered(tunnel):
            cost, said = flash([table], family), costs[form_of(table)]
            assert said.flash <= cost if said.at_least else said.flash == cost
            assert said.cycles <= cost_of(table, family).cycles
        assert not costs[form_of(choose(tunnel, family=family).table)].at_least


@pytest.mark.slow
def test_together_is_cheapest_of_all_combinations() -> None:
    tunnels = [tunnel_of(knob, 10) for knob in (EIGHT[0], EIGHT[5], KINKED)]
    for family in Family:
        chosen = [choice.table for choice in choose_together([Wanted(t) for t in tunnels], family=family)]
        least = min(flash(list(one), family) for one in product(*(offered(t) for t in tunnels)))
        assert flash(chosen, family) == least


def test_an_evaluator_that_is_there_anyway_costs_nothing() -> None:
    tunnel = tunnel_of(KINKED, 10)
    divided = frozenset({
        DIVIDE, MULTIPLY, Routine(Part.KNOTS, (16, 16)),
    })  # fmt: skip
    assert form_of(choose(tunnel).table) is Form.SEGMENTS
    assert form_of(choose(tunnel, paid=divided).table) is Form.KNOTS


def test_one_tunnel_is_fitted_once(monkeypatch: pytest.MonkeyPatch) -> None:
    surveyed: list[Tunnel] = []
    survey = choosing.survey

    def counted(tunnel: Tunnel) -> object:
        surveyed.append(tunnel)
        return survey(tunnel)

    monkeypatch.setattr(choosing, "survey", counted)
    known: Known = {}
    tunnel = tunnel_of(EIGHT[0], 10)
    first = choose(tunnel, known=known)
    again = choose_together([Wanted(Tunnel(tunnel.low, tunnel.high))], known=known)
    assert [choice.table for choice in again] == [first.table] and len(surveyed) == 1
    # Two that share an evaluator may take another form than one alone.
    one, other = choose_together([Wanted(tunnel), Wanted(Tunnel(tunnel.low, tunnel.high))], known=known)
    assert one.table == other.table and len(surveyed) == 1


@families
def test_for_speed_the_fewest_cycles(family: Family) -> None:
    tunnel = tunnel_of(EIGHT[0], 10)
    table = choose(tunnel, speed=True, family=family).table
    assert isinstance(table, FullTable) and table.values == tunnel.middle()
    mixed = choose_together([Wanted(tunnel, speed=True), Wanted(tunnel)], family=family)
    assert [form_of(choice.table) is Form.FULL for choice in mixed] == [True, False]


def test_for_speed_no_table_that_a_compiler_refuses() -> None:
    wide = tunnel_of(EIGHT[5], 10)
    low, high = ([y for y in bound for _ in range(17)] for bound in (wide.low, wide.high))
    many = Tunnel(tuple(low), tuple(high))
    assert many.codes * 2 > LARGEST_TABLE[Family.AVR]
    table = choose(many, speed=True).table
    assert form_of(table) is not Form.FULL
    assert many.holds([value_at(table, k) for k in range(many.codes)])


def test_what_is_best_is_what_a_full_table_holds() -> None:
    best = tuple([3, 900, 17, 40_000] * 3)
    tunnel = Tunnel(tuple(y - 2 for y in best), tuple(y + 1 for y in best))
    choice = choose(tunnel, best=best)
    assert choice.table == FullTable(best) and isinstance(choice, Choice)
    assert choice.certificate.pieces > 1


@pytest.mark.slow
@pytest.mark.parametrize("bits", [8, 9])
def test_the_same_choice_every_time(bits: int) -> None:
    tunnels = [tunnel_of(knob, bits) for knob in TABLED]
    first, second = (choose_together([Wanted(t) for t in tunnels]) for _ in range(2))
    assert first == second
