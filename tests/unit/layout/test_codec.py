"""Files from before a field was there."""

from __future__ import annotations

from dataclasses import dataclass

import jsonschema
import pytest

from paramc.layout.codec import Codec, Wrong
from paramc.model.later import later


@dataclass(frozen=True, slots=True)
class Part:
    """A part."""

    name: str
    hours: int = later(24)


@dataclass(frozen=True, slots=True)
class Whole:
    """Parts."""

    parts: tuple[Part, ...]
    usual: int = 0


def test_a_file_without_a_later_key_means_its_default() -> None:
    codec = Codec(Whole, {})
    old = {"parts": [{"name": "a"}, {"name": "b", "hours": 12}], "usual": 0}
    assert codec.decode(old) == Whole((Part("a", 24), Part("b", 12)))
    assert codec.encode(codec.decode(old))["parts"][0] == {"name": "a", "hours": 24}
    validator = jsonschema.Draft202012Validator(codec.schema())
    validator.validate(old)
    validator.validate(codec.encode(Whole((Part("a"),))))


@pytest.mark.parametrize("lacking", [{"parts": []}, {"parts": [{"hours": 1}], "usual": 0}])
def test_every_other_key_is_needed(lacking: dict[str, object]) -> None:
    codec = Codec(Whole, {})
    with pytest.raises(Wrong, match="lacks the key"):
        codec.decode(lacking)
    assert not jsonschema.Draft202012Validator(codec.schema()).is_valid(lacking)
