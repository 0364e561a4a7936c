"""A stored job as frames, and how they are played."""
