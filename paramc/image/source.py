"""The presets of a memory as preset blocks, ready for the product file."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator

from paramc.image.account import Account, Preset

_WIDTH = 100
_NO_TEXT = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
_ESCAPES = str.maketrans({"\\": "\\\\", '"': '\\"'})


def preset_blocks(said: Account) -> str:
    """One block a preset that is sound, each value written out; a comment for each that is not."""
    return "\n".join(_block(preset) for preset in said.presets)


def _block(preset: Preset) -> str:
    if not preset.values:
        return f"# Preset {preset.number} is {preset.answer.value} in this memory.\n"
    lines = [f'preset {preset.number} "{_label(preset).translate(_ESCAPES)}" {{']
    lines += _wrapped(f"{value.item} {value.value}" for value in preset.values)
    lines += [
        f"  # {value.item}: the stored code {value.code} means nothing, so this is the default."
        for value in preset.values
        if not value.in_use
    ]
    return "\n".join([*lines, "}", ""])


def _label(preset: Preset) -> str:
    """Its own name, or its factory sound's, or its number; a name that no text can hold is no name."""
    name = unicodedata.normalize("NFC", preset.name or "")
    if any(unicodedata.category(char) in _NO_TEXT for char in name):
        name = ""
    return name or preset.factory_label or f"Preset {preset.number}"


def _wrapped(settings: Iterator[str]) -> Iterator[str]:
    line = ""
    for setting in settings:
        if line and len(line) + len(setting) > _WIDTH:
            yield line
            line = ""
        line += f"  {setting}"
    if line:
        yield line
