"""Rules that ask what was released before."""

from __future__ import annotations

from paramc.check.example import DOORBELL, changed
from paramc.text.diagnostic import Rule, Severity

_BRIGHT = 'flag bright "Bright" { default off }\n'
_FEEL = (
    'selector feel "Feel" { way calm "Calm"  way wild "Wild"  way loose "Loose"  default calm }\n'
)
_FIRST = DOORBELL + _BRIGHT + _FEEL
"""What is released before each pair of examples, as revision 1."""

_SECOND = changed("revision 1", "revision 2", _FIRST)


def _second(*changes: tuple[str, str]) -> str:
    """Revision 2 with some stretches in other words."""
    text = _SECOND
    for old, new in changes:
        text = changed(old, new, text)
    return text


_MORE = 'param {} "More" {{ range 0 % .. 100 %  step 1 %  since 2 formerly 0 % }}\n'
_GROWN = (_FEEL, f'{_FEEL}flag dim "Dim" {{ default on  since 2 formerly off }}\n')

SINCE_UNSAID = Rule(
    "since-unsaid",
    Severity.STOP,
    "An item that earlier releases do not have says since when it is there, and what units saved before"
    " sound like: since N formerly VALUE. Where that stood unsaid, old presets would take the new default"
    " and sound otherwise than the player left them. The line stays for good, because old memories do. An"
    " item that was only renamed says was instead.",
    _second((_FEEL, f'{_FEEL}flag dim "Dim" {{ default on }}\n')),
    _second(_GROWN),
    (_FIRST,),
)

SINCE_WRONG = Rule(
    "since-wrong",
    Severity.STOP,
    "An item is said to have come in a revision, and a release that is older than that has it already. What"
    " old units sound like would be taken from this line in place of their own memory.",
    _second(('"Bright" { default off }', '"Bright" { default off  since 2 formerly off }')),
    _second(_GROWN),
    (_FIRST,),
)

FORMERLY_UNSAID = Rule(
    "formerly-unsaid",
    Severity.MEND,
    "An item came in a later revision and does not say what units saved before it sound like, so these take"
    " its default. That is right only where the default changes nothing to hear.",
    _second((_FEEL, f'{_FEEL}flag dim "Dim" {{ default on  since 2 }}\n')),
    _second(_GROWN),
    (_FIRST,),
)

FIELD_GONE = Rule(
    "field-gone",
    Severity.STOP,
    "An item of an earlier release is not in the file, and the file does not say what became of it: was OLD"
    " in the item that it is now, or retired OLD since N. The line stays for good, so that the name never"
    " comes back with another meaning.",
    _second((_BRIGHT, "")),
    _second((_BRIGHT, "retired bright since 2\n")),
    (_FIRST,),
)

RETIRED_WRONG = Rule(
    "retired-wrong",
    Severity.STOP,
    "A name is retired that no release has, or since a revision that does not agree with the releases: it is"
    " gone from the first release on that does not have it, and not before.",
    _second((_BRIGHT, "retired bright since 2\nretired brighter since 2\n")),
    _second((_BRIGHT, "retired bright since 2\n")),
    (_FIRST,),
)

WAS_UNKNOWN = Rule(
    "was-unknown",
    Severity.STOP,
    "An item or a way says what it was, and no release has anything of that name.",
    _second((_FEEL, f'{_FEEL}flag shiny "Shiny" {{ default off  was shine }}\n')),
    _second((_BRIGHT, 'flag shiny "Bright" { default off  was bright }\n')),
    (_FIRST,),
)

KEPT_CHANGED = Rule(
    "kept-changed",
    Severity.STOP,
    "Whether an item is kept once or with every preset never changes: the values of all presets cannot become"
    " one, nor the other way round. Retire the item, and make a new one of another name.",
    _second(('"Bright" { default off }', '"Bright" { default off  kept once }')),
    _second(
        (_BRIGHT, 'flag brighter "Bright" { default off  kept once  since 2 formerly off }\n'
                  "retired bright since 2\n"),
    ),
    (_FIRST,),
)  # fmt: skip

MEANING_CHANGED = Rule(
    "meaning-changed",
    Severity.STOP,
    "An item of an earlier release has become one of another kind, or measures something else, so that its"
    " old values mean nothing in it. Retire it, and make a new one of another name.",
    _second(("range 0 % .. 100 %  step 1 %", "range -40 dB .. 0 dB  step 1 dB")),
    _second(("range 0 % .. 100 %  step 1 %", "range 0 % .. 100 %  step 2 %")),
    (_FIRST,),
)

WAY_GONE = Rule(
    "way-gone",
    Severity.STOP,
    "A way of an earlier release is not in the file, and no way says that it took its part: way NEW was OLD."
    " A new name may be meant, or another way that is to play in its place.",
    _second(('  way loose "Loose"', "")),
    _second(('way wild "Wild"  way loose "Loose"', 'way wild was loose "Wild"')),
    (_FIRST,),
)

WAY_MOVED = Rule(
    "way-moved",
    Severity.STOP,
    "A way's place is for good, because memories store it. So the ways that were released stay in their"
    " order, and new ones stand behind them.",
    _second(('way loose "Loose"', 'way odd "Odd"  way loose "Loose"')),
    _second(('way loose "Loose"', 'way loose "Loose"  way odd "Odd"')),
    (_FIRST,),
)

