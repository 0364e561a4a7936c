"""The job: sheets, events, the fold, the rules, the trail and the record."""
