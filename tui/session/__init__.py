"""A job as a person begins it: what there is to choose from, its tools, what runs beside it, and how it ends."""
