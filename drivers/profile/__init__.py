"""The profile of a tool: its model, its keys told to a person, its files, and the shipped ones."""
