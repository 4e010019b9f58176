"""FORMAT.md against the code: its tables, its worked example, and the reader that it prints."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterator
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

from paramc.driver import understand
from paramc.layout.derived import cover
from paramc.layout.fingerprint import ALL, canonical
from paramc.layout.json_form import layout_value, to_json
from paramc.layout.layout import LOOK, FieldKind, Kind, Layout
from paramc.layout.plan import plan
from paramc.model.scale import Scale, ThreePoint
from paramc.numbers.crc import CATALOGUE
from paramc.numbers.real import to_text
from paramc.text.source import Source
from tests.unit.layout.bits import crc_16_1021, packed, text_parts
from tests.unit.layout.products import doorbell, teasel_pinch

PAGE = resources.files("paramc.layout").joinpath("FORMAT.md").read_text(encoding="utf-8")
TRIAL = 0


def laid_out() -> Layout:
    layout = plan(doorbell()).value
    assert layout is not None
    return layout


def block(kind: str) -> str:
    (text,) = re.findall(rf"^```{kind}\n(.*?)^```$", PAGE, re.DOTALL | re.MULTILINE)
    return str(text)


def table(heading: str) -> list[list[str]]:
    """The rows of the one table with that first line, cell by cell."""
    assert PAGE.count(f"\n{heading}\n") == 1, heading
    lines = PAGE[PAGE.index(f"\n{heading}\n") + 1 :].split("\n")[2:]
    rows = []
    for line in lines:
        if not line.startswith("|"):
            break
        rows.append([cell.strip() for cell in line.strip("|").split("|")])
    return rows


def test_the_records_lie_where_the_page_says() -> None:
    found = [
        [record.kind.value, record.places[0], len(record.places), record.place_bytes, record.length]
        for record in laid_out().records
    ]
    rows = table("| kind | first place | places | bytes of a place | bytes of a record |")
    assert [[str(cell) for cell in row] for row in found] == rows


def test_the_fields_lie_where_the_page_says() -> None:
    found = [
        [record.kind.value, field.name, str(field.bit), str(field.width), str(field.codes)]
        for record in laid_out().records
        for field in record.fields
    ]
    assert found == table("| kind | field | bit | width | codes |")


TESTS = Path(__file__).resolve().parents[2]


def test_every_line_of_the_table_of_states_has_its_test() -> None:
    rows = table("| event | step | what the next start sees | test |")
    said = PAGE[PAGE.index("## Saving") : PAGE.index("| event | step |")]
    steps = re.findall(r"^(?:\d\. )?\*(\w+)\*[:,]", said, re.MULTILINE)
    assert steps == ["look", "seek", "break", "fill", "commit", "retire", "tidy"]
    assert {step for row in rows for step in row[1].split(", ")} == {*steps, "any"}
    for event, _, sees, test in rows:
        assert event and sees
        file, _, name = test.strip("`").partition("::")
        path = TESTS.parent / file
        assert re.search(rf"^def {name}\(", path.read_text(encoding="utf-8"), re.MULTILINE), test
    # The tests of states are all on the page.
    states = (TESTS / "target" / "test_saving_states.py").read_text(encoding="utf-8")
    named = {test.strip("`").partition("::")[2] for *_, test in rows}
    assert set(re.findall(r"^def (test_\w+)", states, re.MULTILINE)) <= named


def test_every_kind_of_field_and_of_record_is_explained() -> None:
    assert {row[0] for row in table("| kind of field | in | width in bits | what it is |")} == {
        kind.value for kind in FieldKind
    }
    rows = table("| kind | who writes it | places | different records |")
    assert [row[0] for row in rows] == [kind.value for kind in Kind]
    assert [row[1] == "the player" for row in rows] == [kind in LOOK for kind in Kind]


def test_where_the_page_says_a_field_stands_it_stands() -> None:
    within = {row[0]: row[1] for row in table("| kind of field | in | width in bits | what it is |")}
    for record in laid_out().records:
        for field in record.fields:
            said = within[field.kind.value]
            if said == "all but identity":
                assert record.kind is not Kind.IDENTITY
            else:
                assert record.kind.value == said


# ---- fingerprints


def test_the_canonical_form_is_the_one_on_the_page() -> None:
    layout = laid_out()
    assert canonical(layout.product, layout.records, ALL) == block("canonical")


def test_the_printed_source_is_the_product_that_the_page_is_about() -> None:
    understood = understand(Source("doorbell.paramc", block("paramc")))
    assert understood.diagnostics == ()
    assert understood.value is not None
    assert understood.value.product == doorbell()
    assert understood.value.layout == laid_out()


def parts(text: str) -> tuple[str, dict[str, str]]:
    """The lines before the first record, and those of each kind."""
    head, *records = re.split(r"^(?=record )", text, flags=re.MULTILINE)
    return head, {record.split()[1]: record for record in records}


def test_the_fingerprints_are_those_of_the_bytes_on_the_page() -> None:
    """SHA-256 of the printed text alone, cut as the page says, with nothing of the code."""
    head, records = parts(block("canonical"))
    wanted = {
        "all kinds": head + "".join(records.values()),
        "look": head + "".join(records[kind] for kind in ("setup", "presets", "state")),
        "bench": head + records["bench"],
    }
    printed = dict(table("| fingerprint over | value |"))
    assert printed == {
        over: hashlib.sha256(text.encode()).digest()[:4].hex().upper() for over, text in wanted.items()
    }
    layout = laid_out()
    numbers = (layout.fingerprint, layout.look_fingerprint, layout.bench_fingerprint)
    assert [f"{number:08X}" for number in numbers] == list(printed.values())


def test_every_line_of_the_form_is_in_its_table() -> None:
    rows = table("| line | how often |")
    known = {word.split()[0] for row in rows for word in re.findall(r"`([^`]+)`", row[0])}
    assert {line.split()[0] for line in block("canonical").splitlines()} <= known
    assert known >= {"off", "law", "coded"}


# ---- records


def worked() -> Iterator[tuple[str, int, bytes, bytes]]:
    for kind, address, before, record in table("| kind | address | cover | record |"):
        yield kind, int(address), bytes.fromhex(before), bytes.fromhex(record)


FIELDS: dict[tuple[str, int], list[tuple[int, int]]] = {
    # code, board not said, fingerprint, trial, no serial
    **{
        ("identity", at): [(16, 0x4442), (8, 0xFF), (32, 0xC0EED8D2), (1, 1), *text_parts(b"", 4)]
        for at in (4, 20)
    },
    # ends at 1.5 % of 1023 counts, pitch 0 cents is 20 steps from -10, neither measured
    **{("bench", at): [(10, 15), (10, 1008), (1, 0), (6, 20), (1, 0)] for at in (36, 45)},
    ("setup", 54): [(1, 0)],
    ("presets", 66): [(1, 0), (7, 50), (5, 15), (2, 1), *text_parts(b"Ding", 6)],
    ("presets", 80): [(1, 1), (7, 30), (5, 20), (2, 2), *text_parts(b"Dong", 6)],
    ("state", 108): [(1, 0), (1, 0), (7, 50), (5, 15), (2, 1)],
}
GROWTH = {"identity": 0, "bench": 1, "setup": 1, "presets": 2, "state": 1}


def test_the_printed_records_are_right_by_hand() -> None:
    """Put together from the page's rules bit by bit, and closed by a CRC of long division."""
    seen = {}
    for kind, address, before, record in worked():
        order = "big" if kind == "identity" else "little"
        body = packed([(8, TRIAL), (8, record[1]), *FIELDS[kind, address]], order) + bytes(GROWTH[kind])
        seen[kind, address] = body + crc_16_1021(before + body)
        assert record[1] == 1
    assert seen == {(kind, address): record for kind, address, _, record in worked()}
    assert seen.keys() == FIELDS.keys()


