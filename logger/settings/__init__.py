"""The settings file, its tables and its keys."""
