"""The connection of a test's unit to its broker: aiomqtt's, but a task that is told to end does end."""

import asyncio

import aiomqtt


class BrokerClient(aiomqtt.Client):
    """A unit's connection.

    aiomqtt waits by `asyncio.wait_for`, which before Python 3.12 drops a cancellation that comes in the
    same turn of the loop as the answer. A unit that speaks all the time then never ends.
    """

    async def _wait_for(self, fut, timeout):  # noqa: ASYNC109 - overrides aiomqtt's own signature
        async with asyncio.timeout(self.timeout if timeout is None else timeout):
            return await fut
