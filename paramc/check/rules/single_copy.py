"""What only the bench can write stands in the memory once."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.example import DOORBELL, changed
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Rule, Severity

RULE = Rule(
    "single-copy",
    Severity.MEND,
    "Identity and bench are written once and read for years. With one copy a single bad cell takes the"
    " serial or the trims, and the unit has to come back to a bench; with two the other one answers.",
    changed("identity 2 copies", "identity 1 copy"),
    DOORBELL,
)


def check(product: Product) -> Iterator[Diagnostic]:
    holds = product.holds
    for kind, copies in (("identity", holds.identity_copies), ("bench", holds.bench_copies)):
        if copies == 1:
            sentence = f"The memory holds {kind} in one copy."
            yield Diagnostic(RULE, sentence, holds.place, try_=f"{kind} 2 copies", subject=kind)
