import asyncio
from itertools import chain

import pytest

from fleet.discovery import questions
from fleet.discovery.questions import MAX_STRANGERS, NAMES_AT_ONCE, Questions


@pytest.fixture(autouse=True)
def short_pauses(monkeypatch):
    monkeypatch.setattr(questions, "PACE_S", 0.001)
    monkeypatch.setattr(questions, "PAUSES_S", (0.01, 0.02))


class Asked:
    """Questions that note what is sent, and answer none of it unless told to."""

    def __init__(self, answers=False):
        self.packets = []
        self.first = []
        self.changed = asyncio.Event()
        self.questions = Questions(self._send)
        self._answers = answers

    def _send(self, names, *, first):
        self.packets.append(list(names))
        self.first.append(first)
        self.changed.set()
        if self._answers:
            for name in names:
                self.questions.answered(name)

    async def until(self, holds):
        async with asyncio.timeout(10):
            while not holds():
                self.changed.clear()
                await self.changed.wait()

    async def __aenter__(self):
        self.questions.start()
        return self

    async def __aexit__(self, *_):
        await self.questions.stop()
        await self.questions.stop()


async def test_many_names_go_into_few_packets():
    async with Asked(answers=True) as asked:
        for number in range(90):
            asked.questions.want(f"n{number}", known=False)
        await asked.until(lambda: sum(map(len, asked.packets)) == 90)
    assert max(map(len, asked.packets)) == NAMES_AT_ONCE


async def test_a_name_that_is_not_answered_is_asked_for_again_and_then_left():
    async with Asked() as asked:
        asked.questions.want("Silent", known=False)
        assert not asked.questions.was_asked("silent")
        await asked.until(lambda: len(asked.packets) == 2)
        assert asked.questions.was_asked("silent")
        await asked.until(lambda: len(asked.packets) == 3)
        asked.questions.want("other", known=False)
        await asked.until(lambda: ["other"] in asked.packets)
        await asked.until(lambda: asked.packets.count(["other"]) == 3)
    assert asked.packets.count(["Silent"]) == 3
    assert asked.first == [True, False, False] * 2


async def test_names_that_were_heard_before_go_first():
    async with Asked() as asked:
        for number in range(NAMES_AT_ONCE):
            asked.questions.want(f"stranger{number}", known=False)
        asked.questions.want("known", known=True)
        await asked.until(lambda: asked.packets)
    assert asked.packets[0][0] == "known"


async def test_strangers_are_bounded_and_known_names_are_not():
    async with Asked() as asked:
        for number in range(2 * MAX_STRANGERS):
            asked.questions.want(f"stranger{number}", known=False)
        asked.questions.want("known", known=True)
        await asked.until(lambda: ["known"] in [packet[:1] for packet in asked.packets])
        await asked.until(lambda: len(set(chain(*asked.packets))) == MAX_STRANGERS + 1)


async def test_a_name_that_is_wanted_already_is_not_asked_for_twice_at_once():
    async with Asked(answers=True) as asked:
        asked.questions.want("n", known=False)
        asked.questions.want("N", known=False)
        await asked.until(lambda: asked.packets)
    assert asked.packets == [["n"]]
