"""The fixture that looks for what a test leaves behind, seen at work in a run of its own."""

from pathlib import Path

import pytest

HEAD = "import asyncio, threading\nfrom tests.leftovers import nothing_left_behind\n"

TASK_LEFT = """
async def leave():
    asyncio.create_task(asyncio.Event().wait())
    await asyncio.sleep(0)

def test_leaves():
    asyncio.run(leave())
"""
TASK_LEFT_IN_A_THREAD = TASK_LEFT.replace(
    "asyncio.run(leave())",
    "worker = threading.Thread(target=asyncio.run, args=(leave(),)); worker.start(); worker.join()",
)
THREAD_LEFT = """
stop = threading.Event()

def test_leaves():
    threading.Thread(target=stop.wait, name="forgotten", daemon=True).start()
"""
NOTHING_LEFT = """
async def tidy():
    await asyncio.create_task(asyncio.sleep(0))

def test_is_tidy():
    asyncio.run(tidy())
    worker = threading.Thread(target=int)
    worker.start()
"""


@pytest.fixture
def run_of(pytester, monkeypatch):
    root = str(Path(__file__).resolve().parents[2])
    monkeypatch.setenv("PYTHONPATH", root)

    def run(text: str) -> pytest.RunResult:
        pytester.makepyfile(HEAD + text)
        return pytester.runpytest_subprocess("-p", "no:cov")

    return run


@pytest.mark.parametrize("text", [TASK_LEFT, TASK_LEFT_IN_A_THREAD])
def test_a_task_left_behind_fails_the_test(run_of, text):
    result = run_of(text)
    result.assert_outcomes(passed=1, errors=1)
    result.stdout.fnmatch_lines(["left behind: task *"])


def test_a_thread_left_behind_fails_the_test(run_of):
    result = run_of(THREAD_LEFT + "\n\ndef test_later():\n    stop.set()\n")
    result.assert_outcomes(passed=2, errors=1)
    result.stdout.fnmatch_lines(["left behind: thread forgotten"])


def test_what_is_awaited_and_ended_is_no_leftover(run_of):
    run_of(NOTHING_LEFT).assert_outcomes(passed=1)
