"""The long run, by hand: `python -m tests.faults.fuzz_once --inputs 10000000 --out FILE`.

One process at the lowest priority. What it finds is written as "reader number: what broke", from which
`try_input` makes the same input again. The file is rewritten as the run goes on, so that a run that is cut
off still says how far it came.
"""

import argparse
import os
import resource
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tests.faults.fuzz_targets import target_of, try_input

SAY_EVERY = 20_000
MOST_FAILURES = 200


@dataclass(slots=True)
class Run:
    """What a run has come to so far."""

    begun_s: float
    tried: int = 0
    by_target: dict[str, int] = field(default_factory=dict)
    slowest_s: float = 0.0
    failures: list[str] = field(default_factory=list)

    def take(self, number: int) -> None:
        """Try one input."""
        target = target_of(number)
        tried = try_input(target, number)
        self.tried += 1
        self.by_target[target] = self.by_target.get(target, 0) + 1
        self.slowest_s = max(self.slowest_s, tried.took_s)
        if tried.broke and len(self.failures) < MOST_FAILURES:
            self.failures.append(tried.broke)

    def lines(self) -> Iterator[str]:
        """Say the figures, one a line."""
        yield f"inputs tried: {self.tried:,} " + str(self.by_target)
        yield f"wall time: {time.monotonic() - self.begun_s:.0f} s, CPU: {time.process_time():.0f} s"
        yield f"slowest input: {self.slowest_s * 1000:.0f} ms CPU"
        yield f"peak memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB"
        yield f"failures: {len(self.failures)}"
        yield from self.failures


def run(first: int, inputs: int, out: Path | None) -> Run:
    """Try inputs number `first` to `first + inputs - 1`."""
    going = Run(time.monotonic())
    for number in range(first, first + inputs):
        going.take(number)
        if out and going.tried % SAY_EVERY == 0:
            out.write_text("\n".join(going.lines()) + "\n", encoding="utf-8")
    return going


def main() -> int:
    """Run, and end with 1 where anything broke."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--inputs", type=int, default=10_000_000)
    asked.add_argument("--first", type=int, default=0, help="number of the first input")
    asked.add_argument("--out", type=Path, help="file for the figures")
    given = asked.parse_args()
    os.nice(19)
    done = run(given.first, given.inputs, given.out)
    text = "\n".join(done.lines()) + "\n"
    sys.stdout.write(text)
    if given.out:
        given.out.write_text(text, encoding="utf-8")
    return bool(done.failures)


if __name__ == "__main__":
    sys.exit(main())
