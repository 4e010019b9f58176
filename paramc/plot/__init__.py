"""What the turning of a knob does to an item, as a table and as a picture."""
