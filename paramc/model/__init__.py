"""What a product means: items, controls, modes, presets, and the arithmetic of one item."""