def test_the_printed_covers_are_those_of_the_layout() -> None:
    layout = laid_out()
    for kind, address, before, _ in worked():
        front, behind = cover(layout, Kind(kind))
        assert before == front + address.to_bytes(2, "big") + behind
    release = plan(doorbell(), trial=False).value
    assert release is not None
    assert [cover(release, kind) for kind in Kind] == [(b"", b"")] + [(b"\x44\x42", b"")] * 4


def test_no_printed_checksum_has_a_byte_that_breaks_the_seal() -> None:
    assert all(not {0x00, 0xFF} & set(record[-2:]) for *_, record in worked())


# ---- tapers


@pytest.mark.parametrize("code", range(31))
def test_the_formula_of_the_three_point_taper_gives_the_values_of_the_codes(code: int) -> None:
    """The page's formula in doubles, against the exact value to 12 digits."""
    scale = doorbell().item("hum").scale  # type: ignore[union-attr]
    assert isinstance(scale, Scale) and isinstance(scale.law, ThreePoint)
    first, noon, last, x = 20.0, 200.0, 2000.0, code / 30
    r = (last - noon) / (noon - first)
    value = first + (last - first) * (r ** (2 * x) - 1) / (r * r - 1)
    assert abs(value / float(to_text(scale.value(code), 15)) - 1) < 1e-12


