"""What is handed on after a job: a page with plots, a table, JSON."""
