"""A unit restored from more than its dump, or from none: the log, another unit, the factory, one slot; and
the text to send."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from paramc.image.account import Account, account
from paramc.image.codes import code_text
from paramc.image.factory import factory_values
from paramc.image.log import LoggedTrim, Run, attempt_of, failure_of, line_of
from paramc.image.memory import read_memory
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.layout import FieldKind, Kind, Layout
from paramc.release.freeze import release_file
from paramc.release.release import Release
from tests.stories import story
from tests.unit.cli.command import Command, Done
from tests.unit.cli.test_restore import memory_in
from tests.unit.image.layouts import record
from tests.unit.image.test_memory import Memory

pytestmark = pytest.mark.slow

PINCH, CAUSEWAY = "teasel_pinch", "long_causeway"
UNIT = Unit("TP-000042", 0, (("vca_null", 140), ("unity_level", 38)))


@pytest.fixture
def command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Command:
    """With every revision of every product in `releases`."""
    made = Command(tmp_path, capsys)
    for old in made.releases.iterdir():
        old.unlink()
    for name in (PINCH, CAUSEWAY):
        for release in story(name):
            path = made.releases / f"{name}.r{release.revision}.json"
            path.write_bytes(release_file(release))
    return made


def logged(release: Release, unit: Unit, number: int = 1, image: bytes | None = None) -> bytes:
    """The line of a unit that was stamped from a release."""
    layout = release.layout
    product = layout.product
    run = Run(None, 1, product.name, f"0x{product.code:04X}", product.revision, release.digest)
    measured = dict(unit.trims)
    trims = [
        LoggedTrim(
            trim.name,
            code_text(trim, measured.get(trim.name, trim.nominal)),
            trim.name in measured,
            False,
        )
        for trim in product.trims
    ]
    board = None if unit.hardware is None else product.boards[unit.hardware]
    digest = hashlib.sha256(image or stamp_image(layout, unit)).hexdigest().upper()
    time = f"2026-03-0{number}T10:00:00.000Z"
    return line_of(attempt_of(time, run, unit.serial, number, board, trims, digest, "x.hex"))


def played(release: Release, unit: Unit = UNIT) -> Memory:
    memory = Memory(release.layout)
    memory.bytes = bytearray(stamp_image(memory.layout, unit))
    memory.write(Kind.PRESETS, 0, number=0, counter=2, attack=700)
    memory.write(Kind.PRESETS, 3, number=3, counter=2, attack=300)
    memory.write(Kind.SETUP, 0, counter=2, knee=3)
    memory.write(Kind.STATE, 0, counter=2, last_preset=3, attack=300)
    return memory


def lose(memory: Memory, *kinds: Kind) -> None:
    for kind in kinds:
        for place in range(len(record(memory.layout, kind).places)):
            memory.spoil(kind, place, 3, 0x77)


def restored(command: Command, *words: object) -> tuple[Done, Path]:
    """The run, and the file that it made in a folder of its own."""
    folder = command.folder / "made"
    done = command.run("restore", *words, "--releases", command.releases, "-o", folder)
    assert done.status == 0, done.err
    [path] = folder.iterdir()
    return done, path


def said(layout: Layout, path: Path) -> Account:
    return account(read_memory(layout, memory_in(layout, path)))


def refused(command: Command, *words: object) -> str:
    folder = command.folder / "made"
    done = command.run("restore", *words, "--releases", command.releases, "-o", folder)
    assert (done.status, done.out, folder.exists()) == (1, "", False)
    assert done.err.endswith("Nothing was written.\n")
    return done.err


def attacks(account: Account) -> list[str]:
    return [
        {value.item: value.value for value in preset.values}["attack"] for preset in account.presets
    ]


def trims(account: Account) -> dict[str, tuple[int, bool]]:
    assert account.bench is not None
    return {trim.item: (trim.code, trim.measured) for trim in account.bench.trims}


OWN = {"vca_null": (140, True), "detector_gain": (30, False), "unity_level": (38, True)}


# ---- names of files


@pytest.mark.parametrize("form", ["hex", "srec", "bin"])
def test_the_name_of_the_image_carries_serial_and_revision(command: Command, form: str) -> None:
    release = story(PINCH)[0]
    dump = command.file("dump.bin", bytes(played(release).bytes))
    _, path = restored(command, dump, "--form", form, "--revision", 2)
    assert path.name == f"teasel_pinch.r2.TP-000042.{form}"
    assert said(story(PINCH)[1].layout, path).identity.serial == "TP-000042"
    assert dump.read_bytes() == bytes(played(release).bytes)


def test_a_serial_that_could_be_a_path_is_no_name_of_a_file(command: Command) -> None:
    memory = played(story(PINCH)[1])
    serial = int.from_bytes(b"../../x\x1b".ljust(10, b"\0"), "big")
    for place in (0, 1):
        memory.write(Kind.IDENTITY, place, serial=serial, hardware=0)
    dump = command.file("dump.bin", bytes(memory.bytes))
    said = refused(command, dump)
    assert said.startswith("The serial ../../x<U+001B> cannot stand in the name of a file; name the image by")


# ---- what is wished


def test_the_factory_look_keeps_serial_and_trims(command: Command) -> None:
    release = story(PINCH)[1]
    memory = played(release)
    memory.spoil(Kind.PRESETS, 5, 3, 0x77)
    done, path = restored(command, command.file("dump.bin", bytes(memory.bytes)), "--factory")
    layout = release.layout
    assert memory_in(layout, path) == stamp_image(layout, UNIT) or trims(said(layout, path)) == OWN
    after = said(layout, path)
    assert not any(value.differs for preset in after.presets for value in preset.values)
    assert after.setup is not None and not any(value.differs for value in after.setup.values)
    assert "Kept from the dump: nothing.\n" in done.out
    numbers = ", ".join(f"preset {number}" for number in range(1, 9))
    assert f"As the factory makes it, as asked: {numbers}, setup, what plays now.\n" in done.out


def test_one_slot_alone_is_replaced(command: Command) -> None:
    release = story(PINCH)[1]
    dump = command.file("dump.bin", bytes(played(release).bytes))
    done, path = restored(command, dump, "--slot", 4)
    assert attacks(said(release.layout, path)) == [
        "70.5 ms", "20 ms", "25 ms", "60 ms", "1 ms", "35 ms", "4 ms", "12 ms"
    ]  # fmt: skip
    assert "As the factory makes it, as asked: preset 4.\n" in done.out
    assert "What plays now is kept, so the new preset 4 is heard once it is called." in done.out


def test_one_slot_of_a_document(command: Command) -> None:
    release = story(PINCH)[1]
    dump = command.file("dump.bin", bytes(played(release).bytes))
    slots = [{"slot": slot, "values": {"attack": "2 ms"}} for slot in (2, 4)]
    document = {"format": 1, "product": PINCH, "presets": slots, "setup": {"knee": "12 dB"}}
    path = command.file("look.json", json.dumps(document))
    _, image = restored(command, dump, "--presets", path, "--slot", 2)
    after = said(release.layout, image)
    assert attacks(after)[:4] == ["70.5 ms", "2 ms", "25 ms", "30.5 ms"]
    assert after.setup is not None
    assert {value.item: value.value for value in after.setup.values}["knee"] == "3 dB"
    image.unlink()
    image.parent.rmdir()
    absent = refused(command, dump, "--presets", path, "--slot", 3)
    assert "The document does not speak of slot 3." in absent
    none = refused(command, dump, "--slot", 9)
    assert "Slot 9 is none of the slots of this product, which are 1 to 8." in none


def test_the_look_of_one_unit_on_a_new_board(command: Command) -> None:
    """The old board is read, the new one is stamped: presets go over, and what was measured stays."""
    one, two = story(PINCH)
    old = command.file("old.bin", bytes(played(one, Unit("TP-000007", 0, (("vca_null", 9),))).bytes))
    new = command.file("new.bin", stamp_image(two.layout, UNIT))
    done, path = restored(command, new, "--look", old)
    after = said(two.layout, path)
    assert (after.identity.serial, trims(after)) == ("TP-000042", OWN)
    assert attacks(after)[:4] == ["70.5 ms", "20 ms", "25 ms", "30.5 ms"]
    assert after.state.last_preset == 4 and after.setup is not None
    assert {value.item: value.value for value in after.setup.values}["knee"] == "3 dB"
    assert "Taken from the dump of the other unit: preset 1," in done.out


def test_the_look_of_another_product_is_refused(command: Command) -> None:
    new = command.file("new.bin", stamp_image(story(PINCH)[1].layout, UNIT))
    other = command.file("other.bin", stamp_image(story(CAUSEWAY)[1].layout, Unit("LC-1", 0)))
    said = refused(command, new, "--look", other)
    assert "other.bin is of Long Causeway, and the unit is Teasel Pinch." in said


# ---- the log


def test_lost_trims_come_from_the_log(command: Command) -> None:
    release = story(PINCH)[1]
    memory = played(release)
    lose(memory, Kind.BENCH)
    dump = command.file("dump.bin", bytes(memory.bytes))
    assert "trims cannot be made up" in refused(command, dump)
    log = command.file("ship.log", logged(release, UNIT))
    done, path = restored(command, dump, "--log", log)
    after = said(release.layout, path)
    assert trims(after) == OWN and attacks(after)[0] == "70.5 ms"
    measured = "measured once, carried over from the record of what was shipped"
    assert f"    vca_null       12                 {measured}\n" in done.out
    assert "    detector_gain  0 dB               nominal, not measured on this unit\n" in done.out
    assert "Identity, carried over from the dump.\n" in done.out
    assert "has no measured ends: they are as the unit was shipped." in done.out


def test_a_lost_identity_comes_from_the_log_by_the_serial_on_the_unit(command: Command) -> None:
    release = story(PINCH)[1]
    memory = played(release)
    lose(memory, Kind.IDENTITY)
    dump = command.file("dump.bin", bytes(memory.bytes))
    other = replace(UNIT, serial="TP-000043", trims=(("vca_null", 2),))
    log = command.file("ship.log", logged(release, other) + logged(release, UNIT))
    assert "say --serial S, which stands on the unit." in refused(command, dump, "--log", log)
    _, path = restored(command, dump, "--log", log, "--serial", "TP-000042")
    after = said(release.layout, path)
    assert (after.identity.serial, after.identity.hardware, trims(after)) == ("TP-000042", "A", OWN)
    path.unlink()
    done, path = restored(command, dump, "--log", log, "--serial", "TP-000043")
    # The trims in the dump are another unit's by the log, and that is said.
    assert "The log has other trims for vca_null, unity_level; what is in the dump counts." in done.out


def test_a_unit_without_a_dump(command: Command) -> None:
    one, two = story(PINCH)
    log = command.file("ship.log", logged(one, UNIT))
    words = ("--serial", "TP-000042", "--log", log)
    done, path = restored(command, *words)
    assert path.name == "teasel_pinch.r1.TP-000042.hex"
    assert memory_in(one.layout, path) == stamp_image(one.layout, UNIT)
    path.unlink()
    # Updated since it left the house.
    _, path = restored(command, *words, "--revision", 2)
    after = said(two.layout, path)
    assert (after.revision, after.identity.serial, trims(after)) == (2, "TP-000042", OWN)
    assert "Identity, carried over from the record of what was shipped.\n" in done.out


def test_the_last_attempt_counts_wherever_its_line_stands(command: Command) -> None:
    release = story(PINCH)[1]
    again = replace(UNIT, trims=(("vca_null", 141),))
    failed = failure_of(
        "2026-03-09T10:00:00.000Z",
        Run(None, None, PINCH, "0x5450", 2, release.digest),
        "TP-000042",
        3,
        "the probe was off.",
    )
    lines = logged(release, again, 2) + b"\n" + line_of(failed) + logged(release, UNIT, 1)
    lines += b'{"format":1,"ki'
    log = command.file("ship.log", lines)
    _, path = restored(command, "--serial", "TP-000042", "--log", log)
    assert trims(said(release.layout, path))["vca_null"] == (141, True)


@pytest.mark.parametrize(
    ("was", "now", "words"),
    [
        (b'"value":"12"', b'"value":"13"', "so it was changed; nothing of it is taken"),
        (b'"measured":true', b'"measured":false', "so it was changed"),
        (b'"hardware":"A"', b'"hardware":"Z"', "has hardware Z for serial TP-000042"),
        (b'"item":"vca_null"', b'"item":"vca_nul"', "that the release does not have"),
        (b'"format":1', b'"format":9', "has another format than 1"),
        (b"TP-000042", b"TP-000044", "has no image that was made for serial TP-000042"),
        (b'{"format":1', b"[" * 9000, "cannot be read"),
    ],
)
def test_a_log_that_cannot_be_believed(command: Command, was: bytes, now: bytes, words: str) -> None:
    line = logged(story(PINCH)[1], UNIT)
    assert was in line
    log = command.file("ship.log", line.replace(was, now))
    assert words in refused(command, "--serial", "TP-000042", "--log", log)


def test_logs_without_the_unit(command: Command) -> None:
    for log in (command.file("ship.log", b""), command.folder / "none.log", command.folder):
        said = refused(command, "--serial", "TP-000042", "--log", log)
        assert "has no image that was made for serial TP-000042" in said or "cannot be read" in said


def test_a_serial_in_small_letters_is_told_how_to_write_it(command: Command) -> None:
    log = command.file("ship.log", logged(story(PINCH)[1], UNIT))
    said = refused(command, "--serial", "tp-000042", "--log", log)
    assert "for serial tp-000042. Serials have capital letters: TP-000042." in said


def test_a_log_of_a_release_that_is_not_at_hand(command: Command) -> None:
    one = story(PINCH)[0]
    log = command.file("ship.log", logged(one, UNIT))
    (command.releases / "teasel_pinch.r1.json").unlink()
    words = refused(command, "--serial", "TP-000042", "--log", log)
    assert "was stamped from revision 1 of teasel_pinch, release" in words
    assert "no release at hand is that one." in words


def test_the_log_of_another_product_is_not_this_units(command: Command) -> None:
    memory = played(story(PINCH)[1])
    lose(memory, Kind.BENCH)
    dump = command.file("dump.bin", bytes(memory.bytes))
    log = command.file("ship.log", logged(story(CAUSEWAY)[0], Unit("TP-000042", 0)))
    said = refused(command, dump, "--log", log)
    assert "left the house as Long Causeway, and the dump is of Teasel Pinch." in said


# ---- whose it is


def test_two_units_in_one_dump_are_not_taken_for_one(command: Command) -> None:
    release = story(PINCH)[1]
    memory = played(release)
    other = int.from_bytes(b"TP-000099".ljust(10, b"\0"), "big")
    memory.write(Kind.IDENTITY, 1, serial=other, hardware=0)
    dump = command.file("dump.bin", bytes(memory.bytes))
    both = "Sound copies of identity name different units, TP-000042 and TP-000099"
    assert both in refused(command, dump)
    told = command.run("decode", dump, "--releases", command.releases)
    assert told.status == 0 and both in told.err and "cannot be told apart" in told.err
    _, path = restored(command, dump, "--serial", "TP-000042")
    assert said(release.layout, path).identity.serial == "TP-000042"
    path.unlink()
    path.parent.rmdir()
    assert "and serial TP-000077 is asked for" in refused(command, dump, "--serial", "TP-000077")


def test_a_record_whose_release_is_not_at_hand_is_not_thrown_away(command: Command) -> None:
    one, two = story(PINCH)
    memory = played(one)
    memory.write_as(two.layout, Kind.PRESETS, 8, number=6, counter=3)
    dump = command.file("dump.bin", bytes(memory.bytes))
    (command.releases / "teasel_pinch.r2.json").unlink()
    told = command.run("decode", dump, "--releases", command.releases)
    assert "Revision 2 has saved in it, and its release, teasel_pinch.r2.json, is not at hand." in told.out
    assert "Preset 7 was saved by revision 2" in refused(command, dump)
    # The factory look needs none of it.
    _, path = restored(command, dump, "--factory", "--revision", 1)
    assert trims(said(one.layout, path)) == OWN


@pytest.mark.parametrize(
    "words",
    [(), ("--serial", "TP-1"), ("--log", "x"), ("D", "--factory", "--look", "D"), ("D", "--reply", "--json")],
)
def test_wrong_uses(command: Command, words: Sequence[str]) -> None:
    dump = command.file("dump.bin", bytes(played(story(PINCH)[1]).bytes))
    given = [str(dump) if word == "D" else word for word in words]
    done = command.run("restore", *given, "--releases", command.releases, "-o", command.folder / "made")
    assert (done.status, done.out) == (2, "")


# ---- the text to send


def test_the_reply(command: Command) -> None:
    memory = played(story(PINCH)[0])
    memory.spoil(Kind.PRESETS, 4, 3, 0x77)
    dump = command.file("dump.bin", bytes(memory.bytes))
    document = {"product": PINCH, "presets": [{"slot": 2, "values": {"attack": "at 2:30", "level": "off"}}]}
    wish = command.file("wish.json", json.dumps(document))
    done, path = restored(command, dump, "--revision", 2, "--presets", wish, "--reply")
    assert "Written: " in done.err
    parts = done.out.split("\n\n")
    assert parts[0] == "Your Teasel Pinch, serial TP-000042"
    assert path.name in parts[1] and "never load it into another." in parts[1].replace("\n", " ")
    changes = parts[2].replace("\n  ", " ").splitlines()
    assert changes == [
        "What will change:",
        "- Preset 2: as you asked. Squeeze -24 dBu, Ratio 4:1, Attack 25.6 ms, Release 200 ms, Level off,"
        " Tone Flat.",
        '- Preset 5 "Brick on a string": as the factory makes it, because what was there could not be read'
        " any more.",
        "- Setup, Dry blend: new in this revision, at 0 %.",
    ]
    assert parts[3].splitlines() == [
        "What will not change:",
        "- Presets 1, 3, 4 and 6 to 8.",
        "- The settings that are kept once for all presets.",
        "- What plays when it is switched on.",
        "- The serial.",
        "- The trims: those that were measured on your unit, and the rest, which never were.",
    ]
    assert f"- Write {path.name}: 256 bytes from address 0x0000, all of them in one go." in parts[4]
    rest = " ".join(parts[5:]).replace("\n", " ")
    for text in story(PINCH)[1].layout.texts:
        if {"reply", "restore"} & set(text.where):
            assert text.line in rest
    assert "Do not open the unit." in rest and "centre negative" in rest
    assert max(map(len, done.out.splitlines())) <= 92


@pytest.mark.parametrize(
    ("measured", "words"),
    [
        (0, "none of which was measured on your unit: they are at nominal."),
        (1, "- The trims, which were measured on your unit."),
    ],
)
def test_the_reply_calls_measured_what_was_measured(command: Command, measured: int, words: str) -> None:
    memory = played(story(PINCH)[1], Unit("TP-000042", 0))
    fields = {field.name: measured for field in record(memory.layout, Kind.BENCH).fields
              if field.kind is FieldKind.MEASURED}  # fmt: skip
    for place in range(len(record(memory.layout, Kind.BENCH).places)):
        memory.write(Kind.BENCH, place, counter=2, **fields)
    done, _ = restored(command, command.file("dump.bin", bytes(memory.bytes)), "--reply")
    assert words in done.out.replace("\n  ", " ")


def test_the_reply_warns_of_presets_that_feed_themselves(command: Command) -> None:
    release = story(CAUSEWAY)[2]
    memory = Memory(release.layout)
    memory.bytes = bytearray(stamp_image(release.layout, Unit("LC-000001", 0)))
    presets = record(release.layout, Kind.PRESETS)
    repeats = next(field for field in presets.fields if field.name == "repeats")
    memory.write(Kind.PRESETS, 2, number=2, counter=2, repeats=repeats.codes - 1)
    memory.write(Kind.PRESETS, 3, number=3, counter=2, repeats=200)  # 100 %, which does not
    assert factory_values(release.layout, presets)[presets.fields.index(repeats)] < 200
    done, _ = restored(command, command.file("dump.bin", bytes(memory.bytes)), "--reply")
    loud = next(part for part in done.out.split("\n\n") if part.startswith("Presets to begin with"))
    assert loud.splitlines()[1:] == [
        '- Preset 3 "Dotted gallop" has Repeats at 110 %, and above 100 % it feeds itself.'
    ]
    new = command.file("new.bin", stamp_image(release.layout, Unit("LC-000001", 0)))
    quiet, _ = restored(command, new, "--reply", "--force")
    assert "Presets to begin with" not in quiet.out


def test_nothing_in_the_reply_acts_on_a_terminal(command: Command) -> None:
    release = story(CAUSEWAY)[2]
    memory = Memory(release.layout)
    memory.bytes = bytearray(stamp_image(release.layout, Unit("LC-000001", 0)))
    presets = record(release.layout, Kind.PRESETS)
    size = next(field.width // 8 for field in presets.fields if field.name == "name")
    name = int.from_bytes(b"\x1b[2J\xe2\x80\xae".ljust(size, b"\0"), presets.order.value)
    repeats = next(field for field in presets.fields if field.name == "repeats")
    memory.write(Kind.PRESETS, 2, number=2, counter=2, name=name, repeats=repeats.codes - 1)
    done, _ = restored(command, command.file("dump.bin", bytes(memory.bytes)), "--reply")
    assert "<U+001B>[2J<U+202E>" in done.out
    assert not set(done.out + done.err) & set("\x1b\u202e")
