"""The second firmware example, taps, MIDI and the pedal of Long Causeway: played by a script on the host and
in simavr, where a serial memory lies beside the chip."""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import dataclass
from pathlib import Path

import mido
import pytest

from paramc.driver import outputs
from paramc.image.factory import preset_codes
from paramc.layout.layout import Layout
from tests.stories import text_of
from tests.target.chips import RunFailed, avr, host, run_avr, run_host, size
from tests.target.emitted import layout_of
from tests.target.independent import Reader
from tests.target.play_models import code_at, pedal_code, tempo, travel_of
from tests.target.test_firmware import FIRMWARE, engine_values

Events = list[tuple[int, str]]
LEFT, RIGHT = "foot 0", "foot 1"
LEARNED = (100, 3950)


@dataclass(frozen=True)
class Echo:
    """The layout, the folder of a build, and the program."""

    layout: Layout
    folder: Path
    binary: Path

    def played(self, script: str, memory: bytes | None = None) -> Events:
        """What the firmware told: the millisecond and the rest of each line. script: lines in any order."""
        script = "".join(sorted(script.splitlines(keepends=True), key=lambda line: int(line.split()[1])))
        image = self.folder / "memory.bin"
        image.write_bytes(memory or (self.folder / "long_causeway.factory.bin").read_bytes())
        lines = run_host(self.binary, [str(image)], script).splitlines()
        return [(int(at), rest) for at, _, rest in (line.partition(" ") for line in lines)]

    @property
    def items(self) -> dict[int, str]:
        """Item names by the numbers that the header gives them."""
        text = (self.folder / "long_causeway.h").read_text(encoding="utf-8")
        found = re.findall(r"^#define LC_ITEM_(\w+) (\d+)u$", text, re.MULTILINE)
        return {int(number): name.lower() for name, number in found}

    def heard(self, told: Events) -> list[tuple[int, str, int]]:
        """Engine values as they were told: when, of which item, and the value."""
        rows = [(at, rest.split()) for at, rest in told if rest.startswith("item")]
        return [(at, self.items[int(number)], int(value)) for at, (_, number, value) in rows]

    def engine(self, **codes: int) -> dict[str, int]:
        """Engine values of codes, as they are told: the bits of 32."""
        values = engine_values(self.layout, codes)
        return {name: value - (1 << 32) if value >= 1 << 31 else value for name, value in values.items()}

    def preset(self, slot: int) -> dict[str, int]:
        """Engine values of a factory preset."""
        names = [item.name for item in self.layout.product.per_preset]
        return self.engine(**dict(zip(names, preset_codes(self.layout, slot), strict=True)))

    def saved(self, slot: int, memory: bytes | None = None) -> tuple[dict[str, int], dict[str, int]]:
        """What a memory has for a slot and for setup, by the reader that knows the layout file alone."""
        file = json.loads((self.folder / "long_causeway.layout.json").read_text(encoding="utf-8"))
        reader = Reader(file, memory or (self.folder / "memory.bin").read_bytes())
        assert reader.unit() == "sound"
        return reader.codes("presets", slot)[1], reader.codes("setup")[1]


@pytest.fixture(scope="module")
def echo(tmp_path_factory: pytest.TempPathFactory) -> Echo:
    layout = layout_of(text_of("long_causeway"))
    folder = tmp_path_factory.mktemp("long_causeway")
    for artifact in outputs(layout):
        (folder / artifact.name).write_bytes(artifact.data)
    renamed = folder / "echo_main.c"
    renamed.write_text(f'#define main echo_main\n#include "{FIRMWARE / "echo.c"}"\n', encoding="utf-8")
    sources = [renamed, FIRMWARE / "echo_host.c", FIRMWARE / "script.c", folder / "long_causeway.c"]
    shutil.copy2(host(sources, [folder, FIRMWARE]), folder / "echo")
    return Echo(layout, folder, folder / "echo")


def presses(*stamps: int) -> str:
    """Short presses of the tap switch."""
    return "".join(f"at {at} {RIGHT} 1\nat {at + 60} {RIGHT} 0\n" for at in stamps)


def incoming(at: int, data: bytes) -> str:
    return "".join(f"at {at} midi {byte}\n" for byte in data)


def at_once(echo: Echo, told: Events, at: int) -> dict[str, int]:
    """The engine values that were told at one millisecond."""
    return {name: value for when, name, value in echo.heard(told) if when == at}


