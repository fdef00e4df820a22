"""How long a MIDI file says that it is, told before anything is built from it.

A time of a few bytes can stand for millions of bars, each of which would be filled with rests.
Source: Standard MIDI Files 1.0, chunks, variable-length quantities and running status.
"""

from __future__ import annotations

from fractions import Fraction

__all__ = ["midi_quarters"]


def midi_quarters(data: bytes) -> Fraction:
    """The length of the longest track in quarters; a damaged track counts as far as it goes."""
    division = int.from_bytes(data[12:14], "big")
    # The first bit set means frames of a second instead of quarters; then about two a second.
    ticks_a_quarter = max(division if division < 0x8000 else 15 * (division & 0xFF), 1)
    longest = 0
    place = data.find(b"MTrk")
    while place >= 0:
        end = place + 8 + int.from_bytes(data[place + 4 : place + 8], "big")
        longest = max(longest, _ticks(data, place + 8, min(end, len(data))))
        place = data.find(b"MTrk", place + 4)
    return Fraction(longest, ticks_a_quarter)


def _ticks(data: bytes, place: int, end: int) -> int:
    total = status = 0
    while place < end:
        time, place = _quantity(data, place, end)
        total += time
        if place >= end:
            break
        if data[place] & 0x80:
            status = data[place]
            place += 1
        if status == 0xFF:
            length, place = _quantity(data, place + 1, end)
            place += length
        elif status in (0xF0, 0xF7):
            length, place = _quantity(data, place, end)
            place += length
        else:
            place += 1 if status & 0xE0 == 0xC0 else 2
    return total


def _quantity(data: bytes, place: int, end: int) -> tuple[int, int]:
    """(number, where the next thing begins): seven bits a byte, four bytes at most."""
    number = 0
    for _ in range(4):
        if place >= end:
            break
        number = number << 7 | data[place] & 0x7F
        place += 1
        if not data[place - 1] & 0x80:
            break
    return number, place
