"""When somebody who sits still is lost from sight, and for how long.

Spells of being seen (15 to 25 s: a hand moves, a page turns) alternate with gaps. In each round of
four one gap, the second, is the longest that the truth allows; the others are a third to two thirds of it.
"""

from fleet.simulator.chance import MILLION, share_ppm
from fleet.simulator.figures import TICKS_A_SECOND

GAPS_A_ROUND = 4
_SEEN_FROM_S, _SEEN_SPREAD_S = 15, 10
_SPELL, _GAP = 31, 32


def is_lost(longest_gap_s: int, still_ticks: int, key: int) -> bool:
    """Say whether somebody who sat down `still_ticks` ago is in a gap now."""
    if longest_gap_s <= 0:
        return False
    round_ticks = sum(seen + gap for seen, gap in _round(longest_gap_s, key))
    into = still_ticks % round_ticks
    for seen, gap in _round(longest_gap_s, key):
        if into < seen:
            return False
        if into < seen + gap:
            return True
        into -= seen + gap
    return False


def _round(longest_gap_s: int, key: int) -> list[tuple[int, int]]:
    """Return the ticks of each spell of being seen and of the gap after it."""
    longest = longest_gap_s * TICKS_A_SECOND
    spells = []
    for index in range(GAPS_A_ROUND):
        spread = share_ppm(key, _SPELL, index) * _SEEN_SPREAD_S * TICKS_A_SECOND // MILLION
        shorter = longest * (MILLION + share_ppm(key, _GAP, index)) // (3 * MILLION)
        gap = longest if index == 1 else shorter
        spells.append((_SEEN_FROM_S * TICKS_A_SECOND + spread, gap))
    return spells
