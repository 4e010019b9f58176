"""The firmware example: generated files in a main loop, played by a script on the host, woken in simavr."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from paramc.driver import outputs
from paramc.image.factory import preset_codes
from paramc.layout.layout import Layout
from paramc.tables.forms import value_at
from tests.stories import text_of
from tests.target.chips import RunFailed, avr, host, run_avr, run_host, size
from tests.target.emitted import layout_of
from tests.target.independent import Reader

TOP = Path(__file__).resolve().parents[2]
FIRMWARE = TOP / "examples" / "firmware"


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Layout, Path]:
    """The layout of Teasel Pinch, and a folder with everything that a build writes."""
    layout = layout_of(text_of("teasel_pinch"))
    folder = tmp_path_factory.mktemp("teasel_pinch")
    for artifact in outputs(layout):
        (folder / artifact.name).write_bytes(artifact.data)
    return layout, folder


def engine_values(layout: Layout, codes: dict[str, int]) -> dict[str, int]:
    """Engine values by item name; an item without an engine has its code."""
    tables = {engine.item: engine.table for engine in layout.engines}
    return {name: value_at(tables[name], code) if name in tables else code for name, code in codes.items()}


def wanted(layout: Layout, slot: int) -> dict[str, int]:
    """What the audio code must hear with a factory preset: trims nominal, the rest default."""
    product = layout.product
    codes = {item.name: item.default for item in (*product.kept_once, *product.trims)}
    codes |= dict(zip([i.name for i in product.per_preset], preset_codes(layout, slot), strict=True))
    del codes["power_on"]
    return engine_values(layout, codes)


def numbers_of_items(folder: Path) -> dict[int, str]:
    """Item names by the numbers that the header gives them."""
    found = {}
    for line in (folder / "teasel_pinch.h").read_text(encoding="utf-8").splitlines():
        if line.startswith("#define TP_ITEM_"):
            _, name, number = line.split()
            found[int(number.rstrip("u"))] = name.removeprefix("TP_ITEM_").lower()
    return found


def played(folder: Path, script: str, memory: bytes | None = None) -> list[tuple[int, str]]:
    """What the host firmware told: the millisecond and the rest of each line."""
    image = folder / "memory.bin"
    image.write_bytes(memory if memory is not None else (folder / "teasel_pinch.factory.bin").read_bytes())
    # The board has the computer's main, and calls the firmware's by another name.
    renamed = folder / "pedal_main.c"
    renamed.write_text(f'#define main pedal_main\n#include "{FIRMWARE / "pedal.c"}"\n', encoding="utf-8")
    binary = folder / "pedal"
    if not binary.exists():
        sources = [renamed, FIRMWARE / "board_host.c", FIRMWARE / "script.c", folder / "teasel_pinch.c"]
        shutil.copy2(host(sources, [folder, FIRMWARE]), binary)
    lines = run_host(binary, [str(image)], script).splitlines()
    return [(int(at), rest) for at, _, rest in (line.partition(" ") for line in lines)]


def heard(told: list[tuple[int, str]], at: int, folder: Path) -> dict[str, int]:
    """Engine values that were told at one millisecond."""
    names = numbers_of_items(folder)
    rows = [rest.split() for when, rest in told if when == at and rest.startswith("item")]
    return {names[int(number)]: int(value) for _, number, value in rows}


@pytest.mark.needs("gcc")
def test_a_day_of_the_unit(built: tuple[Layout, Path]) -> None:
    layout, folder = built
    script = "at 500 knob 0 700\nat 900 foot 1\nat 950 foot 0\nat 2000 foot 1\nat 3000 foot 0\nat 4000 end\n"
    told = played(folder, script)
    assert [(at, rest) for at, rest in told if rest.startswith("path")] == [
        (0, "path muted"),
        (0, "path bypassed"),  # a new unit remembers that it was bypassed
        (900, "path engaged"),
        (2000, "path bypassed"),
        (2800, "path engaged"),  # the hold gives back what the press did
    ]
    first = wanted(layout, 0)
    assert heard(told, 0, folder) == first
    # The knob that moved is heard, and nothing else has changed.
    turned = heard(told, 500, folder)
    assert {name for name in first if turned[name] != first[name]} == {"squeeze"}
    # The sound that was turned is saved first, then the next is called; here the memory answers in no time.
    [called] = {at for at, rest in told if rest.startswith("item") and at > 2000}
    assert 2800 <= called < 3800
    assert heard(told, called, folder) == wanted(layout, 1)


@pytest.mark.needs("gcc")
def test_a_memory_that_does_not_answer_keeps_nobody_waiting(built: tuple[Layout, Path]) -> None:
    """A preset is called while the memory is busy: the foot is heard at once, the preset once it answers."""
    layout, folder = built
    script = (
        "at 1000 foot 1\nat 1700 busy 1500\nat 1900 foot 0\nat 2500 foot 1\nat 2550 foot 0\n"
        "at 3000 knob 1 900\nat 5000 end\n"
    )
    told = played(folder, script)
    paths = [(at, rest) for at, rest in told if rest.startswith("path") and at > 0]
    assert paths == [(1000, "path engaged"), (1800, "path bypassed"), (2500, "path engaged")]
    ratio = heard(told, 3000, folder)["ratio"]
    assert ratio != wanted(layout, 0)["ratio"]
    called = [at for at, rest in told if rest.startswith("item") and at > 3000]
    assert min(called) >= 3200 and heard(told, min(called), folder) == wanted(layout, 1)


def saved(folder: Path, layout: Layout) -> tuple[dict[str, int], ...]:
    """What the memory has for preset 1, state and setup, by the reader that knows the layout file alone."""
    file = json.loads((folder / "teasel_pinch.layout.json").read_text(encoding="utf-8"))
    reader = Reader(file, (folder / "memory.bin").read_bytes())
    assert reader.unit() == "sound"
    return tuple(reader.codes(kind)[1] for kind in ("presets", "state", "setup"))


@pytest.mark.needs("gcc")
def test_what_was_played_is_there_again(built: tuple[Layout, Path]) -> None:
    layout, folder = built
    script = "at 500 knob 0 700\nat 600 foot 1\nat 650 foot 0\nat 9000 end\n"
    turned = heard(played(folder, script), 500, folder)
    assert turned != wanted(layout, 0)
    told = played(folder, "at 10 end\n", (folder / "memory.bin").read_bytes())
    assert heard(told, 0, folder) == turned
    assert [rest for _, rest in told if rest.startswith("path")] == ["path muted", "path engaged"]


@pytest.mark.slow
@pytest.mark.needs("gcc")
def test_power_may_go_at_any_moment_of_a_save(built: tuple[Layout, Path]) -> None:
    """Sound and state are each what they were or what was played."""
    layout, folder = built
    script = "at 500 knob 0 700\nat 9000 end\n"
    played(folder, "at 10 end\n")
    old = saved(folder, layout)
    played(folder, script)
    new = saved(folder, layout)
    assert old[0] != new[0] and old[1] != new[1] and old[2] == new[2]
    seen = set()
    for at in range(2500, 2900, 7):
        played(folder, script.replace("9000", str(at)))
        sound, state, setup = saved(folder, layout)
        assert sound in (old[0], new[0]) and state in (old[1], new[1]) and setup == old[2]
        seen.add((sound == new[0], state == new[1]))
    assert seen == {(False, False), (True, False), (True, True)}


@pytest.mark.needs("gcc")
def test_two_holds_on_the_page_under_reset_the_look(built: tuple[Layout, Path]) -> None:
    layout, folder = built
    played(folder, "at 500 knob 0 700\nat 9000 end\n")
    changed = (folder / "memory.bin").read_bytes()
    script = "at 0 foot 1\nat 3500 foot 0\nat 4000 foot 1\nat 7500 foot 0\n"
    once = played(folder, script + "at 20000 end\n", changed)
    assert heard(once, 0, folder) != wanted(layout, 0)
    told = played(folder, script + "at 8000 foot 1\nat 11500 foot 0\nat 20000 end\n", changed)
    again = max(at for at, rest in told if rest.startswith("item"))
    assert again > 11000 and heard(told, again, folder) == wanted(layout, 0)
    after = (folder / "memory.bin").read_bytes()
    assert after[: layout.look_start] == changed[: layout.look_start]
    factory = (folder / "teasel_pinch.factory.bin").read_bytes()
    (folder / "memory.bin").write_bytes(factory)
    expected = saved(folder, layout)
    (folder / "memory.bin").write_bytes(after)
    assert saved(folder, layout)[0] == expected[0]


@pytest.mark.needs("gcc")
def test_blank_memory_wakes_bypassed_with_factory_values(built: tuple[Layout, Path]) -> None:
    layout, folder = built
    told = played(folder, "at 10 end\n", b"\xff" * layout.product.chip.size)
    assert [rest for _, rest in told if rest.startswith("path")] == ["path muted", "path bypassed"]
    assert heard(told, 0, folder) == wanted(layout, 0)


@pytest.mark.needs("gcc")
def test_the_page_under_the_panel(built: tuple[Layout, Path]) -> None:
    """Held at power-up for 3 s; a knob that has met a hidden value sets it, and 20 s of rest end it."""
    layout, folder = built
    script = (
        "at 0 foot 1\nat 3500 foot 0\nat 3700 knob 0 800\nat 3900 knob 0 15\nat 4000 knob 0 1008\n"
        "at 30000 knob 0 15\nat 31000 end\n"
    )
    told = played(folder, script)
    assert {at for at, rest in told if rest.startswith("item")} == {0, 4000, 30000}
    under = heard(told, 4000, folder)
    assert under["dry_blend"] == engine_values(layout, {"dry_blend": 100})["dry_blend"]
    assert under["squeeze"] == wanted(layout, 0)["squeeze"]
    after = heard(told, 30000, folder)
    assert after["dry_blend"] == under["dry_blend"]
    assert after["squeeze"] == engine_values(layout, {"squeeze": 0})["squeeze"]


@pytest.mark.needs("avr-gcc", "simavr")
def test_it_wakes_on_the_chip(built: tuple[Layout, Path]) -> None:
    layout, folder = built
    elf = avr(
        [FIRMWARE / "pedal.c", FIRMWARE / "board_avr.c", folder / "teasel_pinch.c"], [folder, FIRMWARE]
    )
    assert size(elf).text < 32 * 1024
    image = (folder / "teasel_pinch.factory.bin").read_bytes()
    # A pedal never ends by itself: the limit is the end of the test.
    with pytest.raises(RunFailed) as ended:
        run_avr(elf, image, cycles=64_000_000)
    assert ended.value.why == "limit"
    names = numbers_of_items(folder)
    lines = ended.value.run.stdout.split()
    told = {}
    for line in lines[: len(wanted(layout, 0))]:
        value = int(line[2:], 16)
        told[names[int(line[:2], 16)]] = value - (1 << 32) if value >> 31 else value
    assert told == wanted(layout, 0)
