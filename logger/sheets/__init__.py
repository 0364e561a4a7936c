"""The job sheet: its model, the rules that refuse what would trap a person, and the shipped sheets."""
