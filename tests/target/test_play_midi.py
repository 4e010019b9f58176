"""MIDI and dumps: every value against exact travel, bytes against mido and against what is published."""

from __future__ import annotations

import random
import re
from pathlib import Path

import mido
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from paramc.emit.midi_view import codes_by_value
from paramc.numbers import crc
from tests.target.chips import CHIPS, Chip, on_every_chip
from tests.target.emitted import Emitted
from tests.target.play_models import code_at, packed, travel_of, unpacked, value_for
from tests.target.traces import END, make, on_host, program, said, word

NEW_LOOK = b"\x18"
COARSE = {20: "time", 22: "beat", 23: "trails", 25: "level"}
FINE = {21: "repeats", 24: "grain"}
NOTHING, SET, PRESET, DUMP = "0", "1", "2", "3"


@pytest.fixture(scope="module")
def emitted(tmp_path_factory: pytest.TempPathFactory) -> Emitted:
    return make(tmp_path_factory.mktemp("play"))


@pytest.fixture(scope="module")
def player(emitted: Emitted) -> Path:
    return program(emitted, CHIPS[0])


def header_numbers(emitted: Emitted, start: str) -> dict[str, int]:
    """Constants of the header whose names begin so, by the rest of their names."""
    text = emitted.header.read_text(encoding="utf-8")
    found = re.findall(rf"^#define PL_{start}_(\w+) (\d+)u", text, re.MULTILINE)
    return {name.lower(): int(number) for name, number in found}


def received(data: bytes) -> list[bytes]:
    """Bytes that come in."""
    return [b"\x0c" + bytes([byte]) for byte in data]


def started(keeps: bool = False) -> list[bytes]:
    return [NEW_LOOK, b"\x0b" + bytes([keeps])]


def put(emitted: Emitted, item: str, code: int) -> bytes:
    return b"\x19" + bytes([header_numbers(emitted, "ITEM")[item]]) + word(code)


def control(number: int, value: int, channel: int = 0) -> bytes:
    return bytes(mido.Message("control_change", channel=channel, control=number, value=value).bytes())


pytestmark = pytest.mark.needs("gcc")

# ---- in


@pytest.mark.parametrize("number", COARSE)
def test_every_value_of_seven_bits_is_the_code_at_its_travel(
    number: int, emitted: Emitted, player: Path
) -> None:
    item = emitted.layout.product.item(COARSE[number])
    events = [one for value in range(128) for one in received(control(number, value))]
    lines = on_host(player, [*started(), *events])[2:]
    place = str(header_numbers(emitted, "ITEM")[item.name])
    for value in range(128):
        code = code_at(item, travel_of(value, 7))
        assert lines[3 * value : 3 * value + 3] == [[NOTHING], [NOTHING], [SET, place, str(code)]]


@pytest.mark.parametrize("number", FINE)
def test_values_of_fourteen_bits_are_the_code_at_their_travel(
    number: int, emitted: Emitted, player: Path
) -> None:
    item = emitted.layout.product.item(FINE[number])
    chance = random.Random(number)
    values = [0, 1, 8191, 8192, 8193, 16382, 16383, *(chance.randrange(16384) for _ in range(300))]
    events = []
    for value in values:
        events += received(control(number, value >> 7) + control(number + 32, value & 0x7F))
    lines = on_host(player, [*started(), *events])[2:]
    for at, value in enumerate(values):
        first, second = lines[6 * at + 2], lines[6 * at + 5]
        assert int(first[2]) == code_at(item, travel_of(value & ~0x7F, 14))
        assert int(second[2]) == code_at(item, travel_of(value, 14)), value
    assert codes_by_value(item, 14)[8192] == code_at(item, travel_of(8192, 14))


