"""Exact quantities, units and formats, and real numbers whose rounding never depends on the machine."""
