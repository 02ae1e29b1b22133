"""Which reader input number n is for, and trying it.

`TARGETS` names each reader with the function that makes its input and holds it to the rules.
"""

import random
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from tests.faults import fuzz_inputs
from tests.faults.fuzz_readings import hold_reading
from tests.faults.fuzz_rules import OCCUPANCIES, REPORTS, hold_description, hold_report, hold_stream

LONGEST_S = 5.0
"""CPU time of one input: a hundred times what the slowest takes, and far below what an attack makes."""


@dataclass(frozen=True, slots=True)
class Tried:
    """What one input came to: how long it took, CPU s, and what broke, "" for nothing."""

    took_s: float
    broke: str = ""


def try_input(target: str, seed: int) -> Tried:
    """Give a reader the input of a number, and look at what comes of it."""
    begun_s = time.process_time()
    try:
        TARGETS[target](random.Random(seed))
    except Exception as broken:  # noqa: BLE001 - finding any is what this is for; the caller reports it
        return Tried(
            time.process_time() - begun_s, f"{target} {seed}: {type(broken).__name__}: {broken}"
        )
    took_s = time.process_time() - begun_s
    return Tried(took_s, f"{target} {seed}: took {took_s:.1f} s" if took_s > LONGEST_S else "")


def _try_description(chance: random.Random) -> None:
    hold_description(fuzz_inputs.description(chance), chance)


def _try_stream(chance: random.Random) -> None:
    hold_stream(fuzz_inputs.stream(chance), chance)


def _try_report(chance: random.Random) -> None:
    hold_report(REPORTS, OCCUPANCIES, fuzz_inputs.report(chance))


TARGETS: Mapping[str, Callable[[random.Random], None]] = {
    "description": _try_description,
    "stream": _try_stream,
    "report": _try_report,
    "reading": hold_reading,
}
SHARES: Mapping[str, int] = {"description": 1, "stream": 9, "report": 9, "reading": 1}
"""How the inputs of a run are dealt out: cheap readers take more."""
DEALT = tuple(target for target, share in SHARES.items() for _ in range(share))


def target_of(number: int) -> str:
    """Return which reader input number n of a run is for."""
    return DEALT[number % len(DEALT)]