def said_by_midi(told: Events, after: int = 0) -> list[mido.Message]:
    """What went out, as mido reads it."""
    parser = mido.Parser()
    for at, rest in told:
        if rest.startswith("midi") and at >= after:
            parser.feed(bytes.fromhex(rest.removeprefix("midi")))
    return list(parser)


def control(number: int, value: int, channel: int = 0) -> bytes:
    return bytes(mido.Message("control_change", channel=channel, control=number, value=value).bytes())


pytestmark = pytest.mark.needs("gcc")


def test_it_wakes_with_what_the_factory_made(echo: Echo) -> None:
    told = echo.played("at 10 end\n")
    assert [rest for _, rest in told if rest.startswith("path")] == ["path muted", "path bypassed"]
    assert at_once(echo, told, 0).items() >= echo.preset(0).items()
    assert said_by_midi(told) == []


# ---- taps


@pytest.mark.parametrize(("stamps", "way"), [
    ((1000, 1500), 1), ((1000, 1510, 2005), 1), ((1000, 1500), 4), ((1000, 2500), 0), ((1000, 1100), 3),
])
def test_taps_become_a_time_and_are_said_by_midi(echo: Echo, stamps: tuple[int, ...], way: int) -> None:
    told = echo.played(f"at 500 position 7 {way}\n{presses(*stamps)}at 3000 end\n")
    product = echo.layout.product
    time, chooser = product.item("time"), product.item("subdivision")
    ratio = chooser.way(way).number.number  # type: ignore[union-attr]
    code = tempo(stamps, 3, 2000, ratio, time, "halve")  # type: ignore[arg-type]
    assert code is not None
    times = [(at, value) for at, name, value in echo.heard(told) if name == "time" and at > 0]
    assert times[-1] == (stamps[-1], echo.engine(time=code)["time"])
    coarse, fine = said_by_midi(told, stamps[-1])[:2]
    assert (coarse.control, fine.control, coarse.channel) == (20, 52, 0)
    assert code_at(time, travel_of(coarse.value << 7 | fine.value, 14)) == code


def test_one_tap_alone_and_one_too_late_change_nothing(echo: Echo) -> None:
    told = echo.played(presses(1000, 3200) + "at 5000 end\n")
    assert [at for at, _, _ in echo.heard(told) if at > 0] == []


def test_a_hold_is_no_tap_and_its_effect_ends_with_it(echo: Echo) -> None:
    script = f"at 1000 {RIGHT} 1\nat 3000 {RIGHT} 0\n{presses(3100, 3500)}at 5000 end\n"
    told = echo.played(script)
    effects = [(at, rest) for at, rest in told if rest.startswith("effect")]
    assert effects == [(1600, "effect 0"), (3020, "effect 255")]  # up is believed after its bounces
    assert echo.heard(told)[-1][:2] == (3500, "time")


def test_both_feet_call_the_next_preset_and_give_the_presses_back(echo: Echo) -> None:
    script = f"at 1000 {LEFT} 1\nat 1010 {RIGHT} 1\nat 2500 {LEFT} 0\nat 2500 {RIGHT} 0\nat 4000 end\n"
    told = echo.played(script)
    assert [(at, rest) for at, rest in told if rest.startswith("path") and at > 0] == [
        (1000, "path engaged"), (2010, "path bypassed"),
    ]  # fmt: skip
    [called] = {at for at, _, _ in echo.heard(told) if at > 0}
    assert at_once(echo, told, called).items() >= echo.preset(1).items()
    [program] = said_by_midi(told)
    assert (program.type, program.program) == ("program_change", 1)


# ---- MIDI


def test_a_controller_sets_and_is_not_said_again(echo: Echo) -> None:
    told = echo.played(incoming(1000, control(21, 100) + control(20, 3) + control(52, 7)) + "at 1500 end\n")
    product = echo.layout.product
    repeats = code_at(product.item("repeats"), travel_of(100, 7))
    time = code_at(product.item("time"), travel_of(3 << 7 | 7, 14))
    assert at_once(echo, told, 1000) == echo.engine(repeats=repeats, time=time)
    assert said_by_midi(told) == []


def test_a_program_calls_a_preset_also_while_the_memory_is_busy(echo: Echo) -> None:
    message = bytes(mido.Message("program_change", program=7).bytes())
    told = echo.played(f"at 900 busy 600\n{incoming(1000, message)}at 2000 end\n")
    [called] = {at for at, _, _ in echo.heard(told) if at > 0}
    assert 1500 <= called < 1510
    assert at_once(echo, told, called).items() >= echo.preset(7).items()


