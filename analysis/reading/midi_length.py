"""How long a MIDI file says that it is, told before anything is built from it.

A time of a few bytes can stand for millions of bars, each of which would be filled with rests.
Source: Standard MIDI Files 1.0, chunks, variable-length quantities, running status, time signature.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

__all__ = ["MidiSize", "midi_size"]


@dataclass(frozen=True, slots=True)
class MidiSize:
    """What a file asks for; of a damaged track what stands before the damage."""

    tracks: int
    """Tracks in which a note begins."""
    bars: int
    """Of the longest track."""
    notes: int
    """Of the track that has most."""
    all_notes: int = 0
    """Of all tracks."""
    is_cut: bool = False
    """Whether a track is shorter than it says."""


@dataclass(slots=True)
class _Track:
    ticks: int = 0
    notes: int = 0
    bar_lengths: list[tuple[int, Fraction]] = field(default_factory=list)
    """(tick, quarters of a bar) of each time signature."""


def midi_size(data: bytes) -> MidiSize:
    """Count tracks, bars and notes."""
    division = int.from_bytes(data[12:14], "big")
    # The first bit set means frames of a second instead of quarters; then about two a second.
    ticks_a_quarter = max(division if division < 0x8000 else 15 * (division & 0xFF), 1)
    tracks = []
    is_cut = False
    place = data.find(b"MTrk")
    while place >= 0:
        end = place + 8 + int.from_bytes(data[place + 4 : place + 8], "big")
        tracks.append(_track(data, place + 8, min(end, len(data))))
        is_cut = is_cut or end > len(data)
        place = data.find(b"MTrk", place + 4)
    signatures = sorted(each for track in tracks for each in track.bar_lengths)
    longest = max((track.ticks for track in tracks), default=0)
    return MidiSize(
        tracks=sum(1 for track in tracks if track.notes),
        bars=_bars(signatures, longest, ticks_a_quarter),
        notes=max((track.notes for track in tracks), default=0),
        all_notes=sum(track.notes for track in tracks),
        is_cut=is_cut,
    )


def _bars(signatures: list[tuple[int, Fraction]], end: int, ticks_a_quarter: int) -> int:
    """Bars until ``end``; before the first signature there are four quarters in each."""
    bars = 0
    length = Fraction(4)
    start = 0
    for tick, following in (*signatures, (end, length)):
        bars += -(-(tick - start) // (length * ticks_a_quarter))
        start, length = tick, following
    return bars


def _track(data: bytes, place: int, end: int) -> _Track:
    track = _Track()
    status = 0
    while place < end:
        time, place = _quantity(data, place, end)
        track.ticks += time
        if place >= end:
            break
        if data[place] & 0x80:
            status = data[place]
            place += 1
        if status == 0xFF:
            is_signature = data[place : place + 2] == b"\x58\x04"
            length, place = _quantity(data, place + 1, end)
            if is_signature and place + 2 <= end and data[place] and data[place + 1] < 16:
                quarters = Fraction(4 * data[place], 2 ** data[place + 1])
                track.bar_lengths.append((track.ticks, quarters))
            place += length
        elif status in (0xF0, 0xF7):
            length, place = _quantity(data, place, end)
            place += length
        else:
            if status & 0xF0 == 0x90 and data[place + 1 : place + 2] > b"\0":
                track.notes += 1
            place += 1 if status & 0xE0 == 0xC0 else 2
    return track


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
