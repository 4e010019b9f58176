"""Choosing each table's form, by what all of them together cost, since evaluators are shared."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import combinations
from typing import Final, assert_never

from paramc.frozen import dataclass
from paramc.tables.blocks import fit_blocks
from paramc.tables.certificate import Certificate
from paramc.tables.costs import (
    LARGEST_TABLE,
    Cost,
    Family,
    Routine,
    cost_of,
    least_call,
    least_evaluators,
    routine_bytes,
)
from paramc.tables.even_grid import fit_even_grid
from paramc.tables.forms import AnyTable, Form, data_bytes
from paramc.tables.free_knots import fit_free_knots
from paramc.tables.linear import fit_linear
from paramc.tables.offset_table import fit_offsets
from paramc.tables.segments import fit_segments
from paramc.tables.survey import NO_LIMIT, Ground, survey
from paramc.tables.table import FullTable
from paramc.tables.tunnel import Tunnel

# These need no shared evaluator.
_ALONE: Final = (Form.LINEAR, Form.FULL, Form.OFFSETS)
_SHARING: Final = (Form.GRID, Form.BLOCKS, Form.WIDE_BLOCKS, Form.SEGMENTS, Form.KNOTS)
# Tried first, since what it costs cuts the search in slower forms short.
_LIKELY: Final = (Form.GRID, Form.BLOCKS)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a table is to give. best: the integers that a full table stores, legal ones, one a code; without
    them those in the middle of the tunnel. speed: the fewest cycles count, not the fewest bytes."""

    tunnel: Tunnel
    best: tuple[int, ...] | None = None
    speed: bool = False


@dataclass(frozen=True, slots=True)
class FormCost:
    """What one form would cost: flash of its data, its call and its evaluators, and mean time.

    at_least: it was not fitted, since even a bound from below is above what was chosen.
    """

    form: Form
    flash: int
    cycles: int
    at_least: bool


@dataclass(frozen=True, slots=True)
class Choice:
    """The table chosen, the lower bound that it is measured against, and what each form that could do it
    costs, its evaluators counted in full even where another table has them too."""

    table: AnyTable
    certificate: Certificate
    costs: tuple[FormCost, ...]


class Fits:
    """The forms of one tunnel, each fitted when it is first asked for.

    Within what bounds it was looked for changes nothing in the table that is found.
    """

    def __init__(self, tunnel: Tunnel, best: tuple[int, ...] | None) -> None:
        assert best is None or tunnel.holds(best)
        self.survey = survey(tunnel)
        self._best = best or self.survey.tunnel.middle()
        self._made: dict[Form, AnyTable | None] = {}
        self._none_up_to: dict[Form, int] = {}

    def table(self, form: Form, most: int = NO_LIMIT) -> AnyTable | None:
        """The table of a form with the fewest bytes of data, at most `most`; None where there is none."""
        if form not in self._made:
            if most <= self._none_up_to.get(form, -1):
                return None
            table = self._fit(form, most)
            if table is None and most < NO_LIMIT:
                self._none_up_to[form] = most
                return None
            self._made[form] = table
        made = self._made[form]
        return made if made is not None and data_bytes(made) <= most else None

    def least_data(self, form: Form) -> int | None:
        """The bytes of data that a form needs at least; None where it cannot be."""
        codes = self.survey.tunnel.codes
        match form:
            case Form.LINEAR:
                return 0 if self.survey.certificate.pieces == 1 else None
            case Form.FULL:
                return codes
            case Form.OFFSETS:
                return codes + 1
            case _:
                leasts = (_least_data(form, codes, ground) for ground in self.survey.grounds)
                return min((least for least in leasts if least is not None), default=None)

    def _fit(self, form: Form, most: int) -> AnyTable | None:
        match form:
            case Form.LINEAR:
                return fit_linear(self.survey.tunnel, self.survey.certificate)
            case Form.FULL:
                return FullTable(self._best)
            case Form.OFFSETS:
                return fit_offsets(self._best)
            case Form.GRID:
                return fit_even_grid(self.survey, most=most)
            case Form.BLOCKS:
                return fit_blocks(self.survey, wide=False, most=most)
            case Form.WIDE_BLOCKS:
                return fit_blocks(self.survey, wide=True, most=most)
            case Form.SEGMENTS:
                return fit_segments(self.survey, most=most)
            case Form.KNOTS:
                return fit_free_knots(self.survey, most=most)
            case other:
                assert_never(other)


