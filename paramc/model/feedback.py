"""From where on a sound feeds itself."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from paramc.model.items import Param, Role
from paramc.numbers.units import Dimension

# Gain 1 in a loop; and a resonance of Q 8, whose peak is 18 dB high.
_UNITY: Final = {
    Dimension.SHARE: Fraction(100),
    Dimension.LEVEL_DIFFERENCE: Fraction(0),
    Dimension.RATIO: Fraction(1),
}
_STEEP: Final = {Dimension.COUNT: Fraction(8), Dimension.LEVEL_DIFFERENCE: Fraction(18)}
_LIMITS: Final = {Role.LOOP_GAIN: _UNITY, Role.RESONANCE: _STEEP}


def feeds_itself_above(item: Param) -> Fraction | None:
    """The value, in the item's own unit, above which its sound feeds itself; None where it never does."""
    if item.role is None:
        return None
    limit = _LIMITS.get(item.role, {}).get(item.scale.unit.dimension)
    return None if limit is None or item.scale.high <= limit else limit
