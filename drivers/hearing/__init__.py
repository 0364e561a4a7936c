"""What one link has said: which of its values are readings, and what is old, doubled, missing or in pieces."""
