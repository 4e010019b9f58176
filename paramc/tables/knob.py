"""What a knob's reading means: the arithmetic that the C repeats with integers alone."""

from __future__ import annotations

from collections.abc import Callable

from paramc.tables.forms import AnyTable, value_at


def scaled_reading(adc: int, first: int, last: int, top: int) -> int:
    """An ADC count as a share of full travel: 0 at the end first, top at the end last.

    The integer nearest to top (adc - first) / (last - first), a tie to the even one, held within
    0 .. top. last may be below first (wired the other way round); equal ends are the caller's mistake.
    """
    assert first != last
    above, below = top * (adc - first), last - first
    if below < 0:
        above, below = -above, -below
    whole, rest = divmod(above, below)
    if 2 * rest > below or (2 * rest == below and whole % 2):
        whole += 1
    return min(max(whole, 0), top)


def settled_code(code_at: Callable[[int], int], adc: int, hysteresis: int, top: int, last_code: int) -> int:
    """The code after hysteresis: the last one stays while it lies between the codes that code_at
    gives for readings `hysteresis` counts below and above."""
    one, other = code_at(max(adc - hysteresis, 0)), code_at(min(adc + hysteresis, top))
    if min(one, other) <= last_code <= max(one, other):
        return last_code
    return code_at(adc)


def knob_code(
    table: AnyTable, adc_bits: int, ends: tuple[int, int], hysteresis: int, adc: int, last_code: int
) -> int:
    """The code of an item for an ADC count, as P_knob_X computes it."""
    top = (1 << adc_bits) - 1

    def code_at(reading: int) -> int:
        return value_at(table, scaled_reading(reading, *ends, top))

    return settled_code(code_at, adc, hysteresis, top, last_code)