def test_the_middle_is_noon_and_the_ends_are_the_ends(emitted: Emitted) -> None:
    product = emitted.layout.product
    for bits, names in ((7, COARSE), (14, FINE)):
        for name in names.values():
            codes = codes_by_value(product.item(name), bits)
            assert (codes[0], codes[-1]) == (0, product.item(name).codes - 1)
    assert codes_by_value(product.item("time"), 7)[64] == 350 - 20
    assert codes_by_value(product.item("repeats"), 14)[8192] == 90
    # MIDI 1.0 on pedals: 63 and below are off, 64 and above on.
    assert codes_by_value(product.item("trails"), 7) == (0,) * 64 + (1,) * 64


def test_programs_call_presets_and_others_do_nothing(player: Path) -> None:
    sent = b"".join(bytes(mido.Message("program_change", program=program).bytes()) for program in range(6))
    lines = on_host(player, [*started(), *received(sent)])[2:]
    assert [line for at, line in enumerate(lines) if at % 2] == [
        [PRESET, "0"], [PRESET, "1"], [PRESET, "2"], [PRESET, "3"], [NOTHING], [NOTHING],
    ]  # fmt: skip


def test_the_channel_is_what_the_setting_says(emitted: Emitted, player: Path) -> None:
    def hears(setting: int, channel: int) -> bool:
        events = [*started(), put(emitted, "channel", setting), *received(control(20, 64, channel))]
        return on_host(player, events)[-1][0] == SET

    assert [hears(setting, channel) for setting, channel in ((1, 0), (1, 1), (16, 15), (16, 0), (5, 4))] == [
        True, False, True, False, True,
    ]  # fmt: skip
    assert all(hears(0, channel) for channel in range(16))


def test_running_status_real_time_and_strangers(emitted: Emitted, player: Path) -> None:
    running = bytes([0xB0, 20, 64, 20, 0xF8, 65, 0xFE, 20, 66])
    lines = on_host(player, [*started(), *received(running)])[2:]
    time = emitted.layout.product.item("time")
    wanted = [code_at(time, travel_of(value, 7)) for value in (64, 65, 66)]
    assert [int(line[2]) for line in lines if line[0] == SET] == wanted
    # A system common message ends running status; notes and bends are nobody's; half a message waits.
    other = bytes([0xB0, 20, 64, 0xF2, 1, 2, 20, 65, 0x90, 20, 64, 0xE0, 0, 64, 0xD0, 20, 0xB0, 20])
    lines = on_host(player, [*started(), *received(other)])[2:]
    assert [line for line in lines if line[0] != NOTHING] == [lines[2]]


def spelled_out(data: list[int]) -> list[int]:
    """The same as mido can read it: it knows no running status, takes a real-time byte for the end of the
    message that it stands in, and passes over F4 and F5, which are undefined and end running status as F6
    does."""
    full: list[int] = []
    status = told = 0
    for byte in data:
        if byte >= 0xF8:
            continue
        if byte >= 0x80:
            byte = 0xF6 if byte in (0xF4, 0xF5) else byte
            status, told = (byte if byte < 0xF0 else 0), 0
        elif status:
            if told == (1 if status & 0xE0 == 0xC0 else 2):
                full.append(status)
                told = 0
            told += 1
        full.append(byte)
    return full


