"""Expression pedals in modes: what they set, by which selector, between which heel and toe."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from paramc.check.known import Declared, Known
from paramc.check.mode_rules import CONTROL_KIND, ITEM_KIND, ONE_ITEM
from paramc.check.pedal_rules import HEEL_AND_TOE, LEARN_FIXED_ENDS, TARGETS_DIFFER
from paramc.check.words import capital, counted
from paramc.model.items import Item, Param, Selector
from paramc.model.modes import ExpressionTargets, Learn
from paramc.model.panel import Pedal
from paramc.numbers.units import Dimension
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark

TARGETS = frozenset({"param", "selector", "flag"})
"""Which kinds of item a pedal can set."""


def read_targets(
    node: nodes.Sets,
    pedal: Declared,
    owner: str,
    known: Known,
    items: Mapping[str, Item],
    found: list[Diagnostic],
) -> ExpressionTargets | None:
    """What a pedal sets; None where something is wrong with it. items: those that could be made."""
    told: list[Diagnostic] = []
    for name in node.items:
        item = known.item(name, owner, told)
        if item is not None and item.kind not in TARGETS:
            sentence = f"{capital(owner)} sets {item} by {pedal}, which a foot must not turn."
            told.append(Diagnostic(ITEM_KIND, sentence, name.span, (Mark(item.place),)))
    _chooser(node, pedal, owner, known, items, told)
    ends = None
    if node.pedal_range is not None:
        ends = _ends(node.pedal_range, owner, known, items, told)
    found.extend(told)
    if told:
        return None
    return ExpressionTargets(
        pedal=node.control.text,
        items=tuple(name.text for name in node.items),
        chooser=node.chooser.text if node.chooser else None,
        heel=ends.heel.text if ends else None,
        toe=ends.toe.text if ends else None,
        place=node.span,
    )


def _chooser(
    node: nodes.Sets,
    pedal: Declared,
    owner: str,
    known: Known,
    items: Mapping[str, Item],
    found: list[Diagnostic],
) -> None:
    """A selector with as many ways as there are items; without one there is one item."""
    if node.chooser is None:
        if len(node.items) > 1:
            sentence = f"{capital(owner)} sets {counted(len(node.items), 'item')} by {pedal} at once."
            try_ = "by and a selector that chooses among them"
            found.append(Diagnostic(ONE_ITEM, sentence, node.span, try_=try_))
        return
    chooser = known.item(node.chooser, owner, found)
    if chooser is None:
        return
    if chooser.kind != "selector":
        sentence = f"{capital(owner)} chooses among items by {chooser}, which is no selector."
        found.append(Diagnostic(ITEM_KIND, sentence, node.chooser.span, (Mark(chooser.place),)))
        return
    made = items.get(node.chooser.text)
    if isinstance(made, Selector) and len(made.ways) != len(node.items):
        sentence = (
            f"{capital(owner)} sets {counted(len(node.items), 'item')} by {pedal}, and {chooser} has"
            f" {counted(len(made.ways), 'way')}."
        )
        found.append(Diagnostic(TARGETS_DIFFER, sentence, node.span, (Mark(chooser.place),)))


def _ends(
    node: nodes.PedalRange, owner: str, known: Known, items: Mapping[str, Item], found: list[Diagnostic]
) -> nodes.PedalRange:
    """Two params in % that stay within the travel, and are not one."""
    for word, name in (("heel", node.heel), ("toe", node.toe)):
        item = known.item(name, owner, found)
        if item is None:
            continue
        made = items.get(name.text)
        if item.kind != "param":
            sentence = f"{capital(owner)} takes {item} for a {word}, which is no param."
            found.append(Diagnostic(ITEM_KIND, sentence, name.span, (Mark(item.place),)))
        elif isinstance(made, Param) and not _is_share(made):
            sentence = f"{capital(owner)} takes {item} for a {word}, and it is not within 0 % to 100 %."
            found.append(Diagnostic(HEEL_AND_TOE, sentence, name.span, (Mark(item.place),)))
    if node.heel.text == node.toe.text:
        sentence = f"{capital(owner)} takes {node.heel.text} for heel and toe alike."
        found.append(Diagnostic(HEEL_AND_TOE, sentence, node.span))
    return node


def _is_share(param: Param) -> bool:
    scale = param.scale
    share = scale.unit.dimension is Dimension.SHARE and not scale.off_at_stop
    return share and scale.low >= 0 and scale.high <= 100


def not_a_pedal(node: nodes.Sets, control: Declared, owner: str, found: list[Diagnostic]) -> bool:
    """Whether what belongs to pedals is said of another control, which is then told."""
    for part, what in ((node.chooser, "chooses among items"), (node.pedal_range, "says heel and toe")):
        if part is not None:
            sentence = f"{capital(owner)} {what} for {control}, which is no pedal."
            found.append(Diagnostic(CONTROL_KIND, sentence, part.span, (Mark(control.place),)))
            return True
    return False


def read_learn(
    node: nodes.DeedLearn, owner: str, known: Known, found: list[Diagnostic]
) -> Learn | None:
    """The deed that learns a pedal's ends; None where there is no such pedal."""
    pedal = known.control(node.pedal, owner, found)
    if pedal is None:
        return None
    if pedal.kind != "pedal":
        sentence = f"{capital(owner)} learns the ends of {pedal}, which is no pedal."
        found.append(Diagnostic(CONTROL_KIND, sentence, node.pedal.span, (Mark(pedal.place),)))
        return None
    return Learn(node.pedal.text)


def check_learned(
    blocks: Iterable[nodes.Mode], pedals: Sequence[Pedal], found: list[Diagnostic]
) -> None:
    """What is learned has a place to be kept in."""
    fixed = {pedal.name: pedal for pedal in pedals if not pedal.learned}
    for block in blocks:
        for line in block.lines:
            if isinstance(line, nodes.Does) and isinstance(line.deed, nodes.DeedLearn):
                pedal = fixed.get(line.deed.pedal.text)
                if pedal is not None and pedal.place is not None:
                    sentence = f"The ends of pedal {pedal.name} are learned here, and the pedal keeps none."
                    also = (Mark(pedal.place, "does not say learned"),)
                    found.append(Diagnostic(LEARN_FIXED_ENDS, sentence, line.span, also, try_="learned"))
