"""How saving packs the look: by the loop over the table of rows that unpacks, or by a line for each field."""

from __future__ import annotations

from paramc.emit.constants import unsigned
from paramc.emit.layout_rows import Row, Rows, rows_of
from paramc.frozen import dataclass
from paramc.layout.layout import Kind, Layout


@dataclass(frozen=True, slots=True)
class Cost:
    """Bytes of flash on a chip, as tests/target measures them. loop: what the loop that unpacks takes more to
    pack as well. shared: what all lines share, and the tests for the kind. line: a line with a member of one
    byte; wide: what one of two bytes takes beyond that."""

    loop: int
    shared: int
    line: int
    wide: int


AVR = Cost(loop=88, shared=74, line=18, wide=2)
"""avr-gcc -Os, ATmega328P."""

CORTEX_M0 = Cost(loop=64, shared=35, line=15, wide=0)
"""arm-none-eabi-gcc -Os, Cortex-M0."""


@dataclass(frozen=True, slots=True)
class LineView:
    """A field of the look that has a line of its own."""

    member: str
    last: str
    width: str


@dataclass(frozen=True, slots=True)
class Packing:
    """straight: by lines. vacant: not so, whatever it takes, as codes are not in use. loops, lines: flash of
    either on AVR and Cortex-M0. Lines by who has them; those of presets are also the last of state."""

    straight: bool
    loops: tuple[int, int]
    lines: tuple[int, int]
    setup: tuple[LineView, ...]
    state: tuple[LineView, ...]
    presets: tuple[LineView, ...]
    vacant: bool

    @property
    def text(self) -> str:
        """What was chosen, and what either costs, as a sentence."""
        if self.vacant:
            return "Saving packs by one loop with unpacking: ways that went have left codes among theirs."
        chosen, other = "one loop with unpacking", "a line for each field"
        takes, would = self.loops, self.lines
        if self.straight:
            chosen, other, takes, would = other, chosen, would, takes
        return (
            f"Saving packs by {chosen}, which takes about {takes[0]} bytes of flash on AVR and {takes[1]} on"
            f" Cortex-M0; {other} would take {would[0]} and {would[1]}."
        )


def packing_cost(layout: Layout) -> Packing:
    """The packing of a layout's look."""
    return packing_of(rows_of(layout))


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
    vacant = any(row.vacant for row in fields)
    return Packing(
        avr + m0 < sum(loops) and not vacant, loops, (avr, m0),
        _lines(of_setup), _lines(of_state), _lines(of_presets), vacant,
    )  # fmt: skip


def _lines(rows: tuple[Row, ...]) -> tuple[LineView, ...]:
    return tuple(LineView(row.member, unsigned(row.last), unsigned(row.width)) for row in rows)
