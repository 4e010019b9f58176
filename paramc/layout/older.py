"""How firmware reads what an earlier revision has saved: its fields, and what each becomes today."""

from __future__ import annotations

from paramc.frozen import dataclass
from paramc.layout.layout import FieldKind, Kind
from paramc.tables.table import Table


@dataclass(frozen=True, slots=True)
class Target:
    """A field of today's record that comes from an old one. name, kind: of the field. table: what each code
    of the old field becomes; None where each that is in use stays as it is."""

    name: str
    kind: FieldKind
    table: Table | None


@dataclass(frozen=True, slots=True)
class OldField:
    """A field of an old record, in the order of its bits. codes: how many it had. standard: what a code that
    is not in use counts as: one behind them, or one of vacant, which ways that went have left. targets: none
    where nothing of today comes from it."""

    width: int
    codes: int
    standard: int
    targets: tuple[Target, ...]
    vacant: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Constant:
    """A field of today's record that the old one has nothing for, and its code."""

    name: str
    kind: FieldKind
    code: int


@dataclass(frozen=True, slots=True)
class OldRecord:
    """All records of a kind that a revision saved. fields: without slot, name and serial, which stay. text:
    bytes of its name. Every field of today's record but these is a target of one field, or a constant."""

    revision: int
    kind: Kind
    fields: tuple[OldField, ...]
    constants: tuple[Constant, ...]
    text: int
