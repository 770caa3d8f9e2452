"""Brennan 2001, Generalizability Theory, synthetic data set 1: 10 people by 12 items."""

from tests.cohort.made import item, result

ROWS = """
101000000000 111001000000 111110000000 110110010000 111110100000
111011100000 111111100000 111101111100 111111111110 111111111111
"""
CREDITS = [[float(digit) for digit in row] for row in ROWS.split()]
SESSIONS = [
    result(
        number,
        *(item(f"item-{place}", credit, weight=1.0) for place, credit in enumerate(row, 1)),
    )
    for number, row in enumerate(CREDITS)
]
