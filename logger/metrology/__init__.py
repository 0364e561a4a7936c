"""What a reading is worth: uncertainty, guard bands, and the chance of being truly inside."""
