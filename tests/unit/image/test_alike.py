"""Files of many units, the rows that they share written out once, against the plain road."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest

from paramc.cli.images import image_file, image_writer
from paramc.image import alike
from paramc.image.alike import writer
from paramc.image.factory import FIRST_COUNTER, HARDWARE_UNSAID, factory_image, factory_values, put
from paramc.image.files import Form, to_hex, to_srec
from paramc.image.records import encode, text_value
from paramc.image.stamp import Unit, stamper
from paramc.layout.layout import FieldKind, Kind, Layout
from tests.unit.image.layouts import every_layout

PLAIN: dict[Form, Callable[[int, bytes], bytes]] = {
    Form.HEX: to_hex,
    Form.SREC: lambda address, data: to_srec(address, data, "HDR"),
    Form.RAW: lambda _, data: data,
}
ADDRESSES = [0, 3, 0xFFF8, 0xFFFF, 0x1_0000, 0x81_0000, 0xFF_FFF0, 0xFFFF_0000]


@pytest.mark.parametrize("form", Form)
@pytest.mark.parametrize("address", ADDRESSES)
@pytest.mark.parametrize("size", [1, 15, 16, 17, 256, 1003])
def test_every_image_is_written_as_if_it_were_alone(form: Form, address: int, size: int) -> None:
    chance = random.Random(size)
    model = chance.randbytes(size)
    write = writer(form, address, model, "HDR")
    images = [model, chance.randbytes(size), bytes(byte ^ 0xFF for byte in model), model]
    for at in {0, size // 2, size - 1}:
        images.append(model[:at] + bytes((model[at] ^ 1,)) + model[at + 1 :])
    for image in images:
        assert write(image) == PLAIN[form](address, image)


@pytest.mark.parametrize("form", [Form.HEX, Form.SREC])
def test_across_a_64_kib_edge_and_where_lines_are_not_alike(form: Form) -> None:
    chance = random.Random(5)
    model = bytes(70_000)
    write = writer(form, 0xFFF5, model, "HDR")
    for _ in range(5):
        image = bytearray(model)
        for _ in range(20):
            image[chance.randrange(len(image))] ^= chance.randrange(1, 256)
        assert write(bytes(image)) == PLAIN[form](0xFFF5, bytes(image))


def test_only_rows_that_differ_are_worked_out(monkeypatch: pytest.MonkeyPatch) -> None:
    rows: list[int] = []
    written = alike.data_record

    def watched(form: Form, address: int, data: bytes, last: int) -> bytes:
        rows.append(address)
        return written(form, address, data, last)

    monkeypatch.setattr(alike, "data_record", watched)
    model = bytes(4096)
    write = writer(Form.HEX, 0, model, "")
    write(model[:100] + b"\x01" + model[101:4095] + b"\x01")
    assert sorted(rows) == [96, 4080]


@pytest.mark.parametrize("form", [Form.HEX, Form.SREC])
def test_another_length_is_a_fault_of_the_caller(form: Form) -> None:
    with pytest.raises(ValueError, match="17 bytes, and the model 16"):
        writer(form, 0, bytes(16), "")(bytes(17))


def plainly(layout: Layout, unit: Unit) -> bytes:
    """The image of a unit, record by record and field by field, with nothing shared."""
    memory = bytearray(factory_image(layout))
    trims = dict(unit.trims)
    bench = [field for record in layout.records if record.kind is Kind.BENCH for field in record.fields]
    numbers = {field.number for field in bench if field.kind is FieldKind.ITEM and field.name in trims}
    for record in layout.records:
        if record.kind not in (Kind.IDENTITY, Kind.BENCH):
            continue
        values = []
        for field, factory in zip(record.fields, factory_values(layout, record), strict=True):
            match field.kind:
                case FieldKind.SERIAL:
                    values.append(text_value(unit.serial.encode(), field, record.order))
                case FieldKind.HARDWARE:
                    values.append(HARDWARE_UNSAID if unit.hardware is None else unit.hardware)
                case FieldKind.ITEM:
                    values.append(trims.get(field.name, factory))
                case FieldKind.MEASURED:
                    values.append(int(field.number in numbers))
                case _:
                    values.append(factory)
        for address in record.places:
            put(memory, address, encode(layout, record, address, FIRST_COUNTER, values))
    return bytes(memory)


@pytest.mark.parametrize("layout", every_layout(), ids=lambda layout: layout.product.name)
def test_a_batch_of_random_units_is_what_each_would_be_alone(layout: Layout) -> None:
    chance = random.Random(layout.product.code)
    product = layout.product
    image_of = stamper(layout)
    writers = {form: image_writer(layout, form) for form in Form}
    for at in range(60):
        some = chance.sample(product.trims, chance.randint(0, len(product.trims)))
        letters = "".join(chance.choices("ABCXYZ019-", k=chance.randrange(product.holds.serial_characters)))
        hardware = chance.choice([None, *product.boards])
        trims = tuple((trim.name, chance.randrange(trim.codes)) for trim in some)
        unit = Unit(f"S{letters}", hardware, trims)
        image = image_of(unit)
        assert image == plainly(layout, unit), at
        for form, write in writers.items():
            assert write(image) == image_file(layout, image, form)
