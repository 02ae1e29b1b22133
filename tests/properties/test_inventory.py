"""Whatever is done to an inventory in whatever order, it says what a plain model of it says.

The rules play a visit: lines, decisions, readings, sheets left, ticks, signatures, steps; the program is
closed and opened in between. Nothing is lost, the last word counts, and the journal holds.
"""

import tempfile
from datetime import timedelta
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, consumes, invariant, rule

from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError
from fleet.model.house import Signature
from fleet.model.journal import StepState
from tests.inventories import NOON, CountingClock, line, reading, sighting, small_plan, step

rooms = st.sampled_from(["hall", "loft"])
labels = st.sampled_from(["U1", "U2", "U3", "U4", "Ü\u0301 5"])
serials = st.sampled_from(["S-1", "S-2", "S-3", "S-4"])
texts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=8)
keys = texts.map(lambda text: f"setting.{text}")
values = st.one_of(st.integers(), texts, st.booleans())
sheets = st.dictionaries(keys, values, max_size=6)
moments = st.timedeltas(timedelta(days=-999), timedelta(days=999)).map(lambda away: NOON + away)


class Visit(RuleBasedStateMachine):
    """The inventory and, beside it, plain dictionaries of what it should say."""

    steps = Bundle("steps")

    def __init__(self):
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.inventory = open_inventory(Path(self.folder.name), CountingClock())
        self.inventory.add_site(small_plan())
        self.rows = 1
        self.lines = {unit.label: unit for unit in small_plan().units}
        self.left = dict(self.inventory.as_left())
        self.waiting = {"U2": ({"build.sequence": 40}, small_plan().visits[0].left_at)}
        self.overrides, self.read, self.heard = {}, {}, {}
        self.ticked, self.signed, self.open = {}, {}, []

    def teardown(self):
        self.inventory.close()
        self.folder.cleanup()

    @rule()
    def close_and_open(self):
        self.inventory.close()
        self.inventory = open_inventory(Path(self.folder.name), CountingClock())

    @rule(label=labels, serial=st.one_of(st.just(""), serials), room=rooms, settings=sheets)
    def save_line(self, label, serial, room, settings):
        new = line(label, serial, room, settings=settings)
        others = {unit.serial for unit in self.lines.values() if unit.label != label}
        if serial and serial in others:
            try:
                self.inventory.save_line(new, why="placed")
            except PlanError:
                return
            raise AssertionError("one serial on two lines")
        self.inventory.save_line(new, why="placed")
        self.rows += 1
        self.lines[label] = new
        if serial and serial not in self.left and label in self.waiting:
            self.left[serial] = self.waiting.pop(label)

    @rule(serial=serials, key=keys, value=st.one_of(st.none(), values))
    def save_planned_item(self, serial, key, value):
        self.inventory.save_planned_item(serial, key, value, why="asked for", by="A")
        self.rows += 1
        self.overrides.setdefault(serial, {})[key] = value

    @rule(serial=serials, sheet=sheets, at=moments, other=st.dictionaries(texts, texts, max_size=3))
    def save_reading(self, serial, sheet, at, other):
        self.read[serial] = reading(serial, at, sheet=sheet, other=other)
        self.inventory.save_reading(self.read[serial])
        self.rows += 1

    @rule(serial=serials, url=texts, at=moments)
    def save_sighting(self, serial, url, at):
        self.heard[serial] = sighting(url, at)
        self.inventory.save_sighting(serial, self.heard[serial])
        self.rows += 1

    @rule(serial=serials, sheet=sheets, at=moments)
    def save_as_left(self, serial, sheet, at):
        self.inventory.save_as_left(serial, sheet, at, why="signed")
        self.rows += 1
        self.left[serial] = (sheet, at)

    @rule(room=rooms, item=texts, by=texts, said=texts)
    def save_tick(self, room, item, by, said):
        self.inventory.save_tick(room, item, by=by, said=said)
        self.rows += 1
        self.ticked.setdefault(room, {})[item] = (by, said)

    @rule(room=rooms, name=texts, exceptions=st.dictionaries(texts, texts, max_size=3))
    def save_signature(self, room, name, exceptions):
        self.signed[room] = Signature(name, "client", NOON, exceptions)
        self.inventory.save_signature(room, self.signed[room])
        self.rows += 1

    @rule(target=steps, hold_time_s=st.integers())
    def intend(self, hold_time_s):
        key = self.inventory.intend(step(hold_time_s=hold_time_s))
        self.rows += 1
        self.open.append((key, step(hold_time_s=hold_time_s)))
        return key

    @rule(key=consumes(steps), state=st.sampled_from([StepState.DONE, StepState.NOT_DONE]))
    def conclude(self, key, state):
        self.inventory.conclude(key, state, "read back")
        self.rows += 1
        self.open = [one for one in self.open if one[0] != key]

    @invariant()
    def it_says_what_was_said_last(self):
        inventory = self.inventory
        assert {unit.label: unit for unit in inventory.plan().units} == self.lines
        assert inventory.planned_overrides() == self.overrides
        assert inventory.readings() == self.read
        assert inventory.sightings() == self.heard
        assert inventory.as_left() == self.left
        assert inventory.signatures() == self.signed
        ticks = inventory.ticks()
        assert {
            room: {item: (tick.by, tick.said) for item, tick in items.items()}
            for room, items in ticks.items()
        } == self.ticked
        assert [(one.key, one.step) for one in inventory.open_steps()] == self.open

    @invariant()
    def every_write_has_one_row_and_the_chain_holds(self):
        assert len(self.inventory.journal()) == self.rows
        assert self.inventory.first_broken_row() is None


TestInventory = Visit.TestCase
TestInventory.settings = settings(max_examples=15, stateful_step_count=20)
