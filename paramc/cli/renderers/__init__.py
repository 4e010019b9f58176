"""Diagnostics as text, lines, JSON and SARIF."""
