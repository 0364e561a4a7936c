"""What a moment sounds like: words for the speech engine, a rhythm of the bell."""
