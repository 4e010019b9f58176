"""The least number of straight pieces that any rule made of them needs: what a fit is measured against."""

from __future__ import annotations

from bisect import bisect_left

from paramc.frozen import dataclass
from paramc.tables.stabbing import Point, stab
from paramc.tables.tunnel import Tunnel


@dataclass(frozen=True, slots=True)
class Certificate:
    """starts: the first code of each piece of one division into the fewest pieces, 0 first.

    No division into fewer exists, whatever real numbers its lines begin and end with, joined or not, as
    long as their values are rounded to a nearest integer. (Steps coarser than that are no lines: where the
    tunnel is wide enough for them they can hide a piece.)
    """

    starts: tuple[int, ...]

    @property
    def pieces(self) -> int:
        """The lower bound."""
        return len(self.starts)

    def pieces_from(self, code: int) -> int:
        """A lower bound of the pieces of any division of the codes from this one on, at least 0.

        Pieces of the certificate that begin later are each needed, for the codes from their beginning on
        have no division into fewer.
        """
        return len(self.starts) - bisect_left(self.starts, code)


def fewest_pieces(tunnel: Tunnel) -> Certificate:
    """The division that takes every piece as far as it goes.

    A rule gives integers, so that the line under it may leave the legal ones by a half before its rounded
    value does: the tunnel is widened by that half, ends included, which covers every way to round to a
    nearest integer, and rounding down as the same with a line half higher. Doubled, all stays in integers.
    Taking the longest is best: what passes through a run of codes passes through every part of it, so that
    after the same number of pieces no other division has come further.
    """
    points = zip(
        range(tunnel.codes), [2 * y - 1 for y in tunnel.low], [2 * y + 1 for y in tunnel.high], strict=True
    )
    starts = []
    first: Point | None = next(points)
    while first is not None:
        starts.append(first[0])
        _, first = stab(first, points)
    return Certificate(tuple(starts))
