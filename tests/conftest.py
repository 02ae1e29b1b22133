"""What holds for every test: no screen needed, nothing left behind, no deadlines."""

import asyncio
import inspect
import os

import pytest
from hypothesis import settings

from tests.hanging import held
from tests.leftovers import nothing_left_behind

__all__ = ["nothing_left_behind"]

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

# Two shared cores make any deadline a matter of luck. CI draws the same cases every time, so that a
# change fails for what it did; at a desk new cases are drawn.
settings.register_profile("ci", deadline=None, derandomize=True)
settings.register_profile("dev", deadline=None)
settings.load_profile("ci" if os.environ.get("CI") else "dev")


@pytest.hookimpl(tryfirst=True)
def pytest_pyfunc_call(pyfuncitem: pytest.Function) -> bool | None:
    """Run a test that is a coroutine in a loop of its own."""
    if not inspect.iscoroutinefunction(pyfuncitem.obj):
        return None
    names = inspect.signature(pyfuncitem.obj).parameters
    asyncio.run(held(pyfuncitem.obj(**{name: pyfuncitem.funcargs[name] for name in names})))
    return True
