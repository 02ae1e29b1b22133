"""One simulated unit: what it holds, what it reports at each tick, how it takes a write."""

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from random import Random
from typing import Any

from fleet.model.sheets import Area, Value
from fleet.simulator import names, settings
from fleet.simulator.chance import key_of, share_ppm
from fleet.simulator.figures import TICKS_A_SECOND, ModuleFigures, figures_of
from fleet.simulator.lines import Line
from fleet.simulator.occupancy import Occupancy, Presence
from fleet.simulator.plates import fixed_values
from fleet.simulator.radar import Body, Dice, Eye, Target, targets_seen
from fleet.simulator.rules import area_set_of
from fleet.simulator.streams import Streams
from fleet.simulator.truth import TrueUnit
from fleet.simulator.writing import report_text

RESTART_TICKS = 3 * TICKS_A_SECOND
OCCUPANCY_EVERY_TICKS = 60 * TICKS_A_SECOND
SLOW_EVERY_TICKS = 60 * TICKS_A_SECOND
BREATHING_EVERY_TICKS = 5 * TICKS_A_SECOND
BREATHING_SURE_TICKS = 20 * TICKS_A_SECOND
SUPPLY_MV = 5000

_LOST, _LIGHT, _WARMTH, _BREATH = 11, 12, 13, 14


