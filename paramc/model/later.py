"""Fields that a class was given when there were files already that do not have them."""

from __future__ import annotations

from dataclasses import Field, field
from typing import Any, Final

_MARK: Final = "later"


def later(default: Any) -> Any:
    """A field of a frozen dataclass. A layout or release file without its key means the default, which has to
    be what such a file always meant; every file that is written has the key."""
    return field(default=default, metadata={_MARK: True})


def came_later(one: Field[Any]) -> bool:
    """Whether a file may lack a field's key."""
    return bool(one.metadata.get(_MARK, False))
