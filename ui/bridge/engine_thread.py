"""The engine's thread: one asyncio loop that the window hands work to and never waits for.

1. Work is handed over as a function that makes a coroutine, called in the engine's loop.
2. How it ended comes back as one signal, in the window's thread; reports never do.
3. Closing cancels what is running, ends the loop and waits for the thread, three seconds at most.
"""

import asyncio
import logging
import threading
from collections.abc import Awaitable, Callable
from concurrent.futures import CancelledError, Future
from typing import Any

from fleet.model.errors import WalkdownError
from ui.bridge.operation import Operation

_LOG = logging.getLogger(__name__)

CLOSING_LIMIT_S = 3.0
_LAST_WORK_LIMIT_S = 2.0


class EngineThread:
    """A worker thread with an asyncio loop in it; make and use it in the window's thread."""

    def __init__(self) -> None:
        """Start the thread."""
        self._loop = asyncio.new_event_loop()
        self._running: dict[Operation, Future[Any]] = {}
        self._thread = threading.Thread(target=self._run, name="engine", daemon=True)
        self._thread.start()

    def submit(self, make_coroutine: Callable[[], Awaitable[Any]]) -> Operation:
        """Run what `make_coroutine` makes in the engine's loop; return at once.

        Raises:
            RuntimeError: the thread was closed.
        """
        if self._loop.is_closed():
            raise RuntimeError("the engine's thread was closed")
        operation = Operation()
        future = asyncio.run_coroutine_threadsafe(_awaited(make_coroutine), self._loop)
        self._running[operation] = future
        operation.done.connect(lambda _: self._running.pop(operation, None))
        operation.failed.connect(lambda _: self._running.pop(operation, None))
        future.add_done_callback(lambda ended: _settle(operation, ended))
        return operation

    def call_soon(self, function: Callable[[], object]) -> None:
        """Call a plain function in the engine's loop, for example to ask something to stop."""
        if not self._loop.is_closed():
            self._loop.call_soon_threadsafe(function)

    def close(self, last_work: Callable[[], Awaitable[Any]] | None = None) -> bool:
        """Cancel what runs, do the last work, end the thread; say whether it ended in time."""
        if self._loop.is_closed():
            return True
        for future in self._running.values():
            future.cancel()
        self._running.clear()
        asyncio.run_coroutine_threadsafe(self._end(last_work), self._loop)
        self._thread.join(CLOSING_LIMIT_S)
        return not self._thread.is_alive()

    def _run(self) -> None:
        asyncio.set_event_loop(self._loop)
        try:
            self._loop.run_forever()
        finally:
            self._loop.run_until_complete(self._loop.shutdown_asyncgens())
            self._loop.close()

    async def _end(self, last_work: Callable[[], Awaitable[Any]] | None) -> None:
        try:
            if last_work is not None:
                await asyncio.wait_for(_awaited(last_work), _LAST_WORK_LIMIT_S)
        except (WalkdownError, TimeoutError) as reason:
            _LOG.error("the visit didn't end cleanly: %s", reason)
        finally:
            await _cancel_the_rest()
            self._loop.stop()


async def _awaited(make_coroutine: Callable[[], Awaitable[Any]]) -> Any:  # noqa: ANN401 - whatever the work returns
    return await make_coroutine()


async def _cancel_the_rest() -> None:
    rest = asyncio.all_tasks() - {asyncio.current_task()}
    for task in rest:
        task.cancel()
    await asyncio.gather(*rest, return_exceptions=True)


def _settle(operation: Operation, ended: "Future[Any]") -> None:
    try:
        operation.settle(ended.result(), None)
    except CancelledError:
        return  # the window is closing, or has opened another site: nobody listens any more
    except WalkdownError as reason:
        operation.settle(None, reason)
    except Exception as reason:  # noqa: BLE001 - a fault of ours is said to the person, not swallowed
        _LOG.error("unexpected in the engine", exc_info=reason)
        operation.settle(None, _unexpected(reason))


def _unexpected(reason: Exception) -> WalkdownError:
    return WalkdownError(
        f"something went wrong in the program itself ({type(reason).__name__}: {reason}).",
        stands="What was written so far is in the journal.",
        next_step="Read the units again before going on.",
    )
