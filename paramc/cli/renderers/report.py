"""What a build made and what it costs, for people and as data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from paramc.cli.files import Output
from paramc.cli.renderers import comparison, gestures, memory, promises, tempo
from paramc.cli.renderers.table import table
from paramc.cli.say import plain
from paramc.emit.older_view import OlderCost
from paramc.emit.packing import Packing
from paramc.frozen import dataclass
from paramc.layout.codec import fraction_text
from paramc.layout.fitted import FAMILY
from paramc.layout.layout import EngineTable, KnobTable, Layout
from paramc.numbers.quantity import decimal_text
from paramc.release.compare import Comparison, comparison_value
from paramc.tables.costs import routine_bytes, routines_of
from paramc.tables.forms import Form, data_bytes, form_of, stored_in

FORMAT = 1


@dataclass(frozen=True, slots=True)
class Built:
    """What a build made. packing: how its C packs. older: what it costs to read earlier revisions. since:
    against the last of them, where there is one and this is not itself a release."""

    layout: Layout
    made: tuple[Output, ...]
    packing: Packing
    older: OlderCost
    since: Comparison | None


def as_text(built: Built, folder: str) -> list[str]:
    """The report, a line each."""
    layout = built.layout
    return [
        *_made(layout, built.made, folder),
        "",
        *memory.as_text(layout),
        "",
        *_tables(layout),
        "",
        built.packing.text,
        *_older(built),
        *_gestures(layout),
        *_tempi(layout),
        *_promises(layout),
    ]


def as_data(built: Built) -> dict[str, Any]:
    """The report as JSON would have it. Bytes unless a key says otherwise."""
    layout, made, older = built.layout, built.made, built.older
    return {
        "format": FORMAT,
        "product": layout.product.name,
        "revision": layout.product.revision,
        "trial": layout.trial,
        "fingerprint": f"{layout.fingerprint:08X}",
        "files": [{"name": output.name, "bytes": len(output.data)} for output in made],
        "memory": memory.as_data(layout),
        "tables": [_table_data(use, name, of) for use, name, of in _uses(layout)],
        "gestures": gestures.as_data(layout),
        "tempi": tempo.as_data(layout),
        "packing": _packing_data(built.packing),
        "promises": promises.as_data(layout),
        "reads": {"revisions": list(older.revisions), "rows": older.rows, "tables": older.tables},
        "since": None if built.since is None else comparison_value(built.since),
    }


def _packing_data(packing: Packing) -> dict[str, Any]:
    """What packs, and bytes of flash of what could."""
    ways = {"loop": packing.loops, "lines": packing.lines}
    costs = {way: {"avr": avr, "cortex_m0": cortex_m0} for way, (avr, cortex_m0) in ways.items()}
    return {"by": "lines" if packing.straight else "loop", **costs}


def _older(built: Built) -> Iterator[str]:
    """What is read of earlier revisions, and what moved since the last one."""
    older = built.older
    if older.revisions:
        yield ""
        fields, values = _number(older.rows), _number(older.tables)
        yield f"Records of revision {', '.join(map(str, older.revisions))} are read as well:"
        yield f"{fields} bytes of flash for their fields, {values} for values that moved."
    if built.since is not None:
        yield ""
        yield f"What moved since revision {built.since.old.revision}:"
        yield from comparison.moved(built.since)


def _gestures(layout: Layout) -> list[str]:
    told = gestures.as_text(layout)
    return ["", *told] if told else []


def _tempi(layout: Layout) -> list[str]:
    told = tempo.as_text(layout)
    return ["", *told] if told else []


def _promises(layout: Layout) -> list[str]:
    told = promises.as_text(layout)
    return ["", *told] if told else []


def _made(layout: Layout, made: Sequence[Output], folder: str) -> Iterator[str]:
    product = layout.product
    state = "a trial: no release froze it, and every image says so"
    yield f"{plain(product.label)}, revision {product.revision}, {state if layout.trial else 'released'}."
    yield f"Fingerprint {layout.fingerprint:08X}. Written to {plain(folder)}:"
    yield ""
    yield from table(("file", "bytes"), [(o.name, _number(len(o.data))) for o in made], "lr")


def _tables(layout: Layout) -> Iterator[str]:
    uses = list(_uses(layout))
    data = sum(data_bytes(of.table) for _, _, of in uses)
    routines = routine_bytes(FAMILY, [routine for _, _, of in uses for routine in routines_of(of.table)])
    shared = f"and about {_number(routines)} of code that they share on AVR"
    yield f"Tables: {_number(data)} bytes of flash, {shared}."
    if not uses:
        return
    yield ""
    head = ("use", "of", "form", "codes", "stores", "bytes", "worst error", "pieces at least")
    rows = [
        (
            use, name, form_of(of.table).value, _number(of.table.entries), _stores(of),
            _number(data_bytes(of.table)), _worst(of), str(of.proof.pieces),
        )
        for use, name, of in uses
    ]  # fmt: skip
    yield from table(head, rows, "lllrlrlr")
    yield ""
    yield "Worst error: of an engine value as a share of what is allowed, of a knob in codes."
    others = [one for one in uses if form_of(one[2].table) is not Form.LINEAR]
    if others:
        yield "Alone on AVR each form would cost, in bytes of flash and mean cycles; <- is what was chosen."
        yield "Where a linear rule does, nothing else was looked at."
        yield ""
        costs = [(use, name, *_cost_cells(of)) for use, name, of in others]
        yield from table(("use", "of", *(form.value for form in Form)), costs, "ll" + "r" * len(Form))


def _uses(layout: Layout) -> Iterator[tuple[str, str, EngineTable | KnobTable]]:
    for engine in layout.engines:
        yield "engine", engine.item, engine
    for knob in layout.knobs:
        yield "knob", knob.name, knob


def _stores(of: EngineTable | KnobTable) -> str:
    count, word = stored_in(of.table)
    return f"{_number(count)} {word}" if count else "nothing"


def _worst(of: EngineTable | KnobTable) -> str:
    return f"{decimal_text(of.proof.worst)} at {of.proof.worst_at}" if of.proof.worst else "none"


def _cost_cells(of: EngineTable | KnobTable) -> Iterator[str]:
    costs, chosen = {cost.form: cost for cost in of.proof.costs}, form_of(of.table)
    for form in Form:
        cost = costs.get(form)
        if cost is None:
            yield "-"
        else:
            least, mark = ">= " if cost.at_least else "", " <-" if form is chosen else ""
            yield f"{least}{_number(cost.flash)}, {cost.cycles}{mark}"


def _table_data(use: str, name: str, of: EngineTable | KnobTable) -> dict[str, Any]:
    count, word = stored_in(of.table)
    return {
        "use": use,
        "of": name,
        "form": form_of(of.table).value,
        "codes": of.table.entries,
        "stores": {"count": count, "what": word},
        "flash": data_bytes(of.table),
        "worst": fraction_text(of.proof.worst),
        "worst_at": of.proof.worst_at,
        "without_good_integer": list(of.proof.without),
        "pieces_at_least": of.proof.pieces,
        "costs": [
            {"form": cost.form.value, "flash": cost.flash, "cycles": cost.cycles, "at_least": cost.at_least}
            for cost in of.proof.costs
        ],
    }


def _number(value: int) -> str:
    return f"{value:,}".replace(",", " ")