@dataclass(slots=True)
class SimulatedUnit:
    """A unit's state. What survives a restart stands before `boots`.

    Attributes:
        truth: what it really is.
        eye: its radar.
        seed: of the run.
        values: settings by sheet key.
        areas, area_revision, settings_revision: the area set, and how often each was written.
        boots: how often it has started.
        number: of the next report.
        down_until_tick: it answers nothing before this tick.
        streams: who listens.
    """

    truth: TrueUnit
    eye: Eye
    seed: int
    values: dict[str, Value]
    areas: tuple[Area, ...]
    area_revision: int
    settings_revision: int = 1
    boots: int = 1
    number: int = 0
    down_until_tick: int = 0
    restart_asked: bool = False
    streams: Streams = field(default_factory=Streams)
    occupancy: Occupancy = field(default_factory=Occupancy)
    _tick: int = 0
    _time: str = ""
    _targets: Sequence[Target] = ()
    _dice: Dice = field(default_factory=lambda: Dice(0, 0, Random(0)))
    _direction: int = -1
    _directed_tick: int = 0
    _still_since: int | None = None
    _lost_key: int = 0
    _slow_key: int = 0
    _said: dict[str, object] = field(default_factory=dict)

    @property
    def figures(self) -> ModuleFigures:
        """Return what its module can do."""
        return self.eye.figures

    @property
    def settings(self) -> tuple[settings.Setting, ...]:
        """Return the settings that it offers."""
        return settings.offered(self.figures, self.values)

    @property
    def down(self) -> bool:
        """Say whether it is restarting and answers nothing."""
        return self._tick < self.down_until_tick

    def tick(
        self, tick: int, time: str, direction: int, bodies: Sequence[Body], openings: Sequence[Line]
    ) -> None:
        """Live one tenth of a second: look, report, watch for occupancy.

        Args:
            tick: number of the tick since the house began.
            time: its house time, RFC 3339.
            direction: number of the last stage direction; another one starts the noise afresh.
            bodies: who is on the unit's floor.
            openings: the open doors of that floor.
        """
        self._tick, self._time = tick, time
        if self.restart_asked:
            self._go_down(tick)
        if self.down:
            return
        if direction != self._direction:
            self._start_noise(direction, tick)
        self._look(bodies, openings)
        self._report()
        hold_s = int(self.values[settings.HOLD_TIME])
        changed = self.occupancy.step(tick, self._targets, hold_s)
        if changed or tick % OCCUPANCY_EVERY_TICKS == 0:
            self._say(names.PRESENCE, self.text_of(names.PRESENCE))
        if self.figures.breathing:
            self._breathe(bodies)
        if tick % SLOW_EVERY_TICKS == 0:
            self._say_slow_ones()

    def text_of(self, name: str) -> str:
        """Return a property's value as JSON.

        Raises:
            KeyError: it has no property of that name.
        """
        if name == names.ECHOES:
            return self._report_text(max(0, self.number - 1))
        return json.dumps(self._value_of(name), separators=(",", ":"))

    def etag_of(self, name: str) -> str:
        """Return the strong tag of a writable property, empty for one that isn't."""
        match name:
            case names.TUNING:
                return f'"t{self.settings_revision}"'
            case names.FLOOR_AREAS:
                return f'"a{self.area_revision}"'
        return ""

    def take_settings(self, values: dict[str, Value]) -> None:
        """Hold other settings from now on."""
        self.values = values
        self.settings_revision += 1
        self._say(names.TUNING, self.text_of(names.TUNING))

    def take_areas(self, areas: tuple[Area, ...]) -> None:
        """Hold another area set from now on."""
        self.areas = areas
        self.area_revision += 1
        self.occupancy.set_areas(areas)
        self._say(names.FLOOR_AREAS, self.text_of(names.FLOOR_AREAS))

    def _go_down(self, tick: int) -> None:
        self.restart_asked = False
        self.down_until_tick = tick + RESTART_TICKS
        self.boots += 1
        self.number = 0
        self._targets = ()
        self._said.clear()
        self.occupancy.overall = Presence()
        self.occupancy.set_areas(self.areas)
        self.streams.reset()

    def _start_noise(self, direction: int, tick: int) -> None:
        self._direction, self._directed_tick = direction, tick
        key = key_of(self.seed, self.truth.serial, direction)
        self._dice = Dice(key, 0, Random(key))

    def _look(self, bodies: Sequence[Body], openings: Sequence[Line]) -> None:
        if not bodies:
            self._targets = ()
            return
        dice = Dice(self._dice.key, self._tick - self._directed_tick, self._dice.noise)
        self._targets = targets_seen(
            self.eye,
            bodies,
            openings,
            dice,
            max_distance_mm=int(self.values[settings.MAX_DISTANCE]),
            sensitivity_percent=int(self.values[settings.SENSITIVITY]),
        )

    def _report(self) -> None:
        number, self.number = self.number, self.number + 1
        if not self.streams.listening(names.ECHOES):
            return
        if share_ppm(self._lost_key, self.boots, number) >= self.truth.lost_ppm:
            event_id = f"{self.boots}-{number}"
            self.streams.send(names.ECHOES, event_id, self._report_text(number))

    def _report_text(self, number: int) -> str:
        only = self.figures.distance_only
        return report_text(self._time, number, self._targets, distance_only=only)

    def _breathe(self, bodies: Sequence[Body]) -> None:
        sitting = bool(self._targets) and any(body.still_ticks is not None for body in bodies)
        if not sitting:
            self._still_since = None
        elif self._still_since is None:
            self._still_since = self._tick
        if self._tick % BREATHING_EVERY_TICKS == 0:
            value = self._breathing()
            self._say_changed(names.BREATHING, value, (value["quality"], value.get("rate")))

    def _say_slow_ones(self) -> None:
        for name, value in self._slow_values().items():
            self._say_changed(name, value, value)

    def _say_changed(self, name: str, value: object, apart_from_time: object) -> None:
        if self._said.get(name) != apart_from_time:
            self._said[name] = apart_from_time
            self._say(name, json.dumps(value, separators=(",", ":")))

    def _say(self, name: str, text: str) -> None:
        self.streams.send(name, f"{self.boots}-{self._tick}", text)

    def _value_of(self, name: str) -> object:
        match name:
            case names.TUNING:
                return settings.written(self.settings, self.values)
            case names.FLOOR_AREAS:
                return {"revision": self.area_revision, names.AREAS: area_set_of(self.areas)}
            case names.PRESENCE:
                return self._presence()
            case names.BREATHING:
                return self._breathing()
        return {**fixed_values(self.truth), **self._slow_values()}[name]

    def _slow_values(self) -> dict[str, int]:
        return {
            names.LIGHT: 90 + self._slow(_LIGHT) // 25_000,
            names.BOARD_TEMPERATURE: 36_000 + self._slow(_WARMTH) // 1000,
            names.WIFI_LEVEL: self.truth.signal_dbm,
            names.SUPPLY: SUPPLY_MV,
        }

    def _slow(self, what: int) -> int:
        return share_ppm(self._slow_key, what, self._tick // SLOW_EVERY_TICKS)

    def _presence(self) -> dict[str, Any]:
        value: dict[str, Any] = {"time": self._time, "any": self.occupancy.overall.occupied}
        if self.figures.most_areas:
            value[names.AREAS] = [
                {names.AREA_ID: key, "occupied": presence.occupied, "count": presence.count}
                for key, presence in self.occupancy.each.items()
            ]
        return value

    def _breathing(self) -> dict[str, Any]:
        still_ticks = 0 if self._still_since is None else self._tick - self._still_since
        if still_ticks < BREATHING_SURE_TICKS:
            return {"time": self._time, "quality": 0}
        rate = 13 + share_ppm(self._slow_key, _BREATH, self._tick // SLOW_EVERY_TICKS) // 300_000
        return {"time": self._time, "rate": rate, "quality": 850_000}


def unit_of(truth: TrueUnit, eye: Eye, seed: int) -> SimulatedUnit:
    """Make a unit as its truth says, freshly started."""
    unit = SimulatedUnit(
        truth=truth,
        eye=eye,
        seed=seed,
        values=settings.with_defaults(figures_of(truth.module_type), truth.settings),
        areas=truth.areas,
        area_revision=truth.area_revision,
        _lost_key=key_of(seed, truth.serial, _LOST),
        _slow_key=key_of(seed, truth.serial, _LIGHT),
    )
    unit.occupancy.set_areas(truth.areas)
    return unit
