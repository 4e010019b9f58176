"""`paramc release`: a revision frozen for good, in a file beside its source."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import Any

from paramc.cli import say
from paramc.cli.borrowing import reader_of
from paramc.cli.files import Trouble, write_one
from paramc.cli.releases import layouts_of, release_path
from paramc.cli.renderers import data, text
from paramc.cli.say import plain
from paramc.cli.understanding import Read, read_product
from paramc.driver import understand, understood
from paramc.layout.json_form import LARGEST_FILE
from paramc.layout.layout import Layout
from paramc.model.product import Product
from paramc.release.freeze import freeze, release_file
from paramc.release.read import read_release
from paramc.release.release import Release
from paramc.text.diagnostic import Diagnostic, has_stop
from paramc.text.source import Source

FORMAT = 1
"""The number of the form of the data."""


def run(file: str, *, as_json: bool) -> int:
    """Exit status: 0 released, 1 refused, and then nothing was written."""
    said: tuple[Diagnostic, ...] = ()
    try:
        read = read_product(file)
        trial = read.frozen is None
        answer = understood(read.module, layouts_of(read.releases), trial=trial, tables=False)
        said = answer.diagnostics
        if answer.value is None or has_stop(said):
            return _refused(file, said, (), as_json)
        _refuse_again(answer.value.product, read)
        _refuse_without_past(answer.value.product, read)
        if said:
            number = answer.value.product.revision
            raise Trouble(f"Revision {number} has open mends: mend each, or accept it with a reason.")
        release = _frozen(read)
        path = release_path(file, answer.value.product.name, release.revision)
        write_one(str(path), release_file(release), force=False)
    except Trouble as trouble:
        return _refused(file, said, (str(trouble),), as_json)
    if as_json:
        say.data(_data(file, release, path.as_posix(), read))
    else:
        say.out(*_text(release, path.as_posix(), read))
    return 0


def _refuse_again(product: Product, read: Read) -> None:
    """A number is released once."""
    same = [release for release in read.releases if release.revision == product.revision]
    if same:
        very = "from this very source" if read.frozen is same[0] else "from another source"
        write = max(release.revision for release in read.releases) + 1
        raise Trouble(
            f"Revision {product.revision} is released already, {very}. To release a change, write revision"
            f" {write}."
        )


def _refuse_without_past(product: Product, read: Read) -> None:
    """What a file says of earlier revisions is checked against them."""
    history = (item.history for item in product.items)
    if not read.releases and (product.retired or any(one.since or one.was for one in history)):
        raise Trouble(
            "The file speaks of earlier revisions, and there is no release of one beside it: put them back"
            " into the folder releases, or what units in the field have stored is not known."
        )


def _frozen(read: Read) -> Release:
    """The release, made, read back, and made once more from the text that stands in it."""
    assert read.source is not None
    borrowed = [Source(one.path, one.source.text) for one in read.borrowed]
    layout = _released_layout([read.source, *borrowed], read)
    release = freeze(layout, [Source(f"{layout.product.name}.paramc", read.source.text), *borrowed])
    file = release_file(release)
    if len(file) > LARGEST_FILE:
        raise Trouble(f"The release would have more than {LARGEST_FILE >> 20} MiB, the most that is read.")
    back = read_release(file)
    if isinstance(back, str):
        raise AssertionError(f"a release that cannot be read back: {back}")
    again = freeze(_released_layout(back.sources, read), back.sources)
    if release_file(again) != file or back.layout != layout:
        raise AssertionError("a release that its own source does not give again")
    return release


def _released_layout(sources: Sequence[Source], read: Read) -> Layout:
    first, *borrowed = sources
    answer = understand(first, layouts_of(read.releases), trial=False, read=reader_of(borrowed))
    assert answer.value is not None, "what was understood as a trial is understood as a release"
    return answer.value.layout


def _refused(file: str, said: tuple[Diagnostic, ...], troubles: tuple[str, ...], as_json: bool) -> int:
    if as_json:
        say.data({**data.as_data([file], said), "troubles": list(troubles)})
    say.person(*text.render(said).splitlines())
    if said:
        say.person("", text.closing(said, 1))
    say.person(*troubles, "Nothing was released.")
    return 1


def _data(file: str, release: Release, path: str, read: Read) -> dict[str, Any]:
    after = [one.revision for one in read.releases if one.revision < release.revision]
    return {
        **data.as_data([file], ()),
        "troubles": [],
        "release": {
            "format": FORMAT,
            "file": path,
            "product": release.layout.product.name,
            "revision": release.revision,
            "fingerprint": f"{release.layout.fingerprint:08X}",
            "digest": release.digest,
            "image_sha256": hashlib.sha256(release.image).hexdigest(),
            "after": after,
        },
    }


def _text(release: Release, path: str, read: Read) -> list[str]:
    product = release.layout.product
    earlier = [str(one.revision) for one in read.releases if one.revision < release.revision]
    follows = f"It follows revision {', '.join(earlier)}." if earlier else "It is the first of its product."
    accepted = [f"  {plain(one.rule)}: {plain(one.reason)}" for one in product.accepts]
    return [
        f"Revision {release.revision} of {plain(product.label)} is released: {plain(path)}.",
        f"Fingerprint {release.layout.fingerprint:08X}, digest {release.digest}.",
        follows,
        "Made again from the text in it, it came out the same. Keep it for good, under version control.",
        *(["Accepted mends:", *accepted] if accepted else []),
    ]
