"""The append-only, hash-chained, signed file of everything that happened at one bench."""
