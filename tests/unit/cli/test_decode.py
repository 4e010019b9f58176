from __future__ import annotations

from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from paramc.image.account import account_schema
from paramc.image.factory import factory_image
from paramc.image.files import to_hex, to_srec
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.layout import Kind, Layout
from tests.unit.cli.command import Command
from tests.unit.image.layouts import NAMES, example, gravel_weir, record, released
from tests.unit.image.test_memory import Memory

PINCH = "teasel_pinch"


@pytest.fixture
def command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Command:
    return Command(tmp_path, capsys)


def used() -> Memory:
    """A unit that was measured and played, one of its records damaged."""
    memory = Memory(example(PINCH))
    memory.bytes = bytearray(stamp_image(memory.layout, Unit("TP-000042", 0, (("vca_null", 140),))))
    memory.write(Kind.PRESETS, 1, number=1, counter=2, attack=700, tone=3)
    memory.spoil(Kind.PRESETS, 4, 3, 0x77)
    length = record(memory.layout, Kind.PRESETS).length
    memory.spoil(Kind.PRESETS, 6, length - 1, 0xFF)
    return memory


def layout_of(name: str) -> Layout:
    return gravel_weir() if name == "gravel_weir" else example(name)


@pytest.mark.slow
@pytest.mark.parametrize("name", [*NAMES, "gravel_weir"])
@pytest.mark.parametrize("form", ["hex", "srec", "bin"])
def test_every_product_in_every_form_is_known_by_its_dump(command: Command, name: str, form: str) -> None:
    layout = layout_of(name)
    at, image = layout.product.chip.hex_at, factory_image(layout)
    data = {"hex": to_hex(at, image), "srec": to_srec(at, image, "x"), "bin": image}[form]
    done = command.run("decode", command.file("dump", data), "--releases", command.layouts, "--json")
    assert (done.status, done.err) == (0, "")
    Draft202012Validator(account_schema()).validate(done.data)
    assert (done.data["product"], done.data["answer"]) == (name, "sound")


def test_what_a_person_reads(command: Command) -> None:
    dump = command.file("dump.bin", bytes(used().bytes))
    done = command.run("decode", dump, "--releases", command.layouts)
    assert (done.status, done.err) == (0, "")
    number = f"{example(PINCH).fingerprint:08X}"
    blocks = [block.splitlines() for block in done.out.split("\n\n")]
    assert blocks[0] == [
        f"Teasel Pinch (teasel_pinch), product code 0x5450, revision 2, fingerprint {number}.",
        "The unit answers damaged: something in it has no sound copy.",
    ]
    assert blocks[1] == [
        "Identity: sound.",
        "  serial    TP-000042",
        "  hardware  A",
        f"  made by   a trial with fingerprint {number}",
    ]
    assert blocks[2][:4] == [
        "Trims: sound.",
        '  vca_null       "VCA null"       12                 measured',
        '  detector_gain  "Detector gain"  0 dB               nominal, not measured',
        '  unity_level    "Unity level"    0 dB               nominal, not measured',
    ]
    assert blocks[2][4] == '  SQUEEZE        "Squeeze"        15 to 1008 counts  nominal, not measured'
    assert blocks[3][0] == 'Preset 1 "All at noon" in the factory: sound, as the factory made it.'
    assert blocks[4] == [
        'Preset 2 "Barely there" in the factory: sound.',
        '  squeeze  "Squeeze"  -14 dBu',
        '  ratio    "Ratio"    2:1',
        '  attack   "Attack"   70.5 ms       factory: 20 ms',
        '  release  "Release"  250 ms',
        '  level    "Level"    1 dB',
        '  tone     "Tone"     plain "Flat"  the stored code 3 means nothing, so this is the default',
    ]
    lost = "no sound copy; the unit plays what the factory made."
    assert blocks[7] == [f'Preset 5 "Brick on a string" in the factory: {lost}']
    assert blocks[11][0] == "Setup: sound."
    assert blocks[12][:2] == ["What plays now: sound.", "  preset 1 was called last; the unit is bypassed"]
    assert blocks[13] == [
        "Places: 12 sound, 5 blank, 1 unsealed, 1 damaged.",
        "  (unsealed: a copy that a later save retired, or a save that was cut off)",
        f"  presets at 0x{record(example(PINCH), Kind.PRESETS).places[4]:04X}: damaged",
    ]
    assert blocks[14][0].startswith(f"This is a trial, fingerprint {number}")


def test_presets_for_the_product_file(command: Command) -> None:
    dump = command.file("dump.bin", bytes(used().bytes))
    done = command.run("decode", dump, "--releases", command.layouts, "--source")
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith('preset 1 "All at noon" {\n  squeeze -24 dBu  ratio 4:1  attack 8 ms')
    assert "\n# Preset 5 is missing in this memory.\n" in done.out
    assert command.run("decode", dump, "--releases", command.layouts, "--source", "--json").status == 2


