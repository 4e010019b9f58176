"""The tree of what was written: one class a rule of the grammar, in the grammar's order.

A class is named after its rule (off_at_stop, OffAtStop) and its fields are the rule's
children in order, so that the builder needs no word on each. A last field that is a
tuple takes all children that are left. What may be left out is None.
"""

from __future__ import annotations

from typing import TypeAlias

from paramc.syntax.node import Node as Node
from paramc.syntax.nodes.items import *  # noqa: F403  # every class of a part is one of the whole
from paramc.syntax.nodes.items import Item
from paramc.syntax.nodes.literals import *  # noqa: F403  # every class of a part is one of the whole
from paramc.syntax.nodes.memory import *  # noqa: F403  # every class of a part is one of the whole
from paramc.syntax.nodes.memory import Chip, Holds, Panel, Product
from paramc.syntax.nodes.play import *  # noqa: F403  # every class of a part is one of the whole
from paramc.syntax.nodes.play import Accept, Borrow, Midi, Mode, Preset, Promise, Retired, Tap

Block: TypeAlias = (
    Product | Chip | Holds | Panel | Item | Mode | Tap | Midi | Preset | Promise | Retired | Accept | Borrow
)


class Module(Node):
    """A whole file: its blocks in reading order."""

    blocks: tuple[Block, ...]
