"""Frames with known readings become the profile of a tool."""
