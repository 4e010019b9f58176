"""What every fitter wants to know of a tunnel, found once."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.frozen import dataclass
from paramc.tables.certificate import Certificate, fewest_pieces
from paramc.tables.datum import Datum
from paramc.tables.tunnel import Tunnel

NO_LIMIT = 1 << 30
"""More bytes than any table has."""


@dataclass(frozen=True, slots=True)
class Ground:
    """A datum, the tunnel of its heights, both bounds of which never fall, and their own certificate."""

    datum: Datum
    heights: Tunnel
    certificate: Certificate


@dataclass(frozen=True, slots=True)
class Survey:
    """A tunnel, its certificate, and the grounds that a rule of straight pieces can stand on; none where
    the tunnel forces a rule to turn back."""

    tunnel: Tunnel
    certificate: Certificate
    grounds: tuple[Ground, ...]


def survey(tunnel: Tunnel) -> Survey:
    """What there is to know before fitting; the tunnel is narrowed to one direction where it allows one."""
    rising, falling = tunnel.rising(), False
    if rising is None:
        rising, falling = tunnel.negated().rising(), True
    if rising is None:
        return Survey(tunnel, fewest_pieces(tunnel), ())
    certificate = fewest_pieces(rising)
    grounds = tuple(_grounds(rising, falling, certificate))
    return Survey(rising.negated() if falling else rising, certificate, grounds)


def _places(width: int, most: int) -> tuple[int, ...]:
    """Binary places to try, at most so many. Long words also with whole bytes of them, and these first: on
    AVR they are shifted without counting, and are almost always enough."""
    return (most,) if width < 32 or most % 8 == 0 else (most // 8 * 8, most)


def _grounds(rising: Tunnel, falling: bool, certificate: Certificate) -> Iterator[Ground]:
    """For each width of a word the data with most binary places whose heights reach every code.

    Heights are counted from the first code's farthest legal integer, so that all of the tunnel has some.
    Words of 16 bits come first: they win most often, and what they cost ends other searches early.
    """
    base = rising.low[0]
    span = rising.high[-1] - base
    datums = [
        Datum(-base if falling else base, falling, width, places)
        for width in ((16, 8) if span < 1 << 16 else (16, 32, 8))
        for places in _places(width, width - max(1, span.bit_length()))
    ]
    for datum in datums:
        heights = datum.heights(rising)
        if heights is None:
            continue
        # With binary places the widened tunnels are the same but for a shift up. A coarse height is rounded
        # by more than half an integer, which may save a piece.
        yield Ground(datum, heights, certificate if datum.shift >= 0 else fewest_pieces(heights))