def _least_data(form: Form, codes: int, ground: Ground) -> int | None:
    """The bytes of data that a form with an evaluator needs at least on a ground; None where it cannot be."""
    pieces, word, start = ground.certificate.pieces, ground.datum.width // 8, 1 if codes <= 256 else 2
    match form:
        case Form.GRID:
            return (pieces + 1) * word
        case Form.BLOCKS:
            blocks = -(-codes // 256)
            return blocks + 1 + (max(pieces, blocks) + 1) * word
        case Form.WIDE_BLOCKS:
            return 2 + (pieces + 1) * word if codes > 256 else None
        case Form.SEGMENTS:
            return pieces * (start + word + 1)
        case Form.KNOTS:
            return (pieces + 1) * (start + word) if codes > 1 and word < 4 else None
        case Form.LINEAR | Form.FULL | Form.OFFSETS:
            raise AssertionError(form)
        case other:
            assert_never(other)


Known = dict[tuple[Tunnel, tuple[int, ...] | None], Fits]
"""What was fitted in this run; the caller's, handed in again so that no tunnel is fitted twice."""


def choose(
    tunnel: Tunnel,
    *,
    best: tuple[int, ...] | None = None,
    speed: bool = False,
    family: Family = Family.AVR,
    paid: frozenset[Routine] = frozenset(),
    known: Known | None = None,
) -> Choice:
    """The cheapest table for one tunnel. paid: routines that the program has anyway."""
    [choice] = choose_together([Wanted(tunnel, best, speed)], family=family, paid=paid, known=known)
    return choice


def choose_together(
    wanted: Sequence[Wanted],
    *,
    family: Family = Family.AVR,
    paid: frozenset[Routine] = frozenset(),
    known: Known | None = None,
) -> tuple[Choice, ...]:
    """The tables that together take the fewest bytes of flash; of those that want speed, each the fastest.

    Every set of forms with an evaluator is tried, each table then taking the form that adds least to it;
    a set is left as soon as a bound from below says that it cannot win, mostly before anything is fitted.
    """
    known = {} if known is None else known
    offers = [_Offer(_fits(one, known), family) for one in wanted]
    chosen = {at: offers[at].fastest() for at, one in enumerate(wanted) if one.speed}
    paid |= {routine for table in chosen.values() for routine in cost_of(table, family).routines}
    slow = [at for at, one in enumerate(wanted) if not one.speed]
    sets = [
        (least_evaluators(forms, family, paid), [offers[at].least(forms) for at in slow], forms)
        for forms in _subsets()
    ]
    fewest, best = NO_LIMIT, dict[int, AnyTable]()
    for evaluators, leasts, forms in sorted(sets, key=lambda one: (one[2] != _LIKELY, one[0] + sum(one[1]))):
        bound, taken = evaluators + sum(leasts), dict[int, AnyTable]()
        for at, least in zip(slow, leasts, strict=True):
            if bound >= fewest:
                break
            table = offers[at].smallest(forms, fewest - bound + least)
            if table is None:
                break
            taken[at] = table
            bound += _alone(table, family) - least
        else:
            total = _flash(taken.values(), family, paid)
            if total < fewest:
                fewest, best = total, taken
    chosen |= best
    return tuple(offer.choice(chosen[at]) for at, offer in enumerate(offers))


def _fits(wanted: Wanted, known: Known) -> Fits:
    key = wanted.tunnel, wanted.best
    if key not in known:
        known[key] = Fits(*key)
    return known[key]


def _subsets() -> Iterator[tuple[Form, ...]]:
    for count in range(len(_SHARING) + 1):
        yield from combinations(_SHARING, count)


def _alone(table: AnyTable, family: Family) -> int:
    cost = cost_of(table, family)
    return cost.data + cost.call


def _flash(tables: Iterable[AnyTable], family: Family, paid: frozenset[Routine]) -> int:
    costs = [cost_of(table, family) for table in tables]
    routines = {routine for cost in costs for routine in cost.routines}
    return sum(cost.data + cost.call for cost in costs) + routine_bytes(family, routines - paid)


class _Offer:
    """What the forms of one tunnel cost on one family, as far as this choice has asked."""

    def __init__(self, fits: Fits, family: Family) -> None:
        self._fits, self._family = fits, family
        # Kept here and not read from the fits, so that a report never tells what earlier choices have asked.
        self._costs: dict[Form, Cost | None] = {}
        self._none_up_to: dict[Form, int] = {}
        self._linear = self._table(Form.LINEAR, NO_LIMIT)

    def least(self, forms: Iterable[Form]) -> int:
        """The least bytes, data and call, of a table that is alone or of one of these forms."""
        if self._linear is not None:
            forms = ()
        return min(
            cost.data + cost.call for form in (*_ALONE, *forms) if (cost := self._bound(form)) is not None
        )

    def smallest(self, forms: Iterable[Form], below: int) -> AnyTable | None:
        """The table of fewest bytes, data and call, that is alone or of one of these forms; None where it
        would not be below so many.

        A linear rule wins at once: all that another form could save is a few bytes of its call.
        """
        if self._linear is not None:
            return self._linear
        return self._best((*_ALONE, *forms), lambda cost: (cost.data + cost.call, cost.cycles), below)

    def fastest(self) -> AnyTable:
        """The table of fewest cycles, and of fewest bytes among those."""
        table = self._best(tuple(Form), lambda cost: (cost.cycles, cost.data + cost.call), NO_LIMIT)
        assert table is not None
        return table

    def choice(self, table: AnyTable) -> Choice:
        """A table that was chosen, beside what the other forms cost."""
        costs = []
        for form in Form:
            cost = self._bound(form)
            if cost is not None:
                known = form in self._costs
                shared = (
                    routine_bytes(self._family, cost.routines)
                    if known
                    else least_evaluators([form], self._family, frozenset())
                )
                costs.append(FormCost(form, cost.data + cost.call + shared, cost.cycles, not known))
        return Choice(table, self._fits.survey.certificate, tuple(costs))

    def _best(
        self, forms: Iterable[Form], rank: Callable[[Cost], tuple[int, int]], below: int
    ) -> AnyTable | None:
        """The best by a rank of which data and call are a part, both together below so many bytes."""
        best: tuple[tuple[int, int], AnyTable] | None = None
        bounds = [
            (rank(bound), bound.call, form) for form in forms if (bound := self._bound(form)) is not None
        ]
        largest = LARGEST_TABLE[self._family]
        # What is known first, then by lower bounds, so that forms which cannot win any more are never fitted.
        for least, call, form in sorted(bounds, key=lambda one: (one[2] not in self._costs, one[0])):
            if best is not None and least >= best[0]:
                continue
            most = below - 1 - call
            table = self._table(form, most if most < largest else NO_LIMIT)
            if table is None or data_bytes(table) > largest:
                continue
            cost = cost_of(table, self._family)
            if best is None or rank(cost) < best[0]:
                best = rank(cost), table
                if rank(cost)[0] == cost.data + cost.call:
                    # What is no smaller may still be faster.
                    below = min(below, rank(cost)[0] + 1)
        if best is not None:
            return best[1]
        return self._table(Form.FULL, NO_LIMIT) if below > largest else None

    def _table(self, form: Form, most: int) -> AnyTable | None:
        """The table of a form of at most so many bytes of data, and what is known of it from now on."""
        table = self._fits.table(form, most)
        if table is not None:
            self._costs[form] = cost_of(table, self._family)
        elif most >= NO_LIMIT:
            self._costs[form] = None
        elif form not in self._costs:
            self._none_up_to[form] = max(most, self._none_up_to.get(form, -1))
        return table

    def _bound(self, form: Form) -> Cost | None:
        """What a form costs, or at least costs as long as it is not fitted; None where there is none."""
        if form in self._costs:
            return self._costs[form]
        data = self._fits.least_data(form)
        if data is None:
            return None
        return Cost(max(data, self._none_up_to.get(form, -1) + 1), *least_call(form, self._family))
