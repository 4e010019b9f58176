"""Releases: a revision frozen for good, read back, and compared with another."""
