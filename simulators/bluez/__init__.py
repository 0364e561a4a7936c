"""A stand-in for BlueZ on a private D-Bus."""
