from __future__ import annotations

from pathlib import Path

import pytest

from paramc.image.stamp import Unit, stamp_image
from paramc.layout.json_form import to_json
from paramc.release.freeze import release_file
from tests.stories import EXAMPLES, RELEASES, source_path, story
from tests.unit.cli.command import Command
from tests.unit.cli.test_release import FIRST, second

pytestmark = pytest.mark.slow


@pytest.fixture
def command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Command:
    return Command(tmp_path, capsys)


def release(name: str, revision: int) -> Path:
    return RELEASES / f"{name}.r{revision}.json"


def test_two_releases(command: Command) -> None:
    done = command.run("compare", release("long_causeway", 1), release("long_causeway", 5))
    assert (done.status, done.err) == (0, "")
    lines = done.out.splitlines()
    assert "  repeats  grid   step 0.5 %       step 1 %" in lines
    sounds = lines.index("Presets that sound different:")
    assert lines[sounds + 1 : sounds + 3] == [
        '  Preset 9 "Half-time cavern": time from 800 ms to 1100 ms, knob from 5:00 to 4:36',
        '  Preset 14 "Whisper bed": time from 800 ms to 900 ms, knob from 5:00 to 3:43',
    ]
    assert '  Preset 4 "Harbour fog": time 620 ms, knob from 3:11 to 2:09' in lines
    assert "  repeats        110 of 221 values become the nearest: 0.5 % becomes 0 %" in lines
    assert "  time           173 of 512 values cannot be held: 802 ms becomes 800 ms" in lines


def test_a_source_against_a_release_and_a_layout_file(command: Command) -> None:
    made = command.file("r1.layout.json", to_json(story("teasel_pinch")[0].layout))
    for old in (release("teasel_pinch", 1), made, source_path("teasel_pinch", 1)):
        done = command.run("compare", old, EXAMPLES / "teasel_pinch.paramc")
        assert (done.status, done.err) == (0, "")
        assert '  dry_blend  param  "Dry blend"' in done.out
        assert "Units of revision 1, moved to revision 2:\n  dry_blend  is 0 % there\n" in done.out


def test_two_sources_of_one_revision(command: Command) -> None:
    """What a designer asks: the same revision with another noon."""
    text = source_path("teasel_pinch", 1).read_text(encoding="utf-8")
    (command.folder / "own").mkdir()
    old = command.file("own/old.paramc", text)
    changed = text.replace("noon 8 ms", "noon 10 ms")
    changed = changed.replace("level 1 dB  tone bright", "level -0.5 dB  tone bright")
    done = command.run("compare", old, command.file("own/new.paramc", changed))
    assert (done.status, done.err) == (0, "")
    lines = done.out.splitlines()
    assert "  attack  noon     8 ms  10 ms" in lines
    assert "  attack  default  8 ms  10 ms" in lines
    assert '  Preset 1 "All at noon": attack from 8 ms to 10 ms' in lines  # the knob stays at noon
    third = next(line for line in lines if "Country snap" in line)
    assert "attack 25 ms, knob from " in third and "level from 1 dB to -0.5 dB, knob from " in third
    assert lines[-1] == "No unit goes from one to the other."


def test_a_source_that_follows_one_that_is_not_released(command: Command) -> None:
    old, new = command.file("old.paramc", FIRST), command.file("new.paramc", second())
    done = command.run("compare", old, new)
    assert done.status == 0 and "  wet  is off there" in done.out
    bad = command.file("bad.paramc", second('flag wet "Wet" { default on }\n'))
    done = command.run("compare", old, bad)
    assert done.status == 1 and "STOP since-unsaid" in done.err
    assert done.err.endswith("bad.paramc has stops, so there is nothing to compare or show.\n")


def test_a_new_item_that_presets_use_sounds_different(command: Command) -> None:
    used = second('flag wet "Wet" { default off  since 2 formerly off }\n')
    used = used.replace("{ depth 20 ms }", "{ wet on }")
    old, new = command.file("old.paramc", FIRST), command.file("new.paramc", used)
    lines = command.run("compare", old, new).out.splitlines()
    assert '  Preset 1 "Near": depth from 20 ms to 40 ms, knob from 8:10 to 9:46, wet from off to on' in lines


