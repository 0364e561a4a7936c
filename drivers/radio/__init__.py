"""Bluetooth: scans, links, when to try again, and the service below them."""
