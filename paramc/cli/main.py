"""The commands and their words. Each body imports what it needs, so that --help is quick."""

from __future__ import annotations

import gc
import os
import sys

import click

from paramc import __version__

EXIT_FAULT = 1
EXIT_OURS = 70


class _Group(click.Group):
    """Keeps the order in which a product lives, and turns our own faults into one line."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)


@click.group(cls=_Group, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="paramc", message="%(prog)s %(version)s")
def paramc() -> None:
    """Compiles a pedal's product file to firmware tables, EEPROM images and answers for support.

    Exit status: 0 done and good, 1 something in the input, a unit, a file or the disk is at fault,
    2 wrong use of a command, 70 a fault of paramc itself.
    """


@paramc.command()
@click.argument("files", nargs=-1, required=True, metavar="FILE...")
@click.option(
    "--as",
    "form",
    type=click.Choice(["text", "line", "json", "sarif"]),
    default="text",
    help="How to say it: for people, one line each, or as data (JSON, SARIF 2.1.0).",
)
def check(files: tuple[str, ...], form: str) -> None:
    """Say everything that is wrong with product files, and write nothing."""
    from paramc.cli.check import run

    sys.exit(run(files, form))


@paramc.command()
@click.argument("rule", required=False)
@click.option("--list", "listed", is_flag=True, help="Name every rule, one a line.")
@click.option("--json", "as_json", is_flag=True, help="As data on standard output.")
def why(rule: str | None, listed: bool, as_json: bool) -> None:
    """Explain a rule, with a wrong and a right example."""
    from paramc.cli.why import run

    if rule is None and not listed:
        raise click.UsageError("name a rule, or ask for --list")
    sys.exit(run(rule, as_json))


@paramc.command()
@click.argument("file", metavar="FILE")
@click.option("-o", "--output", required=True, metavar="DIR", help="The folder to write to; made if missing.")
@click.option("--force", is_flag=True, help="Overwrite files that paramc did not write.")
@click.option("--watch", is_flag=True, help="Build again each time the file is saved, until interrupted.")
@click.option("--json", "as_json", is_flag=True, help="The report as data on standard output.")
def build(file: str, output: str, force: bool, watch: bool, as_json: bool) -> None:
    """Build everything that comes out of a product file, and report what it costs."""
    from paramc.cli.build import run, watch_and_run

    sys.exit((watch_and_run if watch else run)(file, output, force=force, as_json=as_json))


@paramc.command()
@click.argument("file", metavar="FILE")
@click.argument("item", metavar="ITEM")
@click.option("--table", is_flag=True, help="The knob-clock table without the drawing.")
@click.option("--svg", metavar="OUT", help="Write the drawing to a file, as a picture.")
@click.option("--against", metavar="OLD", help="A product file or release whose taper is drawn beside it.")
@click.option("--force", is_flag=True, help="Write over OUT.")
@click.option("--json", "as_json", is_flag=True, help="As data on standard output.")
def plot(
    file: str, item: str, table: bool, svg: str | None, against: str | None, force: bool, as_json: bool
) -> None:
    """Draw the taper of an item, with what its knob gives at every half hour.

    FILE is a product file or a release, ITEM a name in it.
    """
    from paramc.cli.plot import Wanted, run

    sys.exit(run(file, Wanted(item, table, as_json, svg, against, force)))


@paramc.command()
@click.argument("old", metavar="OLD")
@click.argument("new", metavar="NEW")
@click.option("--notes", is_flag=True, help="As text for release notes.")
@click.option("--json", "as_json", is_flag=True, help="As data on standard output.")
def compare(old: str, new: str, notes: bool, as_json: bool) -> None:
    """Say what a change does to values, knobs, presets, bytes and units in the field.

    OLD and NEW are product files or releases, and layout files will do.
    """
    from paramc.cli.compare import run

    if notes and as_json:
        raise click.UsageError("choose one of --notes and --json")
    sys.exit(run(old, new, "notes" if notes else "json" if as_json else "text"))


@paramc.command()
@click.argument("file", metavar="FILE")
@click.option("--json", "as_json", is_flag=True, help="What was done as data on standard output.")
def release(file: str, as_json: bool) -> None:
    """Freeze the revision of a product file for good, in releases/NAME.rN.json beside it."""
    from paramc.cli.release import run

    sys.exit(run(file, as_json=as_json))


@paramc.command()
@click.argument("release", metavar="RELEASE")
@click.option("--batch", "units", required=True, metavar="CSV", help="The units: serial, hardware, trims.")
@click.option("-o", "--output", required=True, metavar="DIR", help="The folder to write to; made if missing.")
@click.option("--log", required=True, metavar="LOG", help="The ship record, added to; made if missing.")
@click.option("--form", type=click.Choice(["hex", "srec", "bin"]), default="hex", help="Form of the images.")
@click.option("--together", is_flag=True, help="All images in one file, one behind the other.")
@click.option("--again", multiple=True, metavar="TRIM", help="Take a trim anew of units stamped before.")
@click.option("--station", type=click.IntRange(1, 999), metavar="N", help="Which station this is.")
@click.option("--stations", type=click.IntRange(1, 999), default=1, metavar="N", help="How many share CSV.")
@click.option("--operator", metavar="NAME", help="Who does it, for the log.")
@click.option("--force", is_flag=True, help="Overwrite files that paramc did not write.")
@click.option("--json", "as_json", is_flag=True, help="The summary as data on standard output.")
def stamp(
    release: str,
    units: str,
    output: str,
    log: str,
    form: str,
    together: bool,
    again: tuple[str, ...],
    station: int | None,
    stations: int,
    operator: str | None,
    force: bool,
    as_json: bool,
) -> None:
    """Write one image a unit, with its serial, board revision and trims, and a line a unit in the log.

    RELEASE is a file that release wrote: releases/NAME.rN.json. A unit that the log knows keeps its trims.
    """
    from paramc.cli.stamp import Order, run

    order = Order(
        release, units, output, log, form, again, operator, station, stations, together, force
    )
    sys.exit(run(order, as_json=as_json))


@paramc.command()
@click.argument("release", metavar="RELEASE")
@click.argument("dumps", nargs=-1, required=True, metavar="DUMP...")
@click.option("--log", metavar="LOG", help="The ship record: what was stamped, found by the dump's serial.")
@click.option("--json", "as_json", is_flag=True, help="As data on standard output.")
def verify(release: str, dumps: tuple[str, ...], log: str | None, as_json: bool) -> None:
    """Hold what was read back from units against what was meant: PASS or FAIL, and which field differs."""
    from paramc.cli.verify import run

    sys.exit(run(release, dumps, log, as_json=as_json))


@paramc.command()
@click.argument("dump", metavar="DUMP")
@click.option("--releases", required=True, metavar="DIR", help="A folder of releases and layout files.")
@click.option("--source", is_flag=True, help="The presets as preset blocks for the product file.")
@click.option("--json", "as_json", is_flag=True, help="As data on standard output.")
def decode(dump: str, releases: str, source: bool, as_json: bool) -> None:
    """Say in plain words what a dump holds; its own identity chooses the layout."""
    from paramc.cli.decode import run

    if source and as_json:
        raise click.UsageError("choose one of --source and --json")
    sys.exit(run(dump, releases, "source" if source else "json" if as_json else "text"))


@paramc.command()
@click.argument("dump", metavar="[DUMP]", required=False)
@click.option("--releases", required=True, metavar="DIR", help="A folder of releases and layout files.")
@click.option("--revision", type=click.IntRange(1, 254), metavar="N", help="Move the unit to a revision.")
@click.option("--presets", metavar="DOC", help="A preset document: the slots and settings to replace.")
@click.option("--factory", is_flag=True, help="Presets, settings and state as the factory makes them.")
@click.option("--look", metavar="DUMP", help="Presets, settings and state from the dump of another unit.")
@click.option(
    "--slot",
    "slots",
    type=click.IntRange(1),
    multiple=True,
    metavar="N",
    help="This slot alone: of the document, of the other unit, or else as the factory makes it.",
)
@click.option("--serial", metavar="S", help="Which unit it is, where the dump does not say it.")
@click.option("--log", metavar="LOG", help="The record of what was shipped: for lost identity and trims.")
@click.option("-o", "--output", required=True, metavar="OUT", help="A folder, or NAME.hex, .srec or .bin.")
@click.option("--form", type=click.Choice(["hex", "srec", "bin"]), default="hex", help="Form in a folder.")
@click.option("--force", is_flag=True, help="Overwrite the image, though never a dump.")
@click.option("--reply", is_flag=True, help="The text to send on standard output.")
@click.option("--json", "as_json", is_flag=True, help="The report as data on standard output.")
def restore(
    dump: str | None,
    releases: str,
    revision: int | None,
    presets: str | None,
    factory: bool,
    look: str | None,
    slots: tuple[int, ...],
    serial: str | None,
    log: str | None,
    output: str,
    form: str,
    force: bool,
    reply: bool,
    as_json: bool,
) -> None:
    """Make a good image for a unit from a dump of it, with its identity and trims as they are.

    What the dump has lost of these --log fills in; without a dump say --serial and --log.
    """
    from paramc.cli.restore import Asked, run

    if reply and as_json:
        raise click.UsageError("choose one of --reply and --json")
    asked = Asked(
        dump, releases, output, form, revision, presets, factory, look, slots, serial, log, force
    )
    sys.exit(run(asked, "reply" if reply else "json" if as_json else "text"))


def main() -> None:
    """The entry point: a fault of our own becomes one line and exit status 70, a closed pipe nothing."""
    try:
        try:
            paramc(prog_name="paramc")
        finally:
            if "paramc.cli.say" in sys.modules:  # else nothing was said but by click, which flushes
                sys.modules["paramc.cli.say"].flush()
    except Exception as error:
        from paramc.cli.say import Unheard, fault_of_ours, unheard

        if not isinstance(error, Unheard | BrokenPipeError):
            fault_of_ours(error)
            sys.exit(EXIT_OURS)
        unheard(error.__cause__)
        # What is still waiting to be written has nowhere to go.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(EXIT_FAULT)
    finally:
        # Nothing that is left needs to be looked through for cycles while the interpreter ends.
        gc.freeze()
