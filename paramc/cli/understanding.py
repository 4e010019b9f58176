"""A product file with its releases beside it, understood."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from paramc.cli.borrowing import reader_beside
from paramc.cli.files import Trouble, read_source
from paramc.cli.releases import releases_beside
from paramc.driver import Understood, module_of, product_name, understood
from paramc.frozen import dataclass
from paramc.syntax.borrow import Borrowed, assembled
from paramc.syntax.nodes import Module
from paramc.text.diagnostic import Checked
from paramc.text.source import Source

if TYPE_CHECKING:
    from paramc.layout.layout import Layout
    from paramc.release.release import Release
    from paramc.tables.choose import Known


@dataclass(frozen=True, slots=True)
class Read:
    """A product file as read. source, module: None where it cannot be. releases: of the product, the oldest
    first, and their paths. frozen: the one that this very source is. borrowed: the files that it borrows."""

    source: Source | None
    module: Checked[Module]
    releases: tuple[Release, ...]
    paths: tuple[str, ...]
    frozen: Release | None
    borrowed: tuple[Borrowed, ...] = ()

    @property
    def files(self) -> tuple[str, ...]:
        """The paths of all files beside the product file that were read."""
        return (*(one.source.name for one in self.borrowed), *self.paths)

    def understood(self, *, tables: bool = True, known: Known | None = None) -> Checked[Understood]:
        """What it means: as its release where it is one, else as a trial.

        tables, known: as `plan` takes them.
        Raises Trouble where this paramc makes something else of a released source than was released.
        """
        released = tuple(release.layout for release in self.releases)
        if self.frozen is None:
            return understood(self.module, released, tables=tables, known=known)
        answer = understood(self.module, released, trial=False, tables=tables, known=known)
        if answer.value is not None:
            from paramc.image.factory import factory_image

            layout, frozen = answer.value.layout, self.frozen
            if layout.fingerprint != frozen.layout.fingerprint or factory_image(layout) != frozen.image:
                raise Trouble(
                    f"This source is the one of revision {frozen.revision}, and this paramc makes another"
                    " image of it than was released. Stamp and restore from the release file, which has the"
                    " image; build the firmware with the paramc that made it."
                )
        return answer

    def otherwise(self, layout: Layout) -> tuple[str, ...]:
        """What to say where this paramc makes something otherwise of a released source, and not its memory.

        layout: what it makes, with its tables.
        """
        if self.frozen is None:
            return ()
        from paramc.release.otherwise import otherwise

        parts = otherwise(self.frozen.layout, layout)
        if not parts:
            return ()
        return (
            f"This source is the one of revision {self.frozen.revision}. This paramc makes the same memory of"
            f" it as was released, and otherwise: {', '.join(parts)}.",
            "Units take either firmware. The paramc that made the release makes the very one that was"
            " released.",
        )


def read_product(path: str) -> Read:
    """The product file at a path and its releases. Raises Trouble where a file cannot be read."""
    source = read_source(path)
    if source.value is None:
        return Read(None, Checked(None, source.diagnostics), (), (), None)
    joined = assembled(source.value, reader_beside(path))
    module, borrowed = module_of(joined), () if joined.value is None else joined.value.borrowed
    name = None if module.value is None else product_name(module.value)
    releases, paths = releases_beside(path, name) if name is not None else ((), ())
    frozen = _frozen([source.value, *(Source(one.path, one.source.text) for one in borrowed)], releases)
    return Read(source.value, module, releases, paths, frozen, borrowed)


def _frozen(sources: Sequence[Source], releases: Sequence[Release]) -> Release | None:
    """The release that was made of these very sources."""
    if not releases:
        return None
    from paramc.release.release import source_digest

    mine = source_digest(sources)
    return next((release for release in releases if release.source_digest == mine), None)
