"""One simulated unit: what it holds, what it reports at each tick, how it takes a write."""

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from random import Random
from typing import Any

from fleet.model.firmware import InstallState
from fleet.model.sheets import Area, Value
from fleet.simulator import names, scattered, settings
from fleet.simulator.chance import key_of, share_ppm
from fleet.simulator.figures import (
    LOST_AFTERWARDS_PPM,
    PROGRESS_EVERY_TICKS,
    TICKS_A_SECOND,
    ModuleFigures,
    figures_of,
)
from fleet.simulator.installing import Installer, Next, installer_of
from fleet.simulator.lines import Line
from fleet.simulator.occupancy import Occupancy, Presence
from fleet.simulator.orders import IDLE, REASONS, Progress
from fleet.simulator.plates import fixed_values
from fleet.simulator.radar import Body, Dice, Eye, Target, targets_seen
from fleet.simulator.rules import area_set_of
from fleet.simulator.streams import Streams
from fleet.simulator.truth import FirmwareFault, TrueUnit
from fleet.simulator.writing import report_text

OCCUPANCY_EVERY_TICKS = 60 * TICKS_A_SECOND
SLOW_EVERY_TICKS = 60 * TICKS_A_SECOND
BREATHING_EVERY_TICKS = 5 * TICKS_A_SECOND
BREATHING_SURE_TICKS = 20 * TICKS_A_SECOND
SUPPLY_MV = 5000
NEVER_TICK = 1 << 62

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
        installer: its firmware, and what is being done to it.
        edges: of a scattered unit, the edges and the purpose of each place for an area.
        scalar_writes: of a scattered unit, how many single values were written to it.
        boots: how often it has started.
        number: of the next report.
        down_until_tick: it answers nothing before this tick.
        restart_asked, keep_network: it restarts at the next tick; whether it then comes back.
        streams: who listens.
    """

    truth: TrueUnit
    eye: Eye
    seed: int
    values: dict[str, Value]
    areas: tuple[Area, ...]
    area_revision: int
    installer: Installer
    edges: list[scattered.Place] = field(default_factory=list)
    scalar_writes: int = 0
    settings_revision: int = 1
    boots: int = 1
    number: int = 0
    down_until_tick: int = 0
    restart_asked: bool = False
    keep_network: bool = True
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
    _lost_ppm: int = 0
    _slow_key: int = 0
    _said: dict[str, object] = field(default_factory=dict)
    _waking: bool = False
    _progress_said: Progress = IDLE

    @property
    def figures(self) -> ModuleFigures:
        """Return what its module can do."""
        return self.eye.figures

    @property
    def settings(self) -> tuple[settings.Setting, ...]:
        """Return the settings that it offers."""
        return settings.offered(self.figures, self.values)

    @property
    def last_tick(self) -> int:
        """Return the number of the last tick that it was told of."""
        return self._tick

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
            self.lose_power()
        if tick < self.down_until_tick:
            return
        if self._waking:
            self._wake(tick)
        renewing = self.installer.order is not None
        if (renewing or self.installer.progress is not self._progress_said) and (
            self._install(tick) is not Next.GO_ON
        ):
            return
        if direction != self._direction:
            self._start_noise(direction, tick)
        self._look(bodies, openings)
        self._report()
        hold_s = int(self.values[settings.HOLD_TIME])
        changed = self.occupancy.step(tick, self._targets, hold_s)
        if changed or tick % OCCUPANCY_EVERY_TICKS == 0:
            self._say(names.PRESENCE, self.text_of(names.PRESENCE))
        if self.eye.figures.breathing:
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

    def take_scalar(self, name: str, value: Value) -> None:
        """Hold another value of one scalar of a scattered unit from now on."""
        if scattered.take(self.values, self.settings, self.edges, name, value):
            self.area_revision += 1
            self.areas = scattered.areas_of(self.edges)
            self.occupancy.set_areas(self.areas)
        self._say(name, self.text_of(name))

    def lose_power(self) -> None:
        """Go down at once and come back, as after a short power cut."""
        self.installer.cut()
        self._go_down(self._tick)

    def wipe(self, *, keep_network: bool) -> None:
        """Forget all but the firmware, and restart; without its network it never answers again."""
        self.installer.wipe()
        self._reset_settings()
        self.areas, self.area_revision = (), self.area_revision + 1
        self.edges = scattered.places_of((), self.figures)
        self.restart_asked, self.keep_network = True, keep_network

    def _reset_settings(self) -> None:
        self.values = settings.factory_values(self.figures, self.values)
        self.settings_revision += 1

    def _install(self, tick: int) -> Next:
        """Let the installer go on, and say how far it got."""
        following = self.installer.step(tick)
        match following:
            case Next.RESTART:
                self._say_progress()
                self._go_down(tick)
            case Next.LOSE_POWER:
                self.lose_power()
            case Next.GO_ON:
                said, now = self._progress_said, self.installer.progress
                if said.state is not now.state or tick % PROGRESS_EVERY_TICKS == 0:
                    self._say_progress()
        return following

    def _say_progress(self) -> None:
        before, now = self._progress_said, self.installer.progress
        if before is now:
            return
        self._progress_said = now
        self._say(names.RENEWAL, self.text_of(names.RENEWAL))
        ended_badly = now.state in {InstallState.FAILED, InstallState.ROLLED_BACK}
        if ended_badly and before.state is not now.state:
            trouble = {"time": self._time, "code": now.reason, "detail": REASONS[now.reason]}
            self._say(names.TROUBLE, json.dumps(trouble, separators=(",", ":")))

    def _wake(self, tick: int) -> None:
        """Start again; what was decided while it was away is said now."""
        self._waking = False
        first_start = self.installer.wake(tick)
        loses_more = self.installer.loses_reports
        self._lost_ppm = LOST_AFTERWARDS_PPM if loses_more else self.truth.lost_ppm
        if first_start and self.installer.strikes(FirmwareFault.SETTINGS_LOST):
            self._reset_settings()

    def _go_down(self, tick: int) -> None:
        self.restart_asked = False
        away_ticks = self.installer.away_ticks if self.keep_network else NEVER_TICK
        self.down_until_tick = tick + away_ticks
        self._waking = True
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
        if share_ppm(self._lost_key, self.boots, number) >= self._lost_ppm:
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
                if self.truth.scattered:
                    return {names.AREAS: scattered.area_values(self.edges)}
                return {"revision": self.area_revision, names.AREAS: area_set_of(self.areas)}
            case names.PRESENCE:
                return self._presence()
            case names.BREATHING:
                return self._breathing()
            case names.RENEWAL:
                return progress_value(self.installer.progress)
        if self.truth.scattered and name in scattered.scalar_schemas(self.settings, self.figures):
            return scattered.value_of(self.values, self.settings, self.edges, name)
        return {**fixed_values(self.truth, self.installer.slots), **self._slow_values()}[name]

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


def progress_value(progress: Progress) -> dict[str, object]:
    """Write how far an installation got under the unit's own names."""
    value: dict[str, object] = {"stage": progress.state.value}
    if progress.digest:
        value["digest"] = progress.digest
    if progress.octets_done is not None:
        value["bytesDone"] = progress.octets_done
    if progress.octets_total is not None:
        value["bytesTotal"] = progress.octets_total
    return value | ({"why": progress.reason} if progress.reason else {})


def unit_of(truth: TrueUnit, eye: Eye, seed: int) -> SimulatedUnit:
    """Make a unit as its truth says, freshly started."""
    figures = figures_of(truth.module_type)
    edges = scattered.places_of(truth.areas, figures) if truth.scattered else []
    unit = SimulatedUnit(
        truth=truth,
        eye=eye,
        seed=seed,
        values=settings.with_defaults(figures, truth.settings),
        areas=scattered.areas_of(edges) if truth.scattered else truth.areas,
        area_revision=truth.area_revision,
        installer=installer_of(truth),
        edges=edges,
        _lost_ppm=truth.lost_ppm,
        _lost_key=key_of(seed, truth.serial, _LOST),
        _slow_key=key_of(seed, truth.serial, _LIGHT),
    )
    unit.occupancy.set_areas(unit.areas)
    return unit
