"""Tests of paramc: bash tests/run. A package, so that no other `tests` on the path stands in for it."""
