"""tests/FAILURES.md: every rule and every test that it names is there, and its count is true.

    python -m pytest tests/unit/test_failures.py -s      prints the count
"""

from __future__ import annotations

import re

from paramc.catalogue import RULES
from tests.unit.pages import TOP, page, spans

PAGE = page("tests/FAILURES.md")
NAMES = {rule.name for rule in RULES}


def rows() -> dict[str, list[str]]:
    """What holds each failure, by its number."""
    lines = re.findall(r"^\| ([AB]\d+) \| (.+?) \|(.*)\|$", PAGE, re.MULTILINE)
    return {number: spans(held) for number, _, held in lines}


def by_rule() -> list[str]:
    return [number for number, held in rows().items() if NAMES & set(held)]


def by_nothing() -> list[str]:
    return [number for number, held in rows().items() if not held]


def test_every_failure_stands_in_its_list_once() -> None:
    assert list(rows()) == [f"A{at}" for at in range(1, 59)] + [f"B{at}" for at in range(1, 27)]
    assert len(re.findall(r"^\| [AB]\d+ ", PAGE, re.MULTILINE)) == len(rows())


def test_everything_that_is_named_exists() -> None:
    named = {one for held in rows().values() for one in held}
    files = {one for one in named if one.startswith("tests/")}
    assert len(files) > 20
    assert {one for one in files if not (TOP / one).is_file()} == set()
    assert all("\ndef test_" in (TOP / one).read_text(encoding="utf-8") for one in files)
    assert named - files - NAMES == set()


def test_the_count_is_true() -> None:
    ruled, open_ = len(by_rule()), len(by_nothing())
    told = f"Of {len(rows())} failures {ruled} have a rule, {len(rows()) - ruled - open_} more a test, and"
    told = f"{told} {open_} {'has' if open_ == 1 else 'have'} neither."
    print(told)
    assert told in " ".join(PAGE.split())


def test_what_is_not_held_is_told_to_contributors_with_what_it_needs() -> None:
    [section] = re.findall(r"^## What no rule can say yet\n(.*?)^## ", page("DEVELOPERS.md"), re.M | re.S)
    told = re.findall(r"^\| ([AB]\d+)[^|]*\| (.+?) \| (.+?) \|$", section, re.MULTILINE)
    assert all(len(why) > 20 and len(needs) > 20 for _, why, needs in told)
    numbers = [number for number, _, _ in told]
    assert set(by_nothing()) <= set(numbers) <= set(rows())
