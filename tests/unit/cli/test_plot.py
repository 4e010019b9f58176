from __future__ import annotations

from pathlib import Path

import pytest

from tests.stories import EXAMPLES, RELEASES, text_of
from tests.unit.cli.command import Command

pytestmark = pytest.mark.slow


@pytest.fixture
def command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Command:
    return Command(tmp_path, capsys)


CAUSEWAY = EXAMPLES / "long_causeway.paramc"


def hotter(command: Command) -> Path:
    text = text_of("long_causeway")
    return command.file("hotter.paramc", text.replace("noon 350 ms", "noon 250 ms"))


def test_the_drawing_the_table_and_the_thirds(command: Command) -> None:
    done = command.run("plot", CAUSEWAY, "time")
    assert (done.status, done.err) == (0, "")
    lines = done.out.splitlines()
    assert lines[0] == 'Param "Time": 20 ms to 1200 ms, 350 ms at noon; TIME in mode main sets it.'
    assert "  12:00   350 ms   330   11200" in lines
    assert lines[-1].endswith("range, 807 ms to 1200 ms, has 17.6 % of the travel: 3:14 to 5:00.")
    table = command.run("plot", CAUSEWAY, "time", "--table").out.splitlines()
    assert [line for line in lines if "*" not in line and ":   " not in line][-26:] == table[-26:]
    assert not any("*" in line for line in table)


def test_against_what_was(command: Command) -> None:
    done = command.run("plot", hotter(command), "time", "--against", CAUSEWAY)
    assert (done.status, done.err) == (0, "")
    assert "Old: 20 ms to 1200 ms, 350 ms at noon." in done.out
    assert "* is new, o is old, # is both." in done.out
    assert "  12:00   250 ms   230    8000     350 ms       330" in done.out.splitlines()
    first, last = RELEASES / "long_causeway.r1.json", RELEASES / "long_causeway.r5.json"
    assert command.run("plot", last, "time", "--against", first).status == 0


def test_a_picture_in_a_file(command: Command) -> None:
    out = command.folder / "time.svg"
    done = command.run("plot", hotter(command), "time", "--against", CAUSEWAY, "--svg", out)
    assert (done.status, done.err) == (0, f"Written: {out}.\n")
    assert out.read_bytes().startswith(b"<svg ") and 'class="older"' in out.read_text(encoding="utf-8")
    out.write_bytes(b"mine")
    assert command.run("plot", CAUSEWAY, "time", "--svg", out).status == 1 and out.read_bytes() == b"mine"
    assert command.run("plot", CAUSEWAY, "time", "--svg", out, "--force").status == 0


def test_as_data(command: Command) -> None:
    done = command.run("plot", CAUSEWAY, "time", "--json")
    assert (done.status, done.data["format"], done.data["old"]) == (0, 1, None)
    noon = done.data["curve"]["positions"][10]
    assert noon == {"clock": "12:00", "value": "350 ms", "code": 330, "engine": 11200}
    zones = command.run("plot", EXAMPLES / "teasel_pinch.paramc", "side_cut", "--json").data["zones"]
    assert isinstance(zones[1].pop("engine"), int)
    assert zones[1] == {"way": "low", "label": "80 Hz", "code": 1, "from": "9:00", "to": "11:00"}


def test_ways_instead_of_a_taper(command: Command) -> None:
    done = command.run("plot", EXAMPLES / "teasel_pinch.paramc", "tone")
    first = done.out.splitlines()[0]
    assert first == 'Selector "Tone" has no taper: TONE in mode main sets its ways, one a position.'
    for option in (("--svg", command.folder / "x.svg"), ("--against", EXAMPLES / "teasel_pinch.paramc")):
        refused = command.run("plot", EXAMPLES / "teasel_pinch.paramc", "tone", *option)
        assert (refused.status, refused.out) == (1, "")
        assert refused.err == "Selector tone has no taper to draw; leave out --svg and --against.\n"


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ((CAUSEWAY, "tim"), "has no item called tim; did you mean time?"),
        ((CAUSEWAY, "\x1b[31m"), "has no item called <U+001B>[31m; it has "),
        (("nowhere.paramc", "time"), "nowhere.paramc cannot be read"),
        ((CAUSEWAY, "time", "--against", EXAMPLES / "teasel_pinch.paramc"), "has no taper that time could"),
    ],
)
def test_what_cannot_be_shown(command: Command, arguments: tuple[object, ...], sentence: str) -> None:
    done = command.run("plot", *arguments)
    assert (done.status, done.out) == (1, "") and sentence in done.err
    data = command.run("plot", *arguments, "--json")
    assert data.status == 1 and sentence in data.data["problems"][0]


def test_other_units_of_the_same_and_of_another_dimension(command: Command) -> None:
    text = text_of("long_causeway")
    written = "range 20 ms .. 1200 ms   noon 350 ms   step 1 ms"
    assert written in text
    seconds = text.replace(written, "range 0.02 s .. 1.2 s   noon 0.35 s   step 0.001 s")
    done = command.run("plot", command.file("seconds.paramc", seconds), "time", "--against", CAUSEWAY)
    picture = done.out[done.out.index("+") : done.out.index("* is new")]
    assert done.status == 0 and "#" in picture and "*" not in picture and "o" not in picture
    cents = text.replace(written, "range 20 cents .. 1200 cents   noon 350 cents   step 1 cents")
    cents = cents.replace("engine u16 as samples at 32 kHz within 1 ms", "")
    refused = command.run("plot", command.file("cents.paramc", cents), "time", "--against", CAUSEWAY)
    assert refused.status == 1
