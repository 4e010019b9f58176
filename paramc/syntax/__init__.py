"""From a source text to a tree of what was written."""
