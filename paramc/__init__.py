"""Compiles a pedal's parameters to C, EEPROM images and what bench and support need."""

__version__ = "0.1.0"
