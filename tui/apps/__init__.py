"""The full-screen apps, and what they share."""
