"""Module -> Product: the whole stage on one screen."""

from __future__ import annotations

from collections.abc import Iterable

from paramc.check.accept import read_accepts
from paramc.check.blocks import check_needed, sort_blocks
from paramc.check.c_names import check_c_names
from paramc.check.chip import read_chip
from paramc.check.counts import check_counts
from paramc.check.dialled import Dialled
from paramc.check.facts import check_first_preset, check_wakes_from, read_facts
from paramc.check.history import check_history, read_retired
from paramc.check.holds import ROOMY, check_if_lost, read_holds
from paramc.check.items import read_items
from paramc.check.known import Known, each_name_once, known
from paramc.check.midi import read_midi
from paramc.check.modes import knob_turns, read_modes
from paramc.check.names import check_names
from paramc.check.panel import read_panel
from paramc.check.presets import read_presets
from paramc.check.promises import read_promises
from paramc.check.rules import CHECKS, OF_KNOBS
from paramc.check.tap import check_tap_press, read_tap
from paramc.model.items import Item
from paramc.model.product import Product
from paramc.syntax import nodes
from paramc.text.diagnostic import Checked, Diagnostic, has_stop, in_reading_order


def check(module: nodes.Module) -> Checked[Product]:
    """What a module means; None where a stop keeps it from meaning anything.

    Everything that is wrong is told in reading order, each mistake once. Mends are looked for in
    a product without stops only, and accepted ones are still among them.
    """
    found: list[Diagnostic] = []
    blocks = sort_blocks(module, found)
    check_needed(module, found)
    check_names(blocks, found)
    declared = known(blocks.items, blocks.panels)
    facts = read_facts(blocks.product, found) if blocks.product else None
    chip = read_chip(blocks.chip, found) if blocks.chip else None
    holds = read_holds(blocks.holds, blocks.keeps_once, blocks.measures, found) if blocks.holds else None
    panel = read_panel(blocks.panels, found)
    turns = knob_turns(blocks.modes, panel)
    items = read_items(blocks.items, found, turns)
    modes = read_modes(blocks.modes, declared, panel, items, found)
    tap = read_tap(blocks.taps, declared, items, found)
    check_tap_press(tap, modes, found)
    midi = read_midi(blocks.midis, declared, items, (holds or ROOMY).preset_slots, found)
    promises = read_promises(blocks.promises, declared, items, found)
    settled = _of_made_items(blocks.presets, declared, items)
    presets = read_presets(settled, items, holds or ROOMY, turns, found)
    accepts = read_accepts(blocks.accepts, found)
    retired = read_retired(blocks.retired, found)
    if facts is not None:
        check_history(blocks.items, items, retired, facts.revision, found)
        check_wakes_from(facts, declared, items, found)
    if holds is not None:
        check_if_lost(holds, items, found)
    if facts is not None and holds is not None:
        check_first_preset(facts, holds, found)
    if facts is None or chip is None or holds is None or has_stop(found):
        return Checked(None, each_name_once(in_reading_order(found)))
    product = Product(
        name=facts.name,
        label=facts.label,
        code=facts.code,
        prefix=facts.prefix,
        revision=facts.revision,
        hardware=facts.hardware,
        about=facts.about,
        language=facts.language,
        wakes=facts.wakes,
        wakes_from=facts.wakes_from.text if facts.wakes_from else None,
        first_preset=facts.first_preset,
        supply=facts.supply,
        inside=facts.inside,
        hot=facts.hot,
        battery=facts.battery,
        chip=chip,
        holds=holds,
        panel=panel,
        items=items,
        modes=modes,
        presets=presets,
        accepts=accepts,
        retired=retired,
        reads_from=facts.reads_from,
        tap=tap,
        midi=midi,
        promises=promises,
        place=facts.place,
    )
    check_counts(product, found)
    check_c_names(product, found)
    for rule in CHECKS:
        found.extend(rule(product))
    dialled = Dialled()
    for of_knobs in OF_KNOBS:
        found.extend(of_knobs(product, dialled))
    return Checked(None if has_stop(found) else product, in_reading_order(found))


def _of_made_items(
    presets: Iterable[nodes.Preset], declared: Known, items: Iterable[Item]
) -> tuple[nodes.Preset, ...]:
    """The presets without their settings of items that were declared and could not be made: the
    item's mistake is told already."""
    failed = declared.items.keys() - {item.name for item in items}
    settled = []
    for preset in presets:
        lines = tuple(
            line
            for line in preset.lines
            if not (isinstance(line, nodes.Setting) and line.item.text in failed)
        )
        settled.append(nodes.Preset(preset.span, preset.number, preset.label, preset.like, lines))
    return tuple(settled)
