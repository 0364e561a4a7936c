"""What comes in by hand: keys, typed lines and a pedal, and the acts they stand for."""
