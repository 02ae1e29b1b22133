"""Says why no unit is heard on the network that it is started in: interface and known addresses to JSON."""

import asyncio
import json
import sys
import time
from datetime import UTC, datetime

from fleet.discovery.trying import diagnose
from fleet.model.clock import HouseClock

if __name__ == "__main__":
    clock = HouseClock(datetime.now(UTC), time.monotonic(), time.monotonic)
    found = asyncio.run(diagnose(clock, sys.argv[1], sys.argv[2:], 0))
    said = {"obstacle": found.obstacle.name, "reason": found.reason, "tried": found.tried}
    sys.stdout.write(json.dumps({**said, "took_s": clock.monotonic_s()}))