def test_other_channels_are_not_heard_until_the_setting_says_every(echo: Echo) -> None:
    quiet = echo.played(incoming(1000, control(21, 100, channel=4)) + "at 1500 end\n")
    assert [at for at, _, _ in echo.heard(quiet) if at > 0] == []


def test_one_tempo_for_all_presets(echo: Echo) -> None:
    """Tempo scope is set by a controller; then a preset leaves the time as it was tapped."""
    message = bytes(mido.Message("program_change", program=3).bytes())
    script = incoming(500, control(29, 127)) + presses(1000, 1500) + incoming(2000, message) + "at 6000 end\n"
    told = echo.heard(echo.played(script))
    [called] = {at for at, name, _ in told if name == "mix" and at > 0}
    now = {name: value for at, name, value in told if at == called}
    fourth, tapped = echo.preset(3), echo.engine(time=480)["time"]
    assert now["time"] == tapped != fourth["time"]
    assert all(now[name] == value for name, value in fourth.items() if name != "time")


def test_a_saved_sound_goes_out_and_comes_in_again_elsewhere(echo: Echo) -> None:
    told = echo.played(incoming(1000, control(22, 10)) + "at 9000 end\n")
    [dump] = [one for one in said_by_midi(told) if one.type == "sysex"]
    data = bytes(dump.bytes())
    first, _ = echo.saved(0)
    assert first["mix"] == code_at(echo.layout.product.item("mix"), travel_of(10, 7))
    fresh = echo.played(incoming(1000, data) + "at 9000 end\n")
    now = at_once(echo, fresh, 1000)
    assert now.items() >= echo.engine(**{name: first[name] for name in ("mix", "time", "tilt")}).items()
    assert echo.saved(0)[0] == first
    # It is kept at once, and what comes back is what was sent.
    [(at, again)] = [(at, rest) for at, rest in fresh if rest.startswith("midi")]
    assert at < 1600 and bytes.fromhex(again.removeprefix("midi")) == data
    spoilt = data[:20] + bytes([data[20] ^ 1]) + data[21:]
    deaf = echo.played(incoming(1000, spoilt) + "at 2000 end\n")
    assert [at for at, _, _ in echo.heard(deaf) if at > 0] == []


# ---- the pedal


def test_the_pedal_sets_what_the_setting_says_and_hands_over_without_a_jump(echo: Echo) -> None:
    repeats = echo.layout.product.item("repeats")
    script = (
        "at 1000 analog 10 2000\nat 1500 analog 10 4090\n"  # moved, and pulled out
        "at 2000 analog 1 2100\n"  # the knob stands at noon and is turned a little: it does not leap
        "at 3000 analog 1 3800\nat 3500 analog 1 1900\nat 4000 end\n"
    )
    told = echo.heard(echo.played(script))
    moved = [(at, name, value) for at, name, value in told if at > 0]
    code = pedal_code(repeats, 2000, LEARNED, (0, 16384))
    assert moved[0] == (1000, "repeats", echo.engine(repeats=code)["repeats"])
    # The knob acts from when it passes what the pedal has left.
    assert {at for at, _, _ in moved[1:]} <= {3000, 3500} and len(moved) > 1


def test_the_pedal_stands_where_it_stood_when_the_unit_wakes(echo: Echo) -> None:
    told = echo.heard(echo.played("at 0 analog 10 3000\nat 500 analog 10 3001\nat 900 end\n"))
    assert [at for at, _, _ in told if at > 0] == []


def test_a_pedal_learns_its_ends_in_deep_water_and_keeps_them(echo: Echo) -> None:
    both = f"at 0 {LEFT} 1\nat 0 {RIGHT} 1\nat 3500 {LEFT} 0\nat 3500 {RIGHT} 0\n"
    hold = "".join(f"at {at} {RIGHT} 1\nat {at + 2100} {RIGHT} 0\n" for at in (5000, 9000))
    script = f"at 0 analog 10 700\n{both}{hold}at 8000 analog 10 2600\nat 8500 analog 10 2500\nat 16000 end\n"
    told = echo.played(script)
    _, setup = echo.saved(0)
    assert (setup["exp_low"], setup["exp_high"]) == (700, 2600)
    # Each of the two holds began with a press, which flips trails; the hold gives it back.
    trails = [value for _, name, value in echo.heard(told) if name == "trails"]
    assert trails == [1, 0, 1, 0, 1] and setup["trails"] == 1


