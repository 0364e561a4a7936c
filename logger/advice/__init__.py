"""From readings to how far to turn each adjuster; what to expect, and what came out."""
