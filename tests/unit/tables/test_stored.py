"""No table is made whose fields, products or heights do not fit their words."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from paramc.tables.blocks import Blocks, fit_blocks
from paramc.tables.datum import Datum
from paramc.tables.even_grid import EvenGrid, fit_even_grid
from paramc.tables.free_knots import FreeKnots, fit_free_knots
from paramc.tables.segments import FreeSegments, fit_segments
from paramc.tables.survey import survey
from paramc.tables.tunnel import Tunnel

HERE = Datum(0, False, 16, 0)
BYTE = Datum(0, False, 8, 0)


@pytest.mark.parametrize(("make", "what"), [
    (lambda: FreeSegments(10, HERE, (0,), (0,), (65536,), 16, 8), "A slope of 65536"),
    (lambda: FreeSegments(10, HERE, (0,), (0,), (-1,), 16, 8), "A slope of -1"),
    (lambda: FreeSegments(10, HERE, (0,), (65536,), (1,), 16, 8), "A base of 65536"),
    (lambda: FreeSegments(10, HERE, (0,), (-1,), (1,), 16, 8), "A base of -1"),
    (lambda: FreeSegments(10, BYTE, (0,), (256,), (1,), 16, 8), "A base of 256"),
    (lambda: FreeSegments(300, HERE, (0,), (0,), (1,), 16, 32), "A shift of 32"),
    (lambda: FreeSegments(300, HERE, (0,), (0,), (1 << 24,), 32, 8), "A product of"),
    (lambda: FreeSegments(10, HERE, (0,), (65530,), (9,), 8, 0), "A height of 65611"),
    (lambda: FreeSegments(10, HERE, (1,), (0,), (1,), 8, 0), "do not begin"),
    (lambda: FreeSegments(10, HERE, (0, 5, 5), (0, 0, 0), (1, 1, 1), 8, 0), "do not begin"),
    (lambda: FreeSegments(600, HERE, tuple(range(257)), (0,) * 257, (0,) * 257, 8, 0), "257 pieces are more"),
    (lambda: EvenGrid(10, HERE, 4, (0, 65536)), "A knot of 65536"),
    (lambda: EvenGrid(10, HERE, 3, (0, 5)), "do not go together"),
    (lambda: EvenGrid(600, HERE, 1, tuple(range(301))), "do not go together"),
    (lambda: Blocks(10, HERE, 4, (0, 1), (0, -3)), "A knot of -3"),
    (lambda: Blocks(10, HERE, 4, (0, 256), (0, 3)), "A start of 256"),
    (lambda: Blocks(32, HERE, 4, (0, 1, 1), (0, 3)), "do not go together"),
    (lambda: Blocks(10, HERE, 4, (0, 2), (0, 3)), "do not go together"),
    (lambda: FreeKnots(HERE, (0, 9), (0, 65536)), "A height of 65536"),
    (lambda: FreeKnots(HERE, (0, 65536), (0, 1)), "A code of 65536"),
    (lambda: FreeKnots(HERE, (0, 9), (5, 4)), "not in order"),
    (lambda: FreeKnots(HERE, (0, 9, 9), (0, 1, 2)), "not in order"),
])  # fmt: skip
def test_what_does_not_fit_is_refused(make: Callable[[], object], what: str) -> None:
    with pytest.raises(ValueError, match=what):
        make()


def test_fitters_go_round_what_does_not_fit() -> None:
    """A slope of 65535 a code needs all bits of a word, and leaves none behind the point."""
    steep = survey(Tunnel.exactly([0, 65535]))
    segments = fit_segments(steep)
    assert segments is not None and max(segments.slopes) < 1 << segments.slope_width
    assert [segments.value(k) for k in (0, 1)] == [0, 65535]
    beyond = survey(Tunnel.exactly([0, 3, 4_000_000_000]))
    for table in (fit_segments(beyond), fit_even_grid(beyond), fit_blocks(beyond, wide=False)):
        assert table is not None
        assert [table.value(k) for k in range(3)] == [0, 3, 4_000_000_000]
    assert fit_free_knots(beyond) is None  # its product would need 48 bits


def test_the_last_knot_may_lie_beyond_the_word() -> None:
    """A grid of 1024 codes has its last knot at code 1024, here at 65600: it is stored modulo 2^16."""
    values = [k * 65600 // 1024 for k in range(1024)]
    assert values[-1] == 65535
    low, high = tuple(max(0, y - 1) for y in values), (*(y + 1 for y in values[:-1]), 65535)
    grid = fit_even_grid(survey(Tunnel(low, high)))
    assert grid is not None and grid.datum == HERE
    assert (grid.spacing, len(grid.knots)) == (8, 5) and grid.knots[4] < 100
    assert abs(grid.value(1023) - 65535) <= 1