@pytest.mark.slow
@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(0, 255) | st.sampled_from([0xB0, 20, 21, 53, 0xC0, 0, 1]), max_size=200))
@example([0xC0, 0, 0])
@example([0xB0, 21, 1, 53, 2, 0xF8, 21, 3])
@example([0xC0, 0xF8, 0, 0xF4, 1])
def test_random_bytes_are_heard_as_mido_hears_them(player: Path, emitted: Emitted, data: list[int]) -> None:
    lines = on_host(player, [*started(), *received(bytes(data))])[2:]
    product = emitted.layout.product
    wanted = []
    coarse = dict.fromkeys(FINE, 0)
    parser = mido.Parser()
    for byte in spelled_out(data):
        parser.feed_byte(byte)
        for message in parser:
            if message.is_realtime or getattr(message, "channel", 1) != 0:
                continue
            if message.type == "program_change" and message.program < 4:
                wanted.append([PRESET, str(message.program)])
            elif message.type == "control_change":
                value = message.value
                if message.control in COARSE:
                    item = product.item(COARSE[message.control])
                    wanted.append([SET, str(code_at(item, travel_of(value, 7)))])
                elif message.control in FINE:
                    coarse[message.control] = value
                    item = product.item(FINE[message.control])
                    wanted.append([SET, str(code_at(item, travel_of(128 * value, 14)))])
                elif message.control - 32 in FINE:
                    number = message.control - 32
                    both = 128 * coarse[number] + value
                    wanted.append([SET, str(code_at(product.item(FINE[number]), travel_of(both, 14)))])
    heard = [[line[0], line[-1]] for line in lines if line[0] in (SET, PRESET)]
    assert heard == wanted


# ---- out


def sent(emitted: Emitted, item: str, code: int, channel: int = 1) -> list[bytes]:
    number = header_numbers(emitted, "ITEM")[item]
    return [put(emitted, item, code), b"\x0d" + bytes([number, channel])]


@pytest.mark.slow
@pytest.mark.parametrize("number", [*COARSE, *FINE])
def test_every_code_is_sent_as_a_value_that_gives_it_back(
    number: int, emitted: Emitted, player: Path
) -> None:
    bits = 7 if number in COARSE else 14
    item = emitted.layout.product.item({**COARSE, **FINE}[number])
    codes = codes_by_value(item, bits)
    events = [one for code in range(item.codes) for one in sent(emitted, item.name, code)]
    lines = on_host(player, [NEW_LOOK, *events])[2::2]
    for code, line in enumerate(lines):
        messages = list(mido.parse_all(bytes.fromhex(line[0])))
        assert [message.type for message in messages] == ["control_change"] * (1 if bits == 7 else 2)
        assert [message.control for message in messages] == [number, number + 32][: len(messages)]
        value = messages[0].value if bits == 7 else 128 * messages[0].value + messages[1].value
        assert value == value_for(codes, code)
        assert codes[value] == code or code not in codes


def test_what_is_sent_is_what_is_published(emitted: Emitted, player: Path) -> None:
    """MIDI 1.0, status bytes: a control change on channel n is Bn, 14 bits are the high seven on n and the
    low seven on n + 32; a program change is Cn and counts from 0, so that program 5 is C0 04."""
    events = [*sent(emitted, "time", 330, 3), *sent(emitted, "repeats", 90, 1)]
    events += sent(emitted, "trails", 1, 0)
    events += [b"\x0e\x03\x01", b"\x0e\x00\x10", b"\x0e\x04\x01", b"\x0d\x63\x01"]
    lines = [line for line in on_host(player, [NEW_LOOK, *events]) if line != ["1"] and line]
    assert lines == [["B21440"], ["B01540B03500"], ["B0177F"], ["C003"], ["CF00"]]


# ---- dumps


def names_of(emitted: Emitted) -> list[str]:
    return [item.name for item in emitted.layout.product.per_preset]


def changed(emitted: Emitted, chance: random.Random) -> tuple[dict[str, int], list[bytes]]:
    """Random codes of a sound, and how they get into the look."""
    codes = {item.name: chance.randrange(item.codes) for item in emitted.layout.product.per_preset}
    return codes, [put(emitted, name, code) for name, code in codes.items()]


def raw_dump(emitted: Emitted, slot: int, codes: dict[str, int], name: bytes) -> bytes:
    """What is packed into a dump, made without the C."""
    layout = emitted.layout
    wide = {field["name"]: field["width"] > 8 for field in emitted.fields("presets")}
    raw = bytes([1]) + layout.product.code.to_bytes(2, "big") + bytes([layout.product.revision])
    raw += layout.look_fingerprint.to_bytes(4, "big") + bytes([slot])
    for name_of_item, code in codes.items():
        raw += code.to_bytes(1 + wide[name_of_item], "big")
    raw += name.ljust(12, b"\0")
    algorithm = layout.product.chip.checksum
    return raw + crc.compute(algorithm, raw).to_bytes(algorithm.size, "big")


