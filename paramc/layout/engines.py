"""What the firmware computes from a code: the good engine values of an item, and the best of them."""

from __future__ import annotations

from paramc.frozen import dataclass
from paramc.model.items import Item, is_in_use
from paramc.model.tunnels import engine_tunnel
from paramc.tables.choose import Wanted
from paramc.tables.tunnel import Tunnel


@dataclass(frozen=True, slots=True)
class EngineWanted:
    """What the table of an item's engine values is to give. without: the codes in use that have no good
    integer, ascending."""

    wanted: Wanted
    without: tuple[int, ...]


def engine_wanted(item: Item) -> EngineWanted:
    """What the table of an item's engine values is to give: of each code the integers that keep the tolerance
    and fit the format, the correctly rounded one where none does; and of these the nearest to that one.

    That there is one, or that the item does without, the checks have made sure of. A code that is not in use
    gives the very value of the default.
    """
    engine = item.engine
    assert engine is not None
    least, most = engine.format.minimum, engine.format.maximum
    found = engine_tunnel(item)
    lows, highs, best, without = [], [], [], []
    for code in range(item.codes):
        in_use = is_in_use(item, code)
        at = code if in_use else item.default
        rounded = found.rounded[at]
        # A good integer that the format does not hold is of no use.
        low, high = max(found.lowest[at], least), min(found.highest[at], most)
        if low > high:
            assert engine.or_nearest, (item.name, at)
            low = high = rounded
            if in_use:
                without.append(code)
        nearest = min(max(rounded, low), high)
        assert least <= nearest <= most, (item.name, at, nearest)
        lows.append(low if in_use else nearest)
        highs.append(high if in_use else nearest)
        best.append(nearest)
    wanted = Wanted(Tunnel(tuple(lows), tuple(highs)), tuple(best), item.prefers_speed)
    return EngineWanted(wanted, tuple(without))


def engine_values(item: Item) -> tuple[int, ...]:
    """The best integer for each code: the correctly rounded one, or the good one nearest to it."""
    best = engine_wanted(item).wanted.best
    assert best is not None
    return best
