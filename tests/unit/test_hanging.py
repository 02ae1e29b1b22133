"""A test that hangs is told where it stood, even if it takes its first cancellations for answers."""

import asyncio
import contextlib

import pytest

from tests.hanging import held


async def stubborn():
    ended = asyncio.Event()
    for _ in range(3):
        with contextlib.suppress(asyncio.CancelledError):
            await ended.wait()


async def test_a_hang_fails_and_names_the_line_that_waits():
    with pytest.raises(pytest.fail.Exception, match=r"await ended\.wait\(\)"):
        await held(stubborn(), patience_s=0.01)


async def test_what_a_test_says_is_passed_on():
    async def wrong():
        raise LookupError

    with pytest.raises(LookupError):
        await held(wrong())
