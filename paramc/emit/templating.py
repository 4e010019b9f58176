"""Places finished text in the templates.

The templates are C written for the prefix p: p_open, P_SOUND. On reading one the prefix becomes the
product's, so that a template reads as C and product text is never looked at for prefixes. A file without
mark-up is plain C and is placed as it stands.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

from jinja2 import Environment, FunctionLoader, StrictUndefined

TEMPLATES = Path(__file__).with_name("templates")

# Behind the prefix stands a name or what a view gives as one.
_LOWER = re.compile(r"\bp_(?=[a-z{])")
_UPPER = re.compile(r"\bP_(?=[A-Z{])")


def environment(prefix: str) -> Environment:
    """The templates for a prefix. They call their view v; a name that it lacks is our own mistake."""
    return Environment(
        loader=FunctionLoader(lambda name: prefixed(source(name), prefix)),
        undefined=StrictUndefined,
        autoescape=False,  # C has its own escapes, and every text comes through one of them
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def prefixed(text: str, prefix: str) -> str:
    """C for the prefix p, for another."""
    return _UPPER.sub(f"{prefix.upper()}_", _LOWER.sub(f"{prefix}_", text))


@cache
def source(name: str) -> str:
    """The text of a template, as it stands."""
    return (TEMPLATES / name).read_text(encoding="utf-8")
