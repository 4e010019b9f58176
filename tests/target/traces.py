"""Traces for play.c: what happens as bytes, and what it said, line by line."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from tests.target.chips import Chip, run_host_board
from tests.target.emitted import Emitted, emit, layout_of

HERE = Path(__file__).resolve().parent
PRODUCT = (HERE / "play.paramc").read_text(encoding="utf-8")
PARTS = ("FEET", "FOLLOW", "LOOK")

END = bytes([255])


def word(value: int) -> bytes:
    """Two bytes, the low one first."""
    return value.to_bytes(2, "little")


def make(folder: Path, product: str = PRODUCT) -> Emitted:
    """The product's C in a folder, and the player beside it."""
    emitted = emit(layout_of(product), folder)
    player = (HERE / "play.c").read_text(encoding="utf-8").replace("product.h", emitted.header.name)
    emitted.write("player.c", player)
    return emitted


def program(emitted: Emitted, chip: Chip, parts: Sequence[str] = PARTS) -> Path:
    """The player for a chip."""
    return chip.build(
        [emitted.folder / "player.c", emitted.source],
        include_dirs=[emitted.folder],
        extra=["-ffunction-sections", "-Wl,--gc-sections", *(f"-DWITH_{part}" for part in parts)],
    )


def said(output: str) -> list[list[str]]:
    """The words of each line."""
    return [line.removeprefix(">").split() for line in output.splitlines()]


def on_host(player: Path, events: Sequence[bytes]) -> list[list[str]]:
    """What the host's player says of each event."""
    return said(run_host_board(player, eeprom=b"".join(events) + END).stdout)