def test_notes_say_what_becomes_of_trims(command: Command) -> None:
    kept = command.run("compare", release("teasel_pinch", 1), release("teasel_pinch", 2), "--notes").out
    assert kept.startswith("Teasel Pinch, revision 2\n\nNew: Dry blend.\n")
    assert "\nUnits of revision 1 have Dry blend at 0 %, as they sounded.\n" in kept
    assert "\nTrims: kept as they are.\n" in kept
    anew = command.run("compare", release("hob_and_kiln", 1), release("hob_and_kiln", 2), "--notes").out
    assert "\nTrims: Hob bias, Kiln bias must be measured at the bench; all others are kept.\n" in anew
    assert '\nNot for units on board "A", which stay at revision 1.\n' in anew


def test_as_data(command: Command) -> None:
    done = command.run("compare", release("long_causeway", 4), release("long_causeway", 5), "--json")
    assert (done.status, done.err) == (0, "")
    data = done.data
    assert (data["old"]["revision"], data["new"]["revision"], data["presets"]) == (4, 5, [])
    assert data["changes"] == [
        {"item": "repeats", "label": "Repeats", "what": "grid", "was": "step 0.5 %", "now": "step 1 %"}
    ]
    [passage] = data["units"]["there"]
    assert (passage["fate"], passage["looked_at"], passage["nearest"]) == ("nearest", 221, 110)
    assert data["units"]["back"] == []


def test_what_cannot_be_compared(command: Command) -> None:
    done = command.run("compare", release("teasel_pinch", 1), release("hob_and_kiln", 1))
    assert (done.status, done.out) == (1, "")
    assert done.err == "Teasel Pinch, 0x5450, and Hob & Kiln, 0x484B, are two products.\n"
    none = command.run("compare", command.folder / "none", release("hob_and_kiln", 1), "--json")
    assert none.status == 1 and len(none.data["problems"]) == 1
    assert command.run("compare", release("teasel_pinch", 1), command.file("x.json", "{}")).status == 1
    assert command.run("compare", release("teasel_pinch", 1)).status == 2
    both = command.run("compare", release("teasel_pinch", 1), release("teasel_pinch", 2), "--json", "--notes")
    assert both.status == 2


def test_a_unit_is_moved_and_told_of(command: Command) -> None:
    folder = command.folder / "rs"
    folder.mkdir()
    for one in story("long_causeway"):
        (folder / f"long_causeway.r{one.revision}.json").write_bytes(release_file(one))
    dump = command.file("dump.bin", stamp_image(story("long_causeway")[3].layout, Unit("LC-1", 0)))
    out = command.folder / "new.hex"
    words = ("restore", dump, "--releases", folder, "-o", out)
    done = command.run(*words, "--revision", 3)
    assert (done.status, done.err) == (0, "")
    lines = done.out.splitlines()
    assert "Long Causeway, revision 3, serial LC-1, hardware B." in lines
    at = lines.index("  setup, by revision 4")
    assert lines[at + 1] == "    taps_averaged  -  3 taps  not in that revision"
    data = command.run(*words, "--revision", 3, "--json").data
    assert data["revision"] == 3 and {one["revision"] for one in data["carried"]} == {4}
    assert "  made by   a release" in command.run("decode", out, "--releases", folder).out
    done = command.run(*words, "--revision", 6)
    assert done.status == 1 and "No release of Long Causeway, revision 6, is at hand." in done.err
    assert command.run(*words, "--revision", 0).status == 2


def test_a_unit_on_a_board_that_does_not_fit_stays(command: Command) -> None:
    folder = command.folder / "rs"
    folder.mkdir()
    for one in story("hob_and_kiln"):
        (folder / f"hob_and_kiln.r{one.revision}.json").write_bytes(release_file(one))
    dump = command.file("dump.bin", stamp_image(story("hob_and_kiln")[0].layout, Unit("HK-1", 0)))
    out = command.folder / "new.hex"
    done = command.run("restore", dump, "--releases", folder, "-o", out, "--revision", 2)
    assert (done.status, out.exists()) == (1, False)
    assert "The unit's board is not one that revision 2 fits, which are B." in done.err
