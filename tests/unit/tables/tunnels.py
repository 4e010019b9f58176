"""Tunnels that nobody thought of."""

from __future__ import annotations

from itertools import accumulate

from hypothesis import strategies as st

from paramc.tables.tunnel import Tunnel

_STEPS = st.one_of(
    st.lists(st.integers(0, 3), max_size=80),
    st.lists(st.integers(0, 900), max_size=40),
    # Flats and jumps.
    st.lists(st.sampled_from([0, 0, 0, 1, 5, 700]), max_size=120),
    # Straight runs with kinks between them.
    st.lists(st.tuples(st.integers(1, 90), st.integers(0, 40)), max_size=5).map(
        lambda runs: [slope for length, slope in runs for _ in range(length)]
    ),
    # More than 16 bits.
    st.lists(st.integers(0, 40_000_000), max_size=40),
)
_WIDTHS = st.tuples(st.integers(0, 2), st.integers(0, 2)) | st.just((0, 0)) | st.just((40, 40))


@st.composite
def rising_tunnels(draw: st.DrawFn) -> Tunnel:
    """A tunnel that some rule passes without falling; a point at some codes, its bounds not always rising."""
    base = draw(st.sampled_from([0, 0, -5, -32768, 1000]))
    values = [base, *(base + y for y in accumulate(draw(_STEPS)))]
    widths = draw(st.lists(_WIDTHS, min_size=len(values), max_size=len(values)))
    return Tunnel(
        tuple(y - below for y, (below, _) in zip(values, widths, strict=True)),
        tuple(y + above for y, (_, above) in zip(values, widths, strict=True)),
    )


@st.composite
def any_tunnels(draw: st.DrawFn, most_codes: int = 40) -> Tunnel:
    """A tunnel of any shape."""
    codes = draw(st.integers(1, most_codes))
    low = draw(st.lists(st.integers(-40, 40), min_size=codes, max_size=codes))
    widths = draw(st.lists(st.sampled_from([0, 0, 1, 3, 12]), min_size=codes, max_size=codes))
    return Tunnel(tuple(low), tuple(y + width for y, width in zip(low, widths, strict=True)))


one_way_tunnels = st.one_of(
    rising_tunnels(), rising_tunnels().map(Tunnel.negated), rising_tunnels().map(Tunnel.reflected)
)
