"""How saving packs the look: by one loop over the table of rows, or by a straight line for each field."""

from __future__ import annotations

from paramc.emit.constants import unsigned
from paramc.emit.layout_rows import Row, Rows
from paramc.frozen import dataclass
from paramc.layout.layout import Kind


@dataclass(frozen=True, slots=True)
class Cost:
    """Bytes of flash on a chip, as tests/target measures them. loop: what p_pack takes more with it than
    without any field. shared: what all lines share, and the tests for the kind. line: a line with a member of
    one byte; wide: what one of two bytes takes beyond that."""

    loop: int
    shared: int
    line: int
    wide: int


AVR = Cost(loop=78, shared=34, line=16, wide=2)
"""avr-gcc -Os, ATmega328P."""

CORTEX_M0 = Cost(loop=90, shared=20, line=15, wide=0)
"""arm-none-eabi-gcc -Os, Cortex-M0."""


@dataclass(frozen=True, slots=True)
class LineView:
    """A field of the look that has a line of its own."""

    member: str
    last: str
    width: str


@dataclass(frozen=True, slots=True)
class Packing:
    """straight: by lines. loops, lines: flash of either on AVR and Cortex-M0. Lines by who has them; those of
    presets are also the last of state."""

    straight: bool
    loops: tuple[int, int]
    lines: tuple[int, int]
    setup: tuple[LineView, ...]
    state: tuple[LineView, ...]
    presets: tuple[LineView, ...]

    @property
    def text(self) -> str:
        """What was chosen, and what either costs, as a comment."""
        chosen = "A line for each field" if self.straight else "One loop over the rows"
        return (
            f"{chosen}: a loop takes {self.loops[0]} bytes on AVR and {self.loops[1]} on Cortex-M0,"
            f" lines take {self.lines[0]} and {self.lines[1]}."
        )


def packing_of(rows: Rows) -> Packing:
    """The one that takes less flash on both chips together; the loop where both are the same."""
    setup, state, presets = rows.kind(Kind.SETUP), rows.kind(Kind.STATE), rows.kind(Kind.PRESETS)
    assert state is not None and presets is not None
    of_setup = rows.rows[setup.start : setup.end] if setup else ()
    of_state = rows.rows[state.start : presets.start]
    of_presets = rows.rows[presets.start : presets.end]
    fields = (*of_setup, *of_state, *of_presets)
    loops = (AVR.loop, CORTEX_M0.loop)
    avr, m0 = (
        cost.shared + sum(cost.line + cost.wide * row.wide for row in fields) for cost in (AVR, CORTEX_M0)
    )
    return Packing(
        avr + m0 < sum(loops), loops, (avr, m0), _lines(of_setup), _lines(of_state), _lines(of_presets)
    )


def _lines(rows: tuple[Row, ...]) -> tuple[LineView, ...]:
    return tuple(LineView(row.member, unsigned(row.last), unsigned(row.width)) for row in rows)
