"""What is not there: tools, a chain drive, a mechanic."""
