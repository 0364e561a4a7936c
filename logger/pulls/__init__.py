"""Torque samples become pulls: from rest to rest, with a peak and a trace."""