def test_a_dump_is_an_exclusive_message_that_mido_reads(emitted: Emitted, player: Path) -> None:
    for seed in range(20):
        codes, events = changed(emitted, random.Random(seed))
        slot = seed % 4
        lines = on_host(player, [NEW_LOOK, *events, b"\x14" + bytes([slot]), b"\x16" + word(400)])
        data = bytes.fromhex(lines[-2][0])
        (message,) = mido.parse_all(data)
        assert message.type == "sysex" and data[0] == 0xF0 and data[-1] == 0xF7
        raw = raw_dump(emitted, slot, codes, b"Salt")
        assert tuple(message.data) == (0x7D, *packed(raw))
        assert unpacked(bytes(message.data[1:])) == raw


@pytest.mark.slow
def test_packing_is_as_published(tmp_path: Path, emitted: Emitted) -> None:
    """Files of eight bits in seven, as the File Dump of MIDI 1.0 (MMA, sample dump extensions) has them: top
    bits first, the first byte's in bit 6. The lengths are 8 for each 7 and one more for what is left."""
    cases = {
        "80": "4000", "80000000000000": "4000000000000000", "00000000000084": "0100000000000004",
        "818283": "70010203", "DEADBEEF": "785E2D3E6F",
    }  # fmt: skip
    for raw, data in cases.items():
        assert packed(bytes.fromhex(raw)).hex().upper() == data
    lengths = {1: 2, 7: 8, 8: 10, 64: 74, 128: 147, 133: 152, 256: 293, 1024: 1171}
    assert {length: len(packed(bytes(length))) for length in lengths} == lengths
    # The C's own packing, which is static, from within its file.
    body = "".join(
        "    packing.at = 0u; packing.place = 0u; packing.tops = 0u;\n"
        + "".join(f"    @_pack_seven(&packing, 0x{raw[at:at + 2]}u);\n" for at in range(0, len(raw), 2))
        + f"    for (i = 0u; i < {len(data) // 2}u; i++) {{ board_print_hex(message[i]); }}\n"
        + f"    board_putchar(' ');\n    for (i = 0u; i < {len(raw) // 2}u; i++)"
        + " { board_print_hex(@_unpacked(message, i)); }\n    board_putchar('\\n');\n"
        for raw, data in cases.items()
    )
    text = f'#include "{emitted.source.name}"\n#include "board.h"\nint main(void)\n{{\n'
    text += "    uint8_t message[16];\n    @_packing packing;\n    uint16_t i;\n"
    text += "    packing.message = message;\n"
    source = emitted.write("packs.c", f"{text}    packing.sum = 0u;\n{body}    return 0;\n}}\n")
    run = CHIPS[0].run(CHIPS[0].build([source], include_dirs=[emitted.folder]))
    assert run.stdout.split() == [word_ for raw, data in cases.items() for word_ in (data, raw)]


def codes_line(emitted: Emitted, line: list[str]) -> dict[str, int]:
    numbers = header_numbers(emitted, "ITEM")
    return {name: int(line[2 + numbers[name]]) for name in names_of(emitted)}


def length_of(emitted: Emitted) -> int:
    return len(packed(raw_dump(emitted, 0, dict.fromkeys(names_of(emitted), 0), b""))) + 3


