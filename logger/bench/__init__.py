"""The live session and the replay: what arrives or is said becomes events, and moments for those who listen."""
