"""`paramc verify`: what was read back from units, held against what was meant."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from paramc.cli import say
from paramc.cli.files import Trouble
from paramc.cli.images import read_dump
from paramc.cli.layouts import Found, cautions, cautions_data, released
from paramc.cli.renderers.banner import banner
from paramc.cli.renderers.table import table
from paramc.cli.say import plain
from paramc.cli.shipped import can_be_read, shipped_memory, shipped_unit
from paramc.frozen import dataclass
from paramc.image.label import check_characters
from paramc.image.memory import read_memory
from paramc.image.reading import flatten
from paramc.image.stamp import stamp_image
from paramc.image.verify import Difference, compared, unit_in
from paramc.layout.layout import Layout

FORMAT: Final = 1
"""The number of the form of the data."""

_SHOWN: Final = 12
_WITHOUT_LOG: Final = "Serial and trims are as the unit says them; --log holds them against what was stamped."


@dataclass(frozen=True, slots=True)
class Verdict:
    """On one dump. serial: "" where it says none. sentence: why it fails, "" where it passes; differences:
    all that is not as it was meant, where it could be compared."""

    dump: str
    serial: str
    sentence: str
    differences: tuple[Difference, ...] = ()

    @property
    def word(self) -> str:
        """PASS or FAIL."""
        return "FAIL" if self.sentence else "PASS"


def run(release: str, dumps: Sequence[str], log: str | None, *, as_json: bool) -> int:
    """Exit status: 0 where every dump is as it was meant, else 1."""
    try:
        found = released(release)
        verdicts = _verdicts(found, dumps, log)
    except Trouble as trouble:
        problem = f"{trouble} Nothing was verified."
        if as_json:
            say.data({"format": FORMAT, "problems": [problem]})
        say.person(problem)
        return 1
    if as_json:
        say.data(_data(found.layout, verdicts, log))
    else:
        say.out(*_text(found.layout, verdicts, log))
    return 1 if any(verdict.sentence for verdict in verdicts) else 0


def _verdicts(found: Found, dumps: Sequence[str], log: str | None) -> list[Verdict]:
    if log is not None:
        can_be_read(log)
    verdicts: list[Verdict] = []
    seen: dict[str, str] = {}
    for dump in dict.fromkeys(dumps):  # a file that is named twice is one unit
        verdict = _verdict(found, dump, log)
        before = seen.setdefault(verdict.serial, dump) if verdict.serial else dump
        if before != dump:
            sentence = f"Serial {verdict.serial} is in {plain(before)} too, and no two units have one serial."
            verdict = Verdict(dump, verdict.serial, sentence, verdict.differences)
        verdicts.append(verdict)
    return verdicts


def _verdict(found: Found, dump: str, log: str | None) -> Verdict:
    layout = found.layout
    serial = ""
    try:
        loaded = read_dump(dump)
        chip = layout.product.chip
        flat = flatten(loaded.chunks, loaded.origin(chip.hex_at), chip.size, chip.blank)
        contents = read_memory(layout, flat.data, flat.gaps)
        serial = "" if contents.identity is None else contents.identity.serial
        unit = unit_in(layout, contents)
        foreign = contents.identity is not None and contents.identity.product_code != layout.product.code
        if isinstance(unit, str) and (log is None or not serial or foreign):
            return Verdict(dump, serial, unit)
        if log is not None:
            meant = _stamped(found, log, serial)
        else:
            assert not isinstance(unit, str)
            meant = stamp_image(layout, unit)
        differ = compared(layout, meant, flat.data, flat.gaps)
    except Trouble as trouble:
        return Verdict(dump, serial, str(trouble))
    if not differ:
        return Verdict(dump, serial, unit if isinstance(unit, str) else "")
    more = f" {len(differ) - 1} more differ." if len(differ) > 1 else ""
    return Verdict(dump, serial, f"{differ[0].sentence}{more}", differ)


def _stamped(found: Found, log: str, serial: str) -> bytes:
    """The image that the log says was stamped for a serial. Raises Trouble."""
    record = shipped_unit(log, serial)
    if record.run.release != found.digest:
        raise Trouble(
            f"Serial {plain(serial)} was stamped from revision {record.run.revision} of"
            f" {plain(record.run.product)}, and not from this release."
        )
    return shipped_memory(found.layout, record)


def _data(layout: Layout, verdicts: Sequence[Verdict], log: str | None) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "problems": [],
        "product": layout.product.name,
        "revision": layout.product.revision,
        "meant_by": "dump" if log is None else "log",
        "passed": sum(not verdict.sentence for verdict in verdicts),
        "failed": sum(bool(verdict.sentence) for verdict in verdicts),
        "units": [
            {
                "dump": verdict.dump,
                "serial": verdict.serial or None,
                "result": verdict.word,
                "reason": verdict.sentence or None,
                "differences": [
                    {
                        "record": one.kind,
                        "preset": one.preset,
                        "address": one.address,
                        "field": one.field,
                        "meant": one.meant,
                        "found": one.found,
                    }
                    for one in verdict.differences
                ],
            }
            for verdict in verdicts
        ],
        "texts": cautions_data(layout, "verify", "bench"),
    }


def _text(layout: Layout, verdicts: Sequence[Verdict], log: str | None) -> list[str]:
    failed = sum(bool(verdict.sentence) for verdict in verdicts)
    lines = [*cautions(layout, "verify", "bench"), ""]
    for verdict in verdicts:
        if verdict.differences:
            lines += [f"{plain(verdict.dump)}:", *_differences(verdict.differences), ""]
    if len(verdicts) > 1:
        rows = [
            (one.word, _serial(one.serial), one.dump, one.sentence or "as it was meant") for one in verdicts
        ]
        lines += [*table(("result", "serial", "dump", "why"), rows, "llll"), ""]
    lines += [*banner("FAIL" if failed else "PASS"), ""]
    return [*lines, _sentence(layout, verdicts, failed, log)]


def _differences(differ: Sequence[Difference]) -> list[str]:
    rows = [(one.where, one.field, one.meant, one.found) for one in differ[:_SHOWN]]
    more = [f"  and {len(differ) - _SHOWN} more"] if len(differ) > _SHOWN else []
    return [*table(("record", "field", "meant", "found"), rows, "llll"), *more]


def _sentence(layout: Layout, verdicts: Sequence[Verdict], failed: int, log: str | None) -> str:
    """The one sentence that stands under the word."""
    whose = f"{plain(layout.product.label)}, revision {layout.product.revision}"
    by_log = "" if log is not None else f" {_WITHOUT_LOG}"
    if len(verdicts) > 1:
        good = len(verdicts) - failed
        word = "FAIL" if failed else "PASS"
        return f"{word}: {good} of {len(verdicts)} units of {whose} are as they were meant.{by_log}"
    [one] = verdicts
    if one.sentence:
        return f"FAIL: {_serial(one.serial)}. {plain(one.sentence)}"
    return f"PASS: {_serial(one.serial)} is as it was meant, {whose}.{by_log}"


def _serial(serial: str) -> str:
    """A serial as it stands on a label, or that there is none."""
    if not serial:
        return "no serial"
    sound = serial.replace("-", "").isalnum() and serial.isascii() and serial == serial.upper()
    return f"{serial} {check_characters(serial)}" if sound else plain(serial)
