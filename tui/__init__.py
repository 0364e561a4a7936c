"""What the person touches: the command line and the screen."""
