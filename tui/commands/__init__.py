"""The commands: a table of what there is, and one module for each family of handlers."""
