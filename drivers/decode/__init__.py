"""Octets and a profile <-> exact values, both ways, without I/O or state."""