def test_a_dump_comes_back_through_the_wire(emitted: Emitted, player: Path) -> None:
    codes, events = changed(emitted, random.Random(5))
    lines = on_host(player, [NEW_LOOK, *events, b"\x14\x02"])
    data = bytes.fromhex(lines[-1][0])
    wire = data[:9] + b"\xf8" + data[9:]  # a clock in the middle
    lines = on_host(player, [*started(keeps=True), *received(wire), b"\x17" + word(len(data))])
    assert lines[-2] == [DUMP]
    assert lines[-1][:2] == ["0", "2"] and codes_line(emitted, lines[-1]) == codes
    assert bytes.fromhex(lines[-1][-1]).rstrip(b"\0") == b"Salt"
    # Without room it is no message, cut short or drawn out it is none.
    for keeps, bad in ((False, data), (True, data[:-2] + b"\xf7"), (True, data[:-1] + b"\x01\xf7")):
        assert on_host(player, [*started(keeps), *received(bad)])[-1] == [NOTHING]


def test_no_changed_byte_is_taken(emitted: Emitted, player: Path) -> None:
    _, events = changed(emitted, random.Random(6))
    length = length_of(emitted)
    chance = random.Random(8)
    factory = on_host(player, [NEW_LOOK, b"\x14\x00", b"\x16" + word(1)])[-1]
    assert factory[0] == "4"  # the length is wrong
    trial: list[bytes] = [NEW_LOOK, *events, b"\x14\x01"]
    for at in range(length):
        flip = bytes([chance.randrange(1, 128)])
        trial += [b"\x15" + word(at) + flip, b"\x16" + word(length), b"\x15" + word(at) + flip]
    lines = on_host(player, [*trial, b"\x16" + word(length)])
    answers = [line for line in lines[len(events) + 2 :] if line]
    assert answers[-1][0] == "0"
    # Every refusal leaves slot and look as they were.
    assert {(line[0] in ("4", "6"), *line[1:]) for line in answers[:-1]} == {(True, *factory[1:])}
    assert answers[1][0] == "6"  # another maker's id


def test_dumps_of_others_are_told_apart(emitted: Emitted, player: Path) -> None:
    """A whole message with another product, revision, layout, slot or code in it."""
    raw = raw_dump(emitted, 1, dict.fromkeys(names_of(emitted), 0), b"Salt")
    size = emitted.layout.product.chip.checksum.size
    answers = {}
    for what, at, value in (
        ("product", 1, 0xFF), ("form", 0, 2), ("older", 3, 0), ("newer", 3, 2), ("layout", 5, raw[5] ^ 1),
        ("slot", 8, 4), ("code", 9, 0xFF), ("good", 8, 0),
    ):  # fmt: skip
        other = bytearray(raw[:-size])
        other[at] = value
        body = bytes(other)
        body += crc.compute(emitted.layout.product.chip.checksum, body).to_bytes(size, "big")
        data = b"\xf0\x7d" + packed(body) + b"\xf7"
        lines = on_host(player, [*started(keeps=True), *received(data), b"\x17" + word(len(data))])
        answers[what] = lines[-1][0]
    assert answers == {
        "product": "6", "form": "6", "older": "1", "newer": "2", "layout": "5", "slot": "4", "code": "4",
        "good": "0",
    }  # fmt: skip


@pytest.mark.slow
@on_every_chip
def test_every_chip_speaks_alike(chip: Chip, emitted: Emitted) -> None:
    _, events = changed(emitted, random.Random(9))
    chance = random.Random(10)
    sending = [one for name in (*COARSE.values(), *FINE.values()) for one in (
        b"\x0d" + bytes([header_numbers(emitted, "ITEM")[name], 2]),
    )]  # fmt: skip
    trace = [NEW_LOOK, b"\x0b\x01", *events, *sending, b"\x14\x03", b"\x16" + word(length_of(emitted))]
    for number in (*COARSE, *FINE, *(number + 32 for number in FINE)):
        for _ in range(6):
            trace += received(control(number, chance.randrange(128)))
    assert len(b"".join(trace)) < 1000
    run = chip.run(program(emitted, chip, ["LOOK"]), eeprom=b"".join(trace) + END)
    assert said(run.stdout) == on_host(program(emitted, CHIPS[0]), trace)