def test_slack_water_has_what_else_only_midi_can_set(echo: Echo) -> None:
    script = (
        f"at 0 {RIGHT} 1\nat 3500 {RIGHT} 0\nat 0 analog 0 61\nat 0 analog 1 61\n"
        "at 4000 analog 0 4034\nat 4500 analog 1 4034\nat 9000 end\n"
    )
    told = echo.played(script)
    assert at_once(echo, told, 4000) == echo.engine(ducking=36)
    _, setup = echo.saved(0)
    assert (setup["ducking"], setup["tempo_scope"]) == (36, 1)


# ---- on the chip

MEGAHERTZ = 16


def after(ms: float, what: str) -> str:
    return f"{int(ms * 1000 * MEGAHERTZ)} {what}\n"


def framed(spi: bytes) -> list[tuple[int, int]]:
    """The frames to the audio processor: an item's number and the bits of its value."""
    whole = len(spi) // 5 * 5
    return [(spi[at], int.from_bytes(spi[at + 1 : at + 5], "big", signed=True)) for at in range(0, whole, 5)]


def raw(output: str) -> bytes:
    """The bytes of a text in which those that are no UTF-8 are written out: a status byte never is."""
    text = re.sub(r"\\x([0-9a-f]{2})", lambda found: chr(int(found[1], 16)), output)
    return text.encode("latin-1")


@pytest.mark.slow
@pytest.mark.needs("avr-gcc", "simavr")
@pytest.mark.parametrize("there", [True, False], ids=["memory", "no memory"])
def test_it_plays_on_the_chip(echo: Echo, there: bool) -> None:
    sources = [FIRMWARE / "echo.c", FIRMWARE / "echo_avr.c", echo.folder / "long_causeway.c"]
    elf = avr(sources, [echo.folder, FIRMWARE])
    sizes = size(elf)
    assert sizes.text + sizes.data < 32 * 1024 and sizes.data + sizes.bss < 2048 - 512
    pressed = [after(at, f"pin D 3 {level}") for at, level in ((2500, 0), (2560, 1), (2900, 0), (2960, 1))]
    arriving = [control(22, 10), bytes(mido.Message("program_change", program=4).bytes())]
    bytes_in = [
        after(3500 + 500 * nth + 0.4 * place, f"uart {byte}")
        for nth, message in enumerate(arriving) for place, byte in enumerate(message)
    ]
    analog = [after(0.001, "adc 2 1250"), after(0.001, "adc 1 500"), after(2000, "adc 1 2500")]
    script = "".join([*analog, *pressed, *bytes_in])
    factory = (echo.folder / "long_causeway.factory.bin").read_bytes() if there else b""
    # It never ends by itself: the limit is the end of the test.
    with pytest.raises(RunFailed) as ended:
        run_avr(elf, cycles=5_500_000 * MEGAHERTZ, script=script, memory=factory)
    assert ended.value.why == "limit"
    run = ended.value.run
    frames = framed(run.spi)  # type: ignore[attr-defined]
    paths = [value for number, value in frames if number == 0xFF]
    if not there:
        # What the product is like is not known: muted, with nothing that could be switched.
        assert paths == [0, 0]
        return
    assert paths == [0, 1]
    items = echo.items
    told = [(items[number], value) for number, value in frames if number < 0xF0]
    start = len(echo.preset(0)) + 6
    assert dict(told[:start]).items() >= echo.preset(0).items()
    product = echo.layout.product
    repeats = pedal_code(product.item("repeats"), 511 << 2 | 511 >> 8, LEARNED, (0, 16384))
    mix = code_at(product.item("mix"), travel_of(10, 7))
    turned = echo.engine(repeats=repeats, time=380, mix=mix)
    assert told[start : start + 3] == [(name, turned[name]) for name in ("repeats", "time", "mix")]
    assert dict(told[start + 3 :]).items() >= echo.preset(4).items()
    parser = mido.Parser()
    parser.feed(raw(run.stdout))
    said = [(one.type, getattr(one, "control", None)) for one in parser]
    # What the pedal and the taps set, the sound that was saved before the preset, and the preset.
    assert said == [
        ("control_change", 21), ("control_change", 20), ("control_change", 52), ("sysex", None),
        ("program_change", None),
    ]  # fmt: skip
    first, _ = echo.saved(0, run.memory_after)  # type: ignore[attr-defined]
    assert (first["repeats"], first["time"], first["mix"]) == (repeats, 380, mix)
