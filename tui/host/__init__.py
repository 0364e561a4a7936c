"""The machine that the program runs on: what is found out about it, before a job and during one."""
