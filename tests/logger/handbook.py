"""Chain length and centre distance by the usual handbook formulas: something outside the program to hold it against.

Textbook chapter 30, equation for the length in pitches and its solution for the centre; test_drive.py holds them to
the published examples.
"""

import math


def chain_pitches(front: int, rear: int, pitch_mm: float, centre_mm: float) -> float:
    """Chain length in pitches for a centre distance, by the usual handbook formula (not rounded to links)."""
    centres = centre_mm / pitch_mm
    return 2 * centres + (front + rear) / 2 + ((rear - front) / (2 * math.pi)) ** 2 / centres


def centre_from_links(links: int, front: int, rear: int, pitch_mm: float) -> float:
    """Centre distance in mm at which a chain of `links` lies straight, by the usual handbook formula."""
    rest = links - (front + rear) / 2
    inner = rest**2 - 8 * ((rear - front) / (2 * math.pi)) ** 2
    return pitch_mm * (rest + math.sqrt(inner)) / 4
