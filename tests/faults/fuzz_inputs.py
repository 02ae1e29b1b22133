"""Seeded bytes that go wrong in every way: real descriptions, streams, reports and values, changed.

Each function takes a `random.Random`, so that a number names an input for ever: what failed once can be
made again. A changed real input gets further into a reader than noise does; some noise is in it too.
"""

import json
import random
from collections.abc import Callable, Iterator
from typing import Any

from tests.faults.fuzz_seeds import LARGE, REPORT, SMALL
from tests.faults.fuzz_words import NAMES, NUMBERS, TOKENS, WORDS

STREAM_PIECES = (
    b"data: ", json.dumps(REPORT).encode(), b"\n", b"\n\n", b"\r\n", b"\r", b"id: 7", b"id", b"id: \0",
    b"event: x", b"retry: 500", b"retry: 1e9", b": alive", b"\xef\xbb\xbf", b"\xff", b"\0", b"data",
    b"x" * 900,
)  # fmt: skip


def description(chance: random.Random) -> bytes:
    """Return a description that was sound before it was changed; one in thirty is a rich one."""
    return (
        rich_description(chance)
        if chance.random() < 0.03
        else _spoilt(chance.choice(SMALL), chance)
    )


def rich_description(chance: random.Random) -> bytes:
    """Return the description of a whole unit, changed."""
    return _spoilt(chance.choice(LARGE), chance)


def report(chance: random.Random) -> bytes:
    """Return a report, changed; one in 200 holds far more than a unit has to say."""
    if chance.random() < 0.005:
        many = {**REPORT, "targets": REPORT["targets"] * chance.choice((40, 400, 5000))}
        return json.dumps(many).encode()
    return _spoilt(REPORT, chance)


def stream(chance: random.Random) -> bytes:
    """Return the bytes of a stream, sound and unsound pieces in any order."""
    pieces = chance.choices(STREAM_PIECES, k=chance.randint(1, 24))
    if chance.random() < 0.3:
        pieces.append(_garbled(b"".join(pieces), chance))
    return b"".join(pieces)


def cuts(whole: bytes, chance: random.Random) -> Iterator[bytes]:
    """Cut bytes at random places, as a network would."""
    begin = 0
    while begin < len(whole):
        end = begin + chance.choice((1, 2, 3, 17, 1460, 65536))
        yield whole[begin:end]
        begin = end


def value(chance: random.Random) -> Any:
    """Return a JSON value, nested at random."""
    return _anything(chance, chance.randint(0, 3))


def _spoilt(seed: dict[str, Any], chance: random.Random) -> bytes:
    """Change members first, then bytes: either, or both."""
    changed: Any = seed
    for _ in range(chance.choice((0, 1, 1, 1, 2, 4))):
        changed = _with_change(changed, chance)
    raw = json.dumps(changed).encode()
    return _garbled(raw, chance) if chance.random() < 0.3 else raw


def _with_change(whole: Any, chance: random.Random) -> Any:
    """Change one place somewhere inside, copying only what lies on the way there."""
    keys = (
        list(whole)
        if isinstance(whole, dict)
        else range(len(whole))
        if isinstance(whole, list)
        else []
    )
    if not keys or chance.random() < 0.12:
        return _changed_here(whole, chance)
    key = chance.choice(keys)
    copied = whole.copy()
    copied[key] = _with_change(whole[key], chance)
    return copied


def _changed_here(place: Any, chance: random.Random) -> Any:
    if isinstance(place, dict) and chance.random() < 0.6:
        return {**place, chance.choice(NAMES): value(chance)}
    if isinstance(place, list) and chance.random() < 0.5:
        return [*place, *(place[:1] * chance.choice((1, 70, 600)) or [value(chance)])]
    return [place] if chance.random() < 0.1 else value(chance)


def _anything(chance: random.Random, depth: int) -> Any:
    kind = chance.random()
    if depth and kind < 0.3:
        return {
            chance.choice(NAMES): _anything(chance, depth - 1) for _ in range(chance.randint(0, 4))
        }
    if depth and kind < 0.5:
        return [_anything(chance, depth - 1) for _ in range(chance.randint(0, 4))]
    return chance.choice(WORDS) if kind < 0.8 else chance.choice(NUMBERS)


def _garbled(raw: bytes, chance: random.Random) -> bytes:
    for _ in range(chance.randint(1, 4)):
        raw = chance.choice(_GARBLINGS)(raw, chance)
    return raw


def _put_in(raw: bytes, chance: random.Random) -> bytes:
    at = chance.randint(0, len(raw))
    return raw[:at] + chance.choice(TOKENS) + raw[at + chance.choice((0, 0, 1, 8)) :]


def _flip(raw: bytes, chance: random.Random) -> bytes:
    if not raw:
        return b"\x80"
    at = chance.randrange(len(raw))
    return raw[:at] + bytes([raw[at] ^ 1 << chance.randrange(8)]) + raw[at + 1 :]


def _cut_out(raw: bytes, chance: random.Random) -> bytes:
    at = chance.randint(0, len(raw))
    return raw[:at] + raw[at + chance.randint(1, 60) :]


def _twice(raw: bytes, chance: random.Random) -> bytes:
    at = chance.randint(0, len(raw))
    return raw[:at] + raw[at : at + chance.randint(1, 200)] * 2 + raw[at:]


def _end_early(raw: bytes, chance: random.Random) -> bytes:
    return raw[: chance.randint(0, len(raw))]


_GARBLINGS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    _put_in, _put_in, _flip, _flip, _cut_out, _twice, _end_early,
)  # fmt: skip
