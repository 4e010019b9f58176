"""Lines and columns."""

from __future__ import annotations

from paramc.text.diagnostic import Checked, Diagnostic, Rule, Severity, has_stop, in_reading_order
from paramc.text.source import Source, Span

TEXT = "one\r\ntwo\n\nthree\u2028still three\f"


def test_only_line_feeds_end_lines() -> None:
    source = Source("x", TEXT)
    assert source.lines == 4
    assert [source.line_text(line) for line in range(1, 5)] == ["one", "two", "", "three\u2028still three\f"]
    at = TEXT.index("still")
    assert (source.line_of(at), source.column_of(at)) == (4, 7)


def test_a_span_ends_one_past_its_last_character() -> None:
    source = Source("x", TEXT)
    span = Span(source, 0, 3)
    assert (span.line, span.column, span.end_line, span.end_column) == (1, 1, 1, 4)
    empty = Span(source, len(TEXT), len(TEXT))
    assert (empty.column, empty.end_column) == (19, 19)
    assert span.to(Span(source, 5, 8)).text == "one\r\ntwo"


def test_reading_order_and_stops() -> None:
    stop = Rule("a", Severity.STOP, "", "", "")
    mend = Rule("b", Severity.MEND, "", "", "")
    source = Source("x", TEXT)
    late, early, nowhere = (
        Diagnostic(mend, "late", Span(source, 5, 6)),
        Diagnostic(mend, "early", Span(source, 1, 2)),
        Diagnostic(stop, "nowhere"),
    )
    assert [d.sentence for d in in_reading_order([late, early, nowhere])] == ["nowhere", "early", "late"]
    assert has_stop([late, nowhere])
    assert not has_stop([late, early])
    assert Checked(None, ()).stopped
    assert Checked(1, (nowhere,)).stopped
    assert not Checked(1, (late,)).stopped
