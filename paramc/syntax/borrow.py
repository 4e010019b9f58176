"""What a product file borrows: the blocks of other files, standing where it borrows them."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Callable, Iterator
from pathlib import PurePath
from typing import Final, TypeAlias

from paramc.frozen import dataclass
from paramc.syntax import nodes
from paramc.syntax.borrow_rules import BORROW_BLOCK, BORROW_FILE, BORROW_PATH
from paramc.syntax.parse import LONGEST_TEXT, MOST_BLOCKS, parse
from paramc.text.diagnostic import Checked, Diagnostic, Mark
from paramc.text.source import Source

MOST_FILES: Final = 32
"""Files that one product borrows at most, those that these borrow among them."""

LONGEST_PATH: Final = 100
"""Characters of a path beside the product file."""

_PATH: Final = re.compile(r"([A-Za-z0-9_][A-Za-z0-9_-]*(\.[A-Za-z0-9_-]+)*/){0,8}"
                          r"[A-Za-z0-9_][A-Za-z0-9_-]*(\.[A-Za-z0-9_-]+)*\.paramc")  # fmt: skip

Reader: TypeAlias = Callable[[str], Source | str]
"""From a path beside the product file, with slashes, to the file's text; or what keeps it from being read, to
be said after its name: "is not there"."""


@dataclass(frozen=True, slots=True)
class Borrowed:
    """A file that is borrowed: its path beside the product file, with slashes, and its text."""

    path: str
    source: Source


@dataclass(frozen=True, slots=True)
class Joined:
    """A module with the blocks of all that it borrows in the places of its borrows, and these files in the
    order in which they are first met."""

    module: nodes.Module
    borrowed: tuple[Borrowed, ...]


def nothing_beside(path: str) -> Source | str:
    """The reader of a text that stands alone."""
    return "is not there"


def assembled(source: Source, read: Reader = nothing_beside) -> Checked[Joined]:
    """A product file and what it borrows, read and put together; None where a stop keeps it from that.

    Each file that is borrowed is parsed by itself, so one syntax mistake is told of each.
    """
    module = parse(source)
    if module.value is None:
        return Checked(None, module.diagnostics)
    joining = _Joining(PurePath(source.name).name, read)
    blocks = tuple(joining.blocks(module.value, "", ()))
    if joining.found:
        return Checked(None, tuple(joining.found))
    return Checked(Joined(nodes.Module(module.value.span, blocks), tuple(joining.files.values())))


_LENT: Final = (nodes.Item, nodes.Panel, nodes.Accept, nodes.Borrow)


class _Joining:
    """Files on their way into one module. files: by path, in the order in which they are met."""

    def __init__(self, own: str, read: Reader) -> None:
        self.found: list[Diagnostic] = []
        self.files: dict[str, Borrowed] = {}
        self._own = own
        self._read = read
        self._characters = 0
        self._blocks = 0

    def blocks(self, module: nodes.Module, folder: str, around: tuple[str, ...]) -> Iterator[nodes.Block]:
        """The blocks of a module that lies in a folder beside the product file; around: the paths of the
        files that borrow it, the outermost first."""
        for block in module.blocks:
            if isinstance(block, nodes.Borrow):
                yield from self._lent(block, folder, around)
            elif around and not isinstance(block, _LENT):
                word = block.span.text.split(maxsplit=1)[0].partition("{")[0]
                sentence = f"The block {word} stands in a borrowed file, and cannot be borrowed."
                borrow = block.span.source.stands_at
                also = () if borrow is None else (Mark(borrow, "borrowed here"),)
                self.found.append(Diagnostic(BORROW_BLOCK, sentence, block.span, also))
            else:
                yield block

    def _lent(self, borrow: nodes.Borrow, folder: str, around: tuple[str, ...]) -> Iterator[nodes.Block]:
        place, written = borrow.path.span, borrow.path.value
        path = posixpath.join(folder, written)
        if len(path) > LONGEST_PATH or not (_PATH.fullmatch(written) and _PATH.fullmatch(path)):
            sentence = "The path of a borrowed file leads elsewhere than beside this one or below."
            try_ = 'borrow "house.paramc" or borrow "shared/house.paramc"'
            self.found.append(Diagnostic(BORROW_PATH, sentence, place, try_=try_))
            return
        refusal = self._refusal(path, around)
        source = self._read(path) if refusal is None else refusal
        if isinstance(source, str):
            before = self.files.get(path)
            first = None if before is None else before.source.stands_at
            also = () if first is None else (Mark(first, "borrowed here first"),)
            self.found.append(Diagnostic(BORROW_FILE, f"The file {path} {source}.", place, also))
            return
        source = Source(source.name, source.text, stands_at=place)
        self.files[path] = Borrowed(path, source)
        self._characters += len(source.text)
        module = parse(source)
        self.found.extend(module.diagnostics)
        if module.value is None:
            return
        self._blocks += len(module.value.blocks)
        if self._characters > LONGEST_TEXT or self._blocks > MOST_BLOCKS:
            most = f"{LONGEST_TEXT} characters or {MOST_BLOCKS} blocks"
            sentence = f"With the file {path} more is borrowed than {most}."
            self.found.append(Diagnostic(BORROW_FILE, sentence, place))
            return
        yield from self.blocks(module.value, posixpath.dirname(path), (*around, path))

    def _refusal(self, path: str, around: tuple[str, ...]) -> str | None:
        """Why a path is not read, to be said after it; None where it is."""
        if path == self._own or path in around:
            return "borrows itself"
        if path in self.files:
            return "is borrowed twice"
        if len(self.files) >= MOST_FILES:
            return f"is one more than the {MOST_FILES} that may be borrowed"
        return None