def test_what_the_dump_lacks_and_has_too_much_is_said(command: Command) -> None:
    image = bytes(used().bytes)
    layouts = command.layout(PINCH)
    short = command.run("decode", command.file("short", image[:100]), "--releases", layouts)
    assert short.status == 0
    assert short.err == "The dump does not give 156 bytes (0x0064 to 0x00FF) of the memory.\n"
    first = record(example(PINCH), Kind.STATE).places[0]
    assert f"  state at 0x{first:04X}: unread" in short.out
    long = command.run("decode", command.file("long", image + image), "--releases", layouts)
    twice = "Behind its 256 bytes the dump gives the memory once more, {}; the first is read.\n"
    assert long.err == twice.format("the same")
    other = bytearray(image)
    other[40] ^= 1
    unlike = command.run("decode", command.file("twice", image + other), "--releases", layouts)
    assert unlike.err == twice.format("not the same in 1 byte") and unlike.out == long.out
    odd = command.run("decode", command.file("odd", image + b"\x12" * 256), "--releases", layouts)
    assert odd.err == "The dump has 256 bytes outside the memory of this product; they are left aside.\n"
    memory = used()
    for place in (0, 1):
        memory.spoil(Kind.IDENTITY, place, 3, 0x77)
    lost = command.run("decode", command.file("lost", bytes(memory.bytes)), "--releases", layouts)
    assert lost.err == "No copy of identity is sound; the product is known by 9 other records that are.\n"
    assert "Identity: no sound copy; serial and hardware are not known." in lost.out


def test_a_release_is_read_as_a_layout_file_is(command: Command) -> None:
    dump = command.file("dump.bin", stamp_image(released(PINCH).layout, Unit("TP-7", 0)))
    for where in (command.releases, command.release(PINCH)):
        done = command.run("decode", dump, "--releases", where)
        assert (done.status, done.err) == (0, "")
        assert "  made by   a release with fingerprint" in done.out
        assert "This is a trial" not in done.out
    made = command.run("decode", dump, "--releases", command.layouts)
    # The trial reads what its release saved as that would; it is said whose reading it is.
    assert made.status == 0 and "The unit answers sound" in made.out
    assert made.out.endswith("by the layout of a trial, as the release of that revision would read it.\n")


def test_a_foreign_dump_is_refused_with_what_is_at_hand(command: Command) -> None:
    dump = command.file("dump.hex", factory_image(example("hob_and_kiln")))
    done = command.run("decode", dump, "--releases", command.layout(PINCH))
    assert (done.status, done.out) == (1, "")
    codes = "The dump is of product code 0x484B; the layouts at hand are of Teasel Pinch, 0x5450"
    assert done.err.startswith(codes)
    data = command.run("decode", dump, "--releases", command.layout(PINCH), "--json")
    Draft202012Validator(account_schema()).validate(data.data)
    assert (data.status, data.data["problems"]) == (1, [done.err.strip()])


def test_what_is_no_dump_at_all_is_called_so(command: Command) -> None:
    done = command.run("decode", command.file("letter.txt", "Dear all,\n"), "--releases", command.releases)
    assert (done.status, done.out) == (1, "") and len(done.err.splitlines()) == 1
    assert "The file is nearly all plain text without a record; it is read as raw binary." in done.err


def test_a_damaged_dump_file_is_refused_with_its_line(command: Command) -> None:
    text = to_hex(0, bytes(used().bytes)).decode()
    lines = text.splitlines()
    lines[3] = lines[3][:-1] + ("0" if lines[3][-1] != "0" else "1")
    done = command.run("decode", command.file("d.hex", "\n".join(lines)), "--releases", command.layouts)
    assert done.status == 1
    assert done.err.startswith(f"{command.folder}/d.hex, line 4 cannot be read as a dump. ")


def test_folders_of_layouts(command: Command) -> None:
    dump = command.file("dump.bin", bytes(used().bytes))
    empty = command.folder / "empty"
    empty.mkdir()
    done = command.run("decode", dump, "--releases", empty)
    assert done.status == 1 and "has no file whose name ends as that of a release" in done.err
    command.layout("long_causeway").write_text("{}", encoding="utf-8")
    done = command.run("decode", dump, "--releases", command.layouts)
    assert done.status == 0
    assert "long_causeway.layout.json is not a sound layout file." in done.err
    done = command.run("decode", dump, "--releases", command.folder / "none")
    assert done.status == 1 and "cannot be read" in done.err
    assert command.run("decode", dump).status == 2


def test_nothing_that_a_terminal_acts_on_comes_out_of_a_dump(command: Command) -> None:
    memory = Memory(gravel_weir())
    name = int.from_bytes(b"\x1b[2J\x07\xe2\x80\xae".ljust(12, b"\0"), "big")
    memory.write(Kind.PRESETS, 0, number=0, counter=2, name=name)
    for place in range(2):
        memory.write(Kind.IDENTITY, place, serial=int.from_bytes(b"\x1b]0;x\x07", "big"))
    dump = command.file("dump.bin", bytes(memory.bytes))
    for more in ((), ("--json",), ("--source",)):
        done = command.run("decode", dump, "--releases", command.layouts, *more)
        assert done.status == 0
        assert not set(done.out) & set("\x1b\x07\u202e")
