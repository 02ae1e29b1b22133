"""Chance that comes out the same every time: a number from a key and where in the run it is asked.

Two runs of one house never keep the same wall timing, so nothing here depends on when it is asked or
on what was asked before.
"""

import hashlib

MILLION = 1_000_000
_MASK = (1 << 64) - 1


def key_of(*parts: int | str) -> int:
    """Return a 64-bit key that stands for these parts."""
    digest = hashlib.sha256("\x1f".join(str(part) for part in parts).encode()).digest()
    return int.from_bytes(digest[:8], "big")


def share_ppm(key: int, *numbers: int) -> int:
    """Return an evenly spread number from 0 to 999,999 for a key and a place in the run.

    The mixing is the finalizer of splitmix64 (Steele, Lea, Flood 2014), once for each number.
    """
    mixed = key
    for number in numbers:
        mixed = (mixed + number * 0x9E3779B97F4A7C15 + 0x9E3779B97F4A7C15) & _MASK
        mixed = ((mixed ^ (mixed >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
        mixed = ((mixed ^ (mixed >> 27)) * 0x94D049BB133111EB) & _MASK
        mixed ^= mixed >> 31
    return mixed * MILLION >> 64