NARROWED_UNSAID = Rule(
    "narrowed-unsaid",
    Severity.STOP,
    "A range of today cannot hold values that old units may have stored. They are never bent in silence:"
    " say narrowed to nearest in the item, and each value of the factory that it meets is listed.",
    _second(("range 0 % .. 100 %", "range 0 % .. 80 %")),
    _second(("range 0 % .. 100 %", "narrowed to nearest  range 0 % .. 80 %")),
    (_FIRST,),
)

ENVELOPE_CHANGED = Rule(
    "envelope-changed",
    Severity.STOP,
    "The first release of a product fixes for good where its records lie, how many places each kind has, how"
    " long the records are, and their checksum: units in the field have them so, and another revision's"
    " firmware has to find them. Later revisions may only add kinds, or places behind the last. Anything"
    " else is another product, with a code of its own.",
    _second(("state 4 copies", "state 3 copies")),
    _second(("state 4 copies", "state 5 copies")),
    (_FIRST,),
)

GROWTH_SPENT = Rule(
    "growth-spent",
    Severity.STOP,
    "New fields go into the growth bytes that the first release has left in each record, and these are used"
    " up: the records of units in the field do not get any longer. The sum is shown, with what would make it"
    " fit.",
    _second((_FEEL, _FEEL + _MORE.format("one") + _MORE.format("two") + _MORE.format("three"))),
    _second((_FEEL, _FEEL + _MORE.format("one"))),
    (_FIRST,),
)

RELEASED_LAYOUT = Rule(
    "released-layout",
    Severity.STOP,
    "A revision is released, and the file writes another layout under its number. Units would take the one"
    " for the other. Raise the revision.",
    changed("step 1 %", "step 2 %", _FIRST),
    changed("step 1 %", "step 2 %", _SECOND),
    (_FIRST,),
)

RELEASED_VALUES = Rule(
    "released-values",
    Severity.MEND,
    "A revision is released, and the file gives new units of it other values than the release: presets,"
    " defaults or nominal values. It builds as a trial. Raise the revision to release it.",
    changed('"Bright" { default off }', '"Bright" { default on }', _FIRST),
    changed('"Bright" { default off }', '"Bright" { default on }', _SECOND),
    (_FIRST,),
)

REVISION_BEHIND = Rule(
    "revision-behind",
    Severity.STOP,
    "A later revision is released than the one that the file writes, and this one never was. Numbers of"
    " revisions only rise, so that a unit can tell which of two is newer.",
    _FIRST,
    changed("revision 2", "revision 3", _SECOND),
    (_SECOND,),
)

_WITH_SETUP = ("state 4 copies", "setup 2 copies  state 4 copies")
_WITH_BENCH = ("state 4 copies", "bench 2 copies if lost {}  state 4 copies")
_ONCE = 'flag dim "Dim" {{ default {}  kept once  since 2 formerly off }}\n'
_TRIM = 'trim gain "Gain" {{ range -2 dB .. 2 dB  step 0.1 dB  nominal 0 dB  {}since 2 }}\n'

SETUP_TOO_LATE = Rule(
    "setup-too-late",
    Severity.STOP,
    "The first item that is kept once came after a release, and older units are to have another value of it"
    " than new ones. They have no setup in which that could stand, and firmware cannot tell them from a new"
    " unit whose setup is lost; both play the default.",
    _second(_WITH_SETUP, (_FEEL, _FEEL + _ONCE.format("on"))),
    _second(_WITH_SETUP, (_FEEL, _FEEL + _ONCE.format("off"))),
    (_FIRST,),
)

BENCH_TOO_LATE = Rule(
    "bench-too-late",
    Severity.MEND,
    "The first trim came after a release, and units whose trims are lost are to be muted or bypassed. Older"
    " units have none, so that an update of their firmware silences them until they were on the bench.",
    _second((_WITH_BENCH[0], _WITH_BENCH[1].format("mute")), (_FEEL, _FEEL + _TRIM.format("safe 0 dB  "))),
    _second((_WITH_BENCH[0], _WITH_BENCH[1].format("play")), (_FEEL, _FEEL + _TRIM.format(""))),
    (_FIRST,),
)

_HEARS = "midi {{ channel 1  cc {} sets {} }}\n"

CC_AGAIN = Rule(
    "cc-again",
    Severity.STOP,
    "A controller set another item in an earlier release. Players have it in their pedal boards and their"
    " songs, and after the update it would turn something else. A number whose item is gone stays empty.",
    _second((_FEEL, _FEEL + _HEARS.format(20, "bright"))),
    _second((_FEEL, _FEEL + _HEARS.format(21, "bright"))),
    (_FIRST + _HEARS.format(20, "level"),),
)

CC_MOVED = Rule(
    "cc-moved",
    Severity.MEND,
    "An item had another controller in the last release. What players have set up sends the old number, and"
    " after the update nothing hears it.",
    _second((_FEEL, _FEEL + _HEARS.format(21, "level"))),
    _second((_FEEL, _FEEL + _HEARS.format(20, "level"))),
    (_FIRST + _HEARS.format(20, "level"),),
)

RULES = (
    SINCE_UNSAID,
    SETUP_TOO_LATE,
    BENCH_TOO_LATE,
    SINCE_WRONG,
    FORMERLY_UNSAID,
    FIELD_GONE,
    RETIRED_WRONG,
    WAS_UNKNOWN,
    KEPT_CHANGED,
    MEANING_CHANGED,
    WAY_GONE,
    WAY_MOVED,
    NARROWED_UNSAID,
    ENVELOPE_CHANGED,
    GROWTH_SPENT,
    RELEASED_LAYOUT,
    RELEASED_VALUES,
    REVISION_BEHIND,
    CC_AGAIN,
    CC_MOVED,
)
