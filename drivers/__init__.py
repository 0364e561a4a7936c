"""What is on the air becomes readings; knows nothing of jobs."""
