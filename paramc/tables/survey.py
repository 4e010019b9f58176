"""What every fitter wants to know of a tunnel, found once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from paramc.tables.certificate import Certificate, fewest_pieces
from paramc.tables.datum import Datum
from paramc.tables.tunnel import Tunnel

NO_LIMIT = 1 << 30
"""More bytes than any table has."""


@dataclass(frozen=True, slots=True)
class Ground:
    """A datum, and the tunnel of its heights, both bounds of which never fall."""

    datum: Datum
    heights: Tunnel


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
    one_way = rising.negated() if falling else rising
    return Survey(one_way, fewest_pieces(one_way), tuple(_grounds(rising, falling)))


def _grounds(rising: Tunnel, falling: bool) -> Iterator[Ground]:
    """For each width of a word the datum with most binary places whose heights reach every code.

    Heights are counted from the first code's farthest legal integer, so that all of the tunnel has some.
    Words of 16 bits come first: they win most often, and what they cost ends other searches early.
    """
    base = rising.low[0]
    span = rising.high[-1] - base
    for width in (16, 8) if span < 1 << 16 else (16, 32, 8):
        datum = Datum(-base if falling else base, falling, width, width - max(1, span.bit_length()))
        heights = datum.heights(rising)
        if heights is not None:
            yield Ground(datum, heights)
