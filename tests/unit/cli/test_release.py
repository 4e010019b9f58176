from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from paramc.cli.borrowing import reader_of
from paramc.driver import understand
from paramc.image.factory import factory_image
from paramc.layout.layout import Layout
from paramc.release.freeze import freeze, release_file
from paramc.release.read import read_release
from paramc.release.release import Release
from paramc.tables.forms import value_at
from paramc.tables.table import FullTable
from paramc.text.source import Source
from tests.released import released
from tests.stories import RELEASES, source_path
from tests.unit.cli.command import Command, Done

pytestmark = pytest.mark.slow

FIRST = """product gate_post "Gate Post" {
  code 0x4750  prefix gp  revision 1
  supply 9 V dc centre negative 20 mA  inside low voltage
}
chip { size 256 bytes  page 1 byte  endurance 100_000 writes  brown-out 2.7 V }
holds {
  identity 2 copies  serial 8 characters
  presets 3 slots  spare 1  saves 5 per day
  state 4 copies  saves 10 per day
}
panel { knob DEPTH "Depth" { adc 10 bits }  footswitch FOOT "Foot" }
param depth "Depth" { range 10 ms .. 400 ms  taper audio 20 %  step 2 ms  default 40 ms }
mode main { DEPTH sets depth  press FOOT does bypass }
preset 1 "Near" { depth 20 ms }
"""
WET = 'flag wet "Wet" { default on  since 2 formerly off }\n'


def second(more: str = WET) -> str:
    return FIRST.replace("revision 1", "revision 2") + more


class Bench(Command):
    """A product file of one's own, with its releases beside it."""

    def __init__(self, folder: Path, captured: pytest.CaptureFixture[str]) -> None:
        super().__init__(folder, captured)
        self.own = folder / "own"
        self.own.mkdir()
        self.source = self.own / "gate.paramc"

    def release_of(self, text: str, *words: str) -> Done:
        self.source.write_text(text, encoding="utf-8")
        return self.run("release", self.source, *words)

    def build(self, text: str, *words: str) -> Done:
        self.source.write_text(text, encoding="utf-8")
        return self.run("build", self.source, "-o", self.folder / "out", *words)

    def kept(self, revision: int) -> Path:
        return self.own / "releases" / f"gate_post.r{revision}.json"


