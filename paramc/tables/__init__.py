"""From wanted integers to the rule that a processor computes them by."""
