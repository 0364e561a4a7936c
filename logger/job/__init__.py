"""The fold from events to a job, the verdict of each check, and the one prompt that comes next."""