@pytest.fixture
def bench(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Bench:
    return Bench(tmp_path, capsys)


def test_a_revision_is_frozen_beside_its_source(bench: Bench) -> None:
    done = bench.release_of(FIRST)
    assert (done.status, done.err) == (0, "")
    release = read_release(bench.kept(1).read_bytes())
    assert isinstance(release, Release)
    assert release.layout == released([FIRST])[0]
    assert [(one.name, one.text) for one in release.sources] == [("gate_post.paramc", FIRST)]
    assert done.out.splitlines() == [
        f"Revision 1 of Gate Post is released: {bench.kept(1)}.",
        f"Fingerprint {release.layout.fingerprint:08X}, digest {release.digest}.",
        "It is the first of its product.",
        "Made again from the text in it, it came out the same. Keep it for good, under version control.",
    ]
    then = bench.release_of(second())
    assert then.status == 0 and "It follows revision 1." in then.out
    assert sorted(path.name for path in bench.kept(1).parent.iterdir()) == [
        "gate_post.r1.json", "gate_post.r2.json",
    ]  # fmt: skip


def test_as_data(bench: Bench) -> None:
    assert bench.release_of(FIRST).status == 0
    done = bench.release_of(second(), "--json")
    assert (done.status, done.err) == (0, "")
    said = done.data["release"]
    assert (said["revision"], said["after"], said["file"]) == (2, [1], str(bench.kept(2)))
    again = bench.release_of(second(), "--json")
    assert again.status == 1 and again.data["troubles"][0].startswith("Revision 2 is released already")


def test_the_same_bytes_whatever_the_file_is_called_and_wherever_it_lies(bench: Bench) -> None:
    assert bench.release_of(FIRST).status == 0
    other = bench.folder / "elsewhere"
    other.mkdir()
    (other / "x.paramc").write_bytes(FIRST.replace("\n", "\r\n").encode())
    assert bench.run("release", other / "x.paramc").status == 0
    assert (other / "releases" / "gate_post.r1.json").read_bytes() == bench.kept(1).read_bytes()


def refused(done: Done, words: str) -> None:
    assert (done.status, done.out) == (1, "")
    assert words in done.err
    assert done.err.endswith("Nothing was released.\n")


def test_open_mends_are_refused_and_accepted_ones_are_not(bench: Bench) -> None:
    mend = FIRST.replace("inside low voltage", "")
    refused(bench.release_of(mend), "Revision 1 has open mends: mend each, or accept it with a reason.")
    assert not bench.kept(1).parent.exists()
    done = bench.release_of(f'{mend}accept inside-unsaid because "it is a gate post"\n')
    assert done.status == 0
    assert done.out.splitlines()[-2:] == ["Accepted mends:", "  inside-unsaid: it is a gate post"]


def test_a_number_is_given_once(bench: Bench) -> None:
    assert bench.release_of(FIRST).status == 0
    before = bench.kept(1).read_bytes()
    refused(bench.release_of(FIRST), "Revision 1 is released already, from this very source.")
    comment = bench.release_of(FIRST + "# better\n")
    refused(comment, "Revision 1 is released already, from another source. To release a change, write")
    values = bench.release_of(FIRST.replace("20 ms", "30 ms"))
    refused(values, "In preset 1, depth is 30 ms, released as 20 ms.")
    refused(bench.release_of(FIRST.replace("step 2 ms", "step 1 ms")), "STOP released-layout")
    assert bench.kept(1).read_bytes() == before


def test_numbers_only_rise(bench: Bench) -> None:
    assert bench.release_of(FIRST.replace("revision 1", "revision 5")).status == 0
    refused(bench.release_of(second("")), "STOP revision-behind")


def test_what_breaks_with_units_in_the_field_is_refused(bench: Bench) -> None:
    assert bench.release_of(FIRST).status == 0
    for text, rule in (
        (second('flag wet "Wet" { default on }\n'), "since-unsaid"),
        (second('flag wet "Wet" { default on  since 2 }\n'), "formerly-unsaid"),
        (second("").replace("serial 8", "serial 9"), "envelope-changed"),
        (second("").replace('depth "Depth" {', 'time "Depth" { since 2 formerly 40 ms ')
         .replace("sets depth", "sets time").replace("{ depth 20", "{ time 20"), "field-gone"),
        (second("").replace("400 ms", "300 ms"), "narrowed-unsaid"),
    ):  # fmt: skip
        refused(bench.release_of(text), rule)


def test_a_history_needs_its_releases(bench: Bench) -> None:
    refused(bench.release_of(second()), "The file speaks of earlier revisions, and there is no release")
    assert bench.build(second()).status == 0


def test_a_stop_is_a_stop(bench: Bench) -> None:
    refused(bench.release_of("product"), "STOP syntax")
    refused(bench.run("release", bench.folder / "none.paramc"), "cannot be read")


# ---- what a build makes of them


def test_the_released_source_gives_the_released_image(bench: Bench) -> None:
    before = bench.build(FIRST)
    assert "Gate Post, revision 1, a trial" in before.out
    trial = (bench.folder / "out" / "gate_post.factory.bin").read_bytes()
    assert bench.release_of(FIRST).status == 0
    done = bench.build(FIRST)
    assert "Gate Post, revision 1, released." in done.out
    image = (bench.folder / "out" / "gate_post.factory.bin").read_bytes()
    release = read_release(bench.kept(1).read_bytes())
    assert isinstance(release, Release)
    assert image == release.image != trial
    assert image[4] == 1 and trial[4] == 0  # the revision byte of the first record


def test_another_source_gives_a_trial(bench: Bench) -> None:
    assert bench.release_of(FIRST).status == 0
    for text, status, words in (
        (FIRST + "# better\n", 0, ""),
        (FIRST.replace("20 ms", "30 ms"), 0, "MEND released-values"),
        (FIRST.replace("step 2 ms", "step 1 ms"), 1, "STOP released-layout"),
        (second(), 0, ""),
    ):
        done = bench.build(text)
        assert done.status == status
        assert words in done.err and (words != "" or done.err == "")
        assert ("a trial" in done.out) == (status == 0)


def test_an_old_source_still_gives_its_release(bench: Bench) -> None:
    for text in (FIRST, second()):
        assert bench.release_of(text).status == 0
    done = bench.build(FIRST)
    assert "Gate Post, revision 1, released." in done.out
    release = read_release(bench.kept(1).read_bytes())
    assert isinstance(release, Release)
    assert (bench.folder / "out" / "gate_post.factory.bin").read_bytes() == release.image


def test_the_depfile_names_the_releases(bench: Bench) -> None:
    for text in (FIRST, second()):
        assert bench.release_of(text).status == 0
    bench.build(second())
    rule = (bench.folder / "out" / "gate_post.d").read_text(encoding="utf-8")
    assert f"{bench.kept(1)}:\n" in rule and f"{bench.kept(2)}:\n" in rule


def test_check_asks_the_releases_too(bench: Bench) -> None:
    assert bench.release_of(FIRST).status == 0
    bench.source.write_text(second('flag wet "Wet" { default on }\n'), encoding="utf-8")
    done = bench.run("check", bench.source)
    assert done.status == 1 and "STOP since-unsaid" in done.out


def test_a_release_that_cannot_be_read_stops_everything(bench: Bench) -> None:
    assert bench.release_of(FIRST).status == 0
    good = bench.kept(1).read_text(encoding="utf-8")
    bench.kept(1).write_text(good.replace("20 ms", "21 ms"), encoding="utf-8")
    for done in (bench.build(second()), bench.release_of(second()), bench.run("check", bench.source)):
        assert done.status == 1
        assert "is not a sound release. The release file was changed" in done.err
    bench.kept(1).write_text(good, encoding="utf-8")
    bench.kept(1).rename(bench.kept(3))
    done = bench.build(second())
    assert done.status == 1 and "is revision 1 of gate_post, which its name does not say" in done.err


def test_releases_of_other_products_beside_it_are_left_alone(bench: Bench) -> None:
    other = bench.kept(1).with_name("gate_post_two.r1.json")
    other.parent.mkdir()
    other.write_text("{}", encoding="utf-8")
    (other.parent / "notes.txt").write_text("x", encoding="utf-8")
    assert bench.release_of(FIRST).status == 0


def test_a_release_that_this_paramc_does_not_give_again_is_told(bench: Bench) -> None:
    layout = released([FIRST.replace("default 40 ms", "default 60 ms")])[0]
    bench.kept(1).parent.mkdir()
    bench.kept(1).write_bytes(release_file(freeze(layout, [Source("gate_post.paramc", FIRST)])))
    done = bench.build(FIRST)
    assert (done.status, done.out) == (1, "")
    assert "this paramc makes another image of it than was released" in done.err
    assert not (bench.folder / "out").exists()
    assert factory_image(layout) != factory_image(released([FIRST])[0])


def test_why_shows_what_was_released_before(bench: Bench) -> None:
    done = bench.run("why", "since-unsaid")
    assert done.status == 0 and "  Released before:" in done.out
    assert len(json.loads(bench.run("why", "since-unsaid", "--json").out)["before"]) == 1
    assert "Released before:" not in bench.run("why", "said-twice").out


def test_a_build_reports_what_moved_since_the_last_release(bench: Bench) -> None:
    """And what it costs to read the records of earlier ones."""
    command = bench
    releases = command.folder / "story" / "releases"
    releases.mkdir(parents=True)
    for revision in range(1, 6):
        name = f"long_causeway.r{revision}.json"
        (releases / name).write_bytes((RELEASES / name).read_bytes())
    text = source_path("long_causeway", 5).read_text(encoding="utf-8")
    moved = text.replace("noon 350 ms", "noon 300 ms").replace("revision  5", "revision  6")
    assert moved != text
    file = command.file("story/long_causeway.paramc", moved)
    done = command.run("build", file, "-o", command.folder / "out")
    assert done.status == 0
    lines = done.out.splitlines()
    assert lines[lines.index("Records of revision 1, 2, 3, 4, 5 are read as well:") + 1].endswith(
        "for their fields, 221 for values that moved."
    )
    since = lines[lines.index("What moved since revision 5:") :]
    assert "  time  noon     350 ms  300 ms" in since
    assert '  Preset 1 "All at noon": time from 350 ms to 300 ms' in since
    data = command.run("build", file, "-o", command.folder / "out", "--json").data["report"]
    assert data["reads"]["revisions"] == [1, 2, 3, 4, 5] and data["since"]["old"]["revision"] == 5
    # The release itself has nothing to report, and the first revision nothing to read.
    command.file("story/long_causeway.paramc", text)
    assert "What moved" not in command.run("build", file, "-o", command.folder / "own").out
    first = command.file("long_causeway.paramc", source_path("long_causeway", 1).read_bytes())
    (command.folder / "releases").rename(command.folder / "others")
    data = command.run("build", first, "-o", command.folder / "first", "--json").data["report"]
    assert data["reads"] == {"revisions": [], "rows": 0, "tables": 0} and data["since"] is None
    packing = data["packing"]
    assert packing["by"] == "loop" and packing["loop"]["avr"] < packing["lines"]["avr"]


# ---- releases that another paramc has made


ENGINE = 'param depth "Depth" { range 10 ms .. 400 ms  taper audio 20 %  step 2 ms  default 40 ms  engine u16'


def with_engine() -> str:
    old = FIRST.partition('param depth "Depth" {')[2].partition("}")[0]
    return FIRST.replace(f'param depth "Depth" {{{old}', f"{ENGINE} ")


def released_as(bench: Bench, layout: Layout, text: str) -> None:
    bench.kept(1).parent.mkdir(exist_ok=True)
    bench.kept(1).write_bytes(release_file(freeze(layout, [Source("gate_post.paramc", text)])))


def test_a_build_says_what_it_makes_otherwise_than_was_released(bench: Bench) -> None:
    """Where another paramc chose other tables, or knew other cautions; the memory is the same."""
    text = with_engine()
    layout = released([text])[0]
    [engine] = layout.engines
    values = tuple(value_at(engine.table, code) for code in range(layout.product.item("depth").codes))
    assert not isinstance(engine.table, FullTable)
    tables = replace(layout, engines=(replace(engine, table=FullTable(values)),))
    texts = replace(layout, texts=layout.texts[1:])
    both = replace(tables, texts=texts.texts)
    words = {
        layout: "",
        tables: "and otherwise: a table of depth.",
        texts: "and otherwise: the cautions.",
        both: "and otherwise: a table of depth, the cautions.",
    }
    for one, said in words.items():
        released_as(bench, one, text)
        done = bench.build(text)
        assert done.status == 0 and "Gate Post, revision 1, released." in done.out
        assert (said in done.err) and bool(done.err) == bool(said)
        data = bench.build(text, "--json").data
        assert bool(data["otherwise"]) == bool(said)
        assert (bench.folder / "out" / "gate_post.factory.bin").read_bytes() == factory_image(layout)
    assert "This paramc makes the same memory of it as was released" in done.err
    assert "The paramc that made the release makes the very one that was released." in done.err
    # A trial, and a source that is no release, have nothing to be told.
    assert bench.build(text + "# more\n").err == ""


# ---- what a product borrows


HOUSE = 'param depth "Depth" { range 10 ms .. 400 ms  taper audio 20 %  step 2 ms  default 40 ms }\n'
DEEPER = 'flag tail "Tail" { default on }\n'
LENT = {"house.paramc": f'{HOUSE}borrow "shared/tail.paramc"\n', "shared/tail.paramc": DEEPER}


def borrowing() -> str:
    assert HOUSE in FIRST
    text = FIRST.replace(HOUSE, 'borrow "house.paramc"\n')
    return text.replace("{ depth 20 ms }", "{ depth 20 ms  tail off }")


def lend(bench: Bench) -> None:
    for name, text in LENT.items():
        path = bench.own / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")


def take_away(bench: Bench) -> None:
    for name in LENT:
        (bench.own / name).unlink()


def test_a_release_carries_what_its_source_borrows(bench: Bench) -> None:
    lend(bench)
    assert bench.release_of(borrowing()).status == 0
    release = read_release(bench.kept(1).read_bytes())
    assert isinstance(release, Release)
    assert [(one.name, one.text) for one in release.sources] == [
        ("gate_post.paramc", borrowing()), *LENT.items(),
    ]  # fmt: skip
    # It means what the same text in one file means.
    plain = borrowing().replace('borrow "house.paramc"\n', HOUSE + DEEPER)
    assert release.layout == released([plain])[0]


def test_a_release_is_built_again_from_its_own_text_alone(bench: Bench) -> None:
    """With what it borrows gone, and in a folder that has nothing but what stands in the release."""
    lend(bench)
    assert bench.release_of(borrowing()).status == 0
    file = bench.kept(1).read_bytes()
    take_away(bench)
    release = read_release(file)
    assert isinstance(release, Release)
    first, *lent = release.sources
    again = understand(first, (), trial=False, read=reader_of(lent)).value
    assert again is not None and release_file(freeze(again.layout, release.sources)) == file

    place = bench.folder / "anew"
    for source in release.sources:
        path = place / source.name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(source.text, encoding="utf-8")
    assert bench.run("release", place / "gate_post.paramc").status == 0
    assert (place / "releases" / "gate_post.r1.json").read_bytes() == file
    done = bench.run("build", place / "gate_post.paramc", "-o", bench.folder / "out")
    assert (done.status, done.err) == (0, "") and "Gate Post, revision 1, released." in done.out
    assert (bench.folder / "out" / "gate_post.factory.bin").read_bytes() == release.image


def test_production_and_support_need_nothing_that_was_borrowed(bench: Bench) -> None:
    lend(bench)
    assert bench.release_of(borrowing()).status == 0
    take_away(bench)
    bench.source.unlink()
    release = read_release(bench.kept(1).read_bytes())
    assert isinstance(release, Release)
    image = bench.file("unit.bin", release.image)
    done = bench.run("decode", image, "--releases", bench.kept(1).parent)
    assert done.status == 0, done.err
    assert "tail" in done.out.lower() and "20 ms" in done.out


def test_what_is_borrowed_belongs_to_the_source_that_was_released(bench: Bench) -> None:
    lend(bench)
    assert bench.release_of(borrowing()).status == 0
    build = ("build", bench.source, "-o", bench.folder / "out")
    assert "Gate Post, revision 1, released." in bench.run(*build).out
    # Line ends are no change; a word is one, in the file that a borrowed file borrows as well.
    house, tail = bench.own / "house.paramc", bench.own / "shared" / "tail.paramc"
    house.write_bytes(LENT["house.paramc"].replace("\n", "\r\n").encode())
    assert "Gate Post, revision 1, released." in bench.run(*build).out
    tail.write_text(DEEPER + "# better\n", encoding="utf-8")
    assert "Gate Post, revision 1, a trial" in bench.run(*build).out
    tail.write_text(DEEPER.replace("default on", "default off"), encoding="utf-8")
    assert "STOP released-layout" in bench.run(*build).err or "MEND released-values" in bench.run(*build).err
    tail.unlink()
    done = bench.run(*build)
    assert done.status == 1 and "STOP borrow-file" in done.err
    # The next revision follows the release whatever became of the files that it borrowed.
    house.unlink()
    then = borrowing().replace('borrow "house.paramc"\n', HOUSE + DEEPER).replace("revision 1", "revision 2")
    assert bench.release_of(then + WET).status == 0
