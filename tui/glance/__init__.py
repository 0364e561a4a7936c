"""A moment of the bench becomes what one look tells."""