# ---- the reader


def reader() -> Callable[[Any, bytes], Any]:
    names: dict[str, Any] = {}
    exec(compile(block("python"), "FORMAT.md", "exec"), names)
    found: Callable[[Any, bytes], Any] = names["read"]
    return found


def new_unit() -> bytearray:
    memory = bytearray(b"\xff" * 256)
    for _, address, _, record in worked():
        memory[address : address + len(record)] = record
    return memory


def test_the_reader_takes_thirty_lines_and_little_more() -> None:
    lines = [line for line in block("python").splitlines() if line.strip()]
    assert len(lines) <= 36


def test_the_reader_decodes_the_image_from_the_layout_file_alone() -> None:
    found = list(reader()(json.loads(to_json(laid_out())), bytes(new_unit())))
    assert [(kind, address) for kind, address, _, _ in found] == list(FIELDS)
    values = {(kind, address): fields for kind, address, _, fields in found}
    assert values["presets", 80] == {"slot": 1, "level": 30, "hum": 20, "chime": 2, "name": b"Dong\0\0"}
    assert values["identity", 4] == {
        "product_code": 0x4442,
        "hardware": 255,
        "fingerprint": 0xC0EED8D2,
        "trial": 1,
        "serial": bytes(4),
    }
    assert values["bench", 45]["loud_high"] == 1008


def test_the_reader_passes_over_every_flipped_bit() -> None:
    """Distance 4 at least: no single flipped bit of any record is taken for sound."""
    read, layout, good = reader(), layout_value(laid_out()), new_unit()
    sound = len(FIELDS)
    for kind, address, _, record in worked():
        for bit in range(8 * len(record)):
            bad = bytearray(good)
            bad[address + bit // 8] ^= 1 << bit % 8
            assert len(list(read(layout, bytes(bad)))) == sound - 1, (kind, bit)


def test_the_reader_reckons_every_checksum_of_the_catalogue() -> None:
    names: dict[str, Any] = {}
    exec(compile(block("python"), "FORMAT.md", "exec"), names)
    for algorithm in CATALOGUE.values():
        numbers = {
            name: getattr(algorithm, name) for name in ("width", "poly", "init", "reflected", "xorout")
        }
        assert names["crc"](numbers, b"123456789") == algorithm.check


def test_the_other_example_can_be_read_too() -> None:
    layout = plan(teasel_pinch()).value
    assert layout is not None
    assert list(reader()(layout_value(layout), b"\xff" * 256)) == []
    assert list(reader()(layout_value(layout), bytes(256))) == []
