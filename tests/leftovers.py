"""Fails a test that leaves asyncio tasks or threads behind it.

`asyncio.run` cancels what is left and says nothing; a task that is still pending at that moment was
awaited by nobody, and in the running program it would go on.
"""

import asyncio
import threading
from collections.abc import Iterator

import pytest

_GRACE_S = 1.0  # a thread that was told to stop may still be on its way out


@pytest.fixture(autouse=True)
def nothing_left_behind(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Look at tasks when a loop closes and at threads when the test is over."""
    tasks: list[str] = []
    close = asyncio.Runner.close

    def close_and_note(runner: asyncio.Runner) -> None:
        tasks.extend(_pending_tasks(runner))
        close(runner)

    before = set(threading.enumerate())
    with monkeypatch.context() as patched:
        patched.setattr(asyncio.Runner, "close", close_and_note)
        yield
        threads = _living_threads(before)
    if tasks or threads:
        pytest.fail("left behind: " + "; ".join(tasks + threads), pytrace=False)


def _pending_tasks(runner: asyncio.Runner) -> list[str]:
    try:
        loop = runner.get_loop()
    except RuntimeError:  # closed before, and looked at then
        return []
    return [f"task {task.get_name()} {task.get_coro()!r}" for task in asyncio.all_tasks(loop)]


def _living_threads(before: set[threading.Thread]) -> list[str]:
    ours = [
        thread
        for thread in threading.enumerate()
        # A dummy stands for a thread that Python didn't start (Qt's own) and can't be waited for.
        if thread not in before and not isinstance(thread, threading._DummyThread)
    ]
    for thread in ours:
        thread.join(_GRACE_S)
    return [f"thread {thread.name}" for thread in ours if thread.is_alive()]
