"""How far a run is: one line that is drawn over on a terminal, whole lines anywhere else."""

from __future__ import annotations

import io
import sys

import pytest

from paramc.cli.progress import Progress

STEPS = ((250, 0), (498, 2), (600, 3))


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def said(monkeypatch: pytest.MonkeyPatch, stream: io.StringIO, **environment: str) -> str:
    """What a run of 603 units shows on its way."""
    for name in ("TERM", "NO_COLOR", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr(sys, "stderr", stream)
    with Progress(603) as progress:
        for made, failed in STEPS:
            progress.show(made, failed)
    return stream.getvalue()


def test_a_bar_on_a_terminal_is_one_line_and_leaves_none(monkeypatch: pytest.MonkeyPatch) -> None:
    shown = said(monkeypatch, Terminal(), TERM="xterm", COLUMNS="100")
    assert "\n" not in shown and "\x1b" not in shown and shown.isascii()
    _, *drawn, blank, nothing = shown.split("\r")
    assert drawn == [
        "[############..................] 250 of 603 units, 0 failed",
        "[########################......] 500 of 603 units, 2 failed",
        "[##############################] 603 of 603 units, 3 failed",
    ]
    assert blank == " " * len(drawn[-1]) and nothing == ""


def test_a_bar_that_would_wrap_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    shown = said(monkeypatch, Terminal(), TERM="xterm", COLUMNS="59")
    assert shown.split("\r")[1:4] == [f"{at} of 603 units, {bad} failed" for at, bad in
                                      ((250, 0), (500, 2), (603, 3))]  # fmt: skip


@pytest.mark.parametrize(
    ("stream", "environment"),
    [(io.StringIO, {}), (Terminal, {"NO_COLOR": "1"}), (Terminal, {"TERM": "dumb"})],
    ids=["no terminal", "NO_COLOR", "a dumb terminal"],
)
def test_plain_lines_elsewhere(
    monkeypatch: pytest.MonkeyPatch, stream: type[io.StringIO], environment: dict[str, str]
) -> None:
    # The end is told by the summary, so the last group has no line of its own.
    shown = said(monkeypatch, stream(), **environment)
    assert shown == "250 of 603 units, 0 failed.\n500 of 603 units, 2 failed.\n"


def test_what_is_soon_over_says_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    with Progress(3) as progress:
        progress.show(3, 0)
    with Progress(0) as progress:
        progress.show(0, 0)
    assert stream.getvalue() == ""


def test_a_run_that_is_stopped_leaves_no_half_line(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = Terminal()
    for name in ("TERM", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(sys, "stderr", stream)
    with pytest.raises(KeyboardInterrupt), Progress(10) as progress:
        progress.show(5, 0)
        raise KeyboardInterrupt
    assert stream.getvalue().endswith(" \r")
