"""Hostile and damaged documents and lists: a sentence each, no exception, no work without bound."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.emit.presets_schema import presets_schema
from paramc.image import batch, documents
from paramc.image.batch import Mistake
from paramc.image.documents import Document, Problem, read_document
from tests.unit.image.layouts import example, gravel_weir
from tests.unit.image.lists import Batch, read_batch

GOOD = (
    b'{"product": "gravel_weir", "presets": [{"slot": 2, "name": "\xc3\xbc", "values":'
    b' {"depth": "40 Hz", "pick": "low", "bright": "on", "floor": "-10 dBu"}}], "setup": {"glow": "5 %"}}'
)


def document(data: bytes) -> Document | tuple[Problem, ...]:
    layout = gravel_weir()
    answer = read_document(layout, json.loads(presets_schema(layout)), data)
    if isinstance(answer, tuple):
        assert 1 <= len(answer) <= documents.MOST_PROBLEMS
        for problem in answer:
            assert problem.path.startswith("$") and len(problem.path) < 200
            assert problem.sentence.endswith(".") and len(problem.sentence) < 500
    return answer


def refusal(data: bytes) -> str:
    answer = document(data)
    assert isinstance(answer, tuple)
    return answer[0].sentence


def test_the_good_one_is_good() -> None:
    assert isinstance(document(GOOD), Document)
    assert document(b"\xef\xbb\xbf" + GOOD) == document(GOOD)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is not JSON"),
        (b"\xff\xfe{\x00}\x00", "is not UTF-8"),
        (b"\x00" * 100, "is not JSON"),
        (GOOD[:-1], "is not JSON"),
        (GOOD + GOOD, "is not JSON"),
        (b"[" * 100_000, "brackets more than"),
        (b'{"a":' * 100_000, "brackets more than"),
        (b'{"product": NaN}', "has the number NaN"),
        (b'{"product": Infinity}', "has the number Infinity"),
        (b'{"product": 1e999}', "has the number 1e999"),
        (b'{"product": ' + b"9" * 100_000 + b"}", "has a number of 100000 digits"),
        (GOOD.replace(b'"slot": 2', b'"slot": 2.5'), "has the number 2.5"),
        (GOOD.replace(b'"slot": 2', b'"slot": 2, "slot": 3'), 'has the key "slot" twice in one object'),
        (GOOD.replace(b'"pick"', b'"depth"'), 'has the key "depth" twice in one object'),
        (b" " * ((1 << 20) + 1), "more than 1 MiB"),
        (b'{"' + b'\\"' * 500_000, "is not JSON"),
    ],
)
def test_what_is_no_document(data: bytes, words: str) -> None:
    assert words in refusal(data)


@pytest.mark.parametrize(
    "text", ["", "\x1b[2J", "\u202e", "\ud800", "9" * 400_000, "at " * 100_000, "1_" * 200_000]
)
def test_a_value_of_anything_is_refused_within_bounds(text: str) -> None:
    for item in ("depth", "floor", "pick", "bright"):
        data = {"product": "gravel_weir", "presets": [{"slot": 1, "values": {item: text}}]}
        answer = document(json.dumps(data).encode())
        assert isinstance(answer, tuple)
        assert [problem.path for problem in answer] == [f"$.presets[0].values.{item}"]


def test_a_document_of_many_mistakes_tells_the_first() -> None:
    entries = [{"slot": "x", "values": {f"k{at}": "1"}} for at in range(10_000)]
    answer = document(json.dumps({"product": "gravel_weir", "presets": entries}).encode())
    assert isinstance(answer, tuple) and len(answer) == documents.MOST_PROBLEMS
    keys = {f"k{at}": "1" for at in range(50_000)}
    assert refusal(json.dumps({"product": "gravel_weir", "presets": [], **keys}).encode()) == (
        "The document has 50000 keys that are not known, the first k0."
    )


@settings(max_examples=300, deadline=None)
@given(st.integers(0, len(GOOD) - 1), st.binary(max_size=2), st.integers(0, 3))
def test_a_damaged_document_is_read_or_refused(at: int, put: bytes, cut: int) -> None:
    document(GOOD[:at] + put + GOOD[at + cut :])


json_values = st.recursive(
    st.none() | st.booleans() | st.integers(-10, 10) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(["product", "presets", "slot", "name", "values", "depth", "setup"]), json_values)
def test_any_value_in_any_place_is_read_or_refused(key: str, value: object) -> None:
    whole = json.loads(GOOD)
    entry = whole["presets"][0]
    for part in (whole, entry, entry["values"]):
        if key in part:
            part[key] = value
    document(json.dumps(whole).encode())


# ---- lists

HEAD = b"serial,hardware,vca_null,unity_level\r\n"
LIST = HEAD + b"TP-1,A,-3,0.15\r\nTP-2,A,4,-0.1\r\n"


def listed(data: bytes) -> Batch | Mistake:
    answer = read_batch(example("teasel_pinch"), data)
    mistakes = [answer] if isinstance(answer, Mistake) else [failed.mistake for failed in answer.failed]
    for mistake in mistakes:
        assert mistake.sentence.endswith(".") and len(mistake.sentence) < 500
        assert mistake.line is None or 1 <= mistake.line <= data.count(b"\n") + data.count(b"\r") + 1
    return answer


@pytest.mark.parametrize(
    "data",
    [
        b"\xef\xbb\xbf" + LIST,
        LIST.replace(b"\r\n", b"\n"),
        LIST.replace(b"\r\n", b"\r"),
        LIST.rstrip(),
        LIST + b"\r\n\r\n\n",
        LIST + b",,,\r\n,,,\r\n",
        LIST.replace(b"\r\n", b",,\r\n"),
        LIST.replace(b"TP-1", b'"TP-1"').replace(b"0.15", b'"0.15"'),
        HEAD + b"\r\n" + LIST.removeprefix(HEAD),
    ],
)
def test_what_spreadsheets_and_editors_do_without_harm(data: bytes) -> None:
    answer, plain = listed(data), listed(LIST)
    assert isinstance(answer, Batch) and isinstance(plain, Batch)
    assert not answer.failed and not plain.failed
    assert [one.unit for one in answer.listed] == [one.unit for one in plain.listed]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (LIST.decode().encode("utf-16"), "is UTF-16 text"),
        (LIST.replace(b"0.15", b"0.15\xb5"), "Line 2 has a byte that is not UTF-8"),
        (LIST.replace(b",", b";"), "parted by semicolons; write commas: serial,hardware,vca_null"),
        (LIST.replace(b"TP-2", b'"TP-2'), "Line 3 is not CSV"),
        (LIST.replace(b"TP-2", b'"TP"-2'), "Line 3 is not CSV"),
        (LIST.replace(b"TP-2", b'"TP-2' + b"x" * 200_000), "Line 3 is not CSV"),
        (b"sep=,\r\n" + LIST, 'Line 1: "sep=" is for spreadsheets alone; leave this line out.'),
        (b"SEP=;\r\n" + LIST, 'Line 1: "SEP=;" is for spreadsheets alone; leave this line out.'),
        (LIST.replace(b"serial,", b"serial ,", 1), 'column 1, "serial ", is not known; write serial.'),
        (LIST.replace(b"vca_null,", b"vca_null,serial,", 1), 'Line 1: column "serial" stands twice'),
        (b"\x00" * 1000, "Line 1: column 1, "),
        (b"x" * ((16 << 20) + 1), "more than 16 MiB"),
        (b"serial\n" + b"A\n" * 100_001, "more than 100000 units"),
    ],
)
def test_what_keeps_a_whole_list_back(data: bytes, words: str) -> None:
    answer = listed(data)
    assert isinstance(answer, Mistake)
    assert words in answer.sentence


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (b'TP-3,A,"0,5",0', "has a decimal comma; write 0.5"),
        (b"TP-3,A,0,5,0", "there are 5 cells under a head of 4; a decimal comma does that"),
        (b"1E5,A,0,0", "is read as a power of ten"),
        (b"100000,A,0,0", "is all digits, and spreadsheets drop zeros in front"),
        (b'"TP-3\r\nTP-4",A,0,0', "is no serial"),
        (b"TP-3,A,\x1b[2J,0", "is no number"),
        (b"TP-3,A," + b"1" * 201 + b",0", "has 201 characters, and 200 are the most"),
        (b"TP-3,A,1e400000000,0", "is a power of ten"),
        (b"TP-3,A,=HYPERLINK(1),0", "is a formula"),
        (b"TP-3,A,#REF!,0", "is no number"),
        (b"TP-3,A\x00,0,0", "does not fit this image"),
        (b"TP-3,A ,0,0", 'hardware "A " does not fit this image; write A'),
        (b"TP-3 ,A,0,0", 'serial "TP-3 " is no serial; write TP-3'),
        (b"TP-3,A,0\xc2\xa0,0", "has blanks around it; write 0"),
        (b"00TP3,A,0,0", "is no serial; write a capital letter, then A to Z"),
        (b"1.00E+05,A,0,0", "is read as a power of ten"),
        (b"C:\\TP-3,A,0,0", "is no serial"),
        (b"CON/TP-3,A,0,0", "is no serial"),
        (b"TP-3\x7f,A,0,0", "is no serial"),
        (b"+TP-3,A,0,0", "is no serial"),
        (b"@SUM(A1),A,0,0", "is no serial"),
    ],
)
def test_what_fails_one_unit_and_lets_the_others_go_on(line: bytes, words: str) -> None:
    answer = listed(LIST.replace(b"TP-2", line + b"\r\nTP-2"))
    assert isinstance(answer, Batch)
    assert [one.unit.serial for one in answer.listed] == ["TP-1", "TP-2"]
    [failed] = answer.failed
    assert failed.mistake.line == 3 and words in failed.mistake.sentence


def test_lines_are_counted_past_quoted_line_ends() -> None:
    answer = listed(HEAD + b'"a\r\nb",A,0,0\r\nTP-1,A,0,x\r\n')
    assert isinstance(answer, Batch)
    assert [failed.mistake.line for failed in answer.failed] == [2, 4]


@settings(max_examples=300, deadline=None)
@given(st.integers(0, len(LIST) - 1), st.binary(max_size=2), st.integers(0, 3))
def test_a_damaged_list_gives_units_of_its_own_text_only(at: int, put: bytes, cut: int) -> None:
    data = LIST[:at] + put + LIST[at + cut :]
    answer = listed(data)
    for one in answer.listed if isinstance(answer, Batch) else ():
        assert one.unit.serial.encode() in data


def test_the_longest_list_is_read() -> None:
    data = b"serial\n" + b"".join(b"S%d\n" % at for at in range(batch.MOST_UNITS))
    answer = listed(data)
    assert isinstance(answer, Batch) and len(answer.listed) == batch.MOST_UNITS
