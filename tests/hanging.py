"""A test that hangs says where, and fails; the others go on."""

import asyncio
import io
from collections.abc import Coroutine

import pytest

PATIENCE_S = 300.0
"""Far beyond what any test takes: it bounds a hang and measures nothing."""
_GRACE_S = 0.2
_TELLINGS = 50


async def held(test: Coroutine[None, None, None], patience_s: float = PATIENCE_S) -> None:
    """Run a test; one that doesn't end fails with the stack of every task."""
    running = asyncio.ensure_future(test)
    done, _ = await asyncio.wait({running}, timeout=patience_s)
    if done:
        return running.result()
    stacks = io.StringIO()
    for task in asyncio.all_tasks():
        task.print_stack(file=stacks)
    # A task may take one cancellation for an answer (`asyncio.wait_for` before Python 3.12).
    for _ in range(_TELLINGS):
        running.cancel()
        if (await asyncio.wait({running}, timeout=_GRACE_S))[0]:
            break
    pytest.fail(f"it hung for {patience_s:.0f} s:\n{stacks.getvalue()}", pytrace=False)
