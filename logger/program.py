"""What this program calls itself on the trail; apart, since whoever only reads needs no bench."""

PROGRAM = "evenhand 0.1.0"
