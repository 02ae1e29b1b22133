"""The inventory: what is known of every site, on disk, with the account of how it came to be known.

1. Every write is one transaction, and its journal row is in it: both are on the disk when the method
   returns, or neither is.
2. One program writes. A second one opens to read alone and says who writes.
3. What is read of a unit keeps its time; older readings, sheets and signatures are kept.
4. It is used from one thread.
"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import msgspec
from sqlalchemy.orm import Session

from fleet.inventory import access, journal, lines, marks, sheets, sites, steps, templates
from fleet.inventory.all_sites import all_site_units
from fleet.inventory.belief_tables import SheetRow
from fleet.inventory.campaigns import Campaigns
from fleet.inventory.kept_sheets import KeptSheet, kept_sheets_of
from fleet.inventory.marks import Tick
from fleet.inventory.opening import OpenFile, open_file, translated
from fleet.inventory.rebuilding import rebuilt_plan
from fleet.inventory.storing import store_plan
from fleet.inventory.swaps import Swaps
from fleet.inventory.texts import sha256_of
from fleet.model.all_sites import SiteUnits
from fleet.model.clock import Clock, to_rfc3339
from fleet.model.errors import InventoryError
from fleet.model.house import HousePlan, PlannedUnit, Signature
from fleet.model.journal import JournalRow, OpenStep, StepState, WriteStep
from fleet.model.meeting import Pin
from fleet.model.sheets import Sheet, Value
from fleet.model.templates import Decision, KeptTemplate, Level, Template
from fleet.model.units import Reading, Sighting
from fleet.shipped import migrations


def open_inventory(folder: Path, clock: Clock) -> "Inventory":
    """Open the inventory of a folder; made where it is missing, upgraded (after a backup) where older.

    Args:
        folder: the data folder; made for its owner alone.
        clock: dates the journal.

    Raises:
        InventoryError: it can't be made, read or upgraded, or is newer than this program.
    """
    return Inventory(open_file(folder, clock, migrations()), clock)


class Inventory:
    """An open inventory; close it, or use it in a `with`.

    Each method that writes raises `InventoryError` where another program writes, or where the disk
    refuses; then nothing of it is stored. Methods about a site mean the current one, and raise
    `PlanError` where there is none.
    """

    def __init__(self, file: OpenFile, clock: Clock) -> None:
        """Work on an open file; `open_inventory` is the usual way here."""
        self._file = file
        self._clock = clock
        self._closed = False

    def __enter__(self) -> Self:
        """Return the inventory itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close it."""
        self.close()

    def close(self) -> None:
        """Close the file and let others write; a second time does nothing."""
        if not self._closed:
            self._closed = True
            self._file.close()

    @property
    def path(self) -> Path:
        """The file."""
        return self._file.path

    @property
    def read_only(self) -> bool:
        """Whether nothing can be written: another program writes, or the disk can't be written to."""
        return self._file.lock is None

    @property
    def read_only_because(self) -> str:
        """Why nothing can be written, in words; "" for the writer."""
        return self._file.read_only_because

    # Sites and their plans

    def add_site(self, plan: HousePlan) -> None:
        """Take a plan over as a new site; the first one is the current site at once.

        Raises:
            PlanError: a site of that name is there, or the plan doesn't hold together.
        """
        with self._writing() as session:
            store_plan(session, plan, self._clock.now())
            counts = {"rooms": len(plan.rooms), "units": len(plan.units)}
            self._account(session, "site-added", plan.site.name, counts)

    def choose_site(self, name: str) -> None:
        """Make a site the current one.

        Raises:
            PlanError: there is no site of that name.
        """
        with self._writing() as session:
            sites.mark_chosen(session, name)
            self._account(session, "site-chosen", name, {})

    def sites(self) -> tuple[str, ...]:
        """Return the names of all sites, in the order they were added."""
        with self._reading() as session:
            return sites.site_names(session)

    def all_sites(self) -> tuple[SiteUnits, ...]:
        """Return every site ever taken over, with the last that was read of each unit's build."""
        with self._reading() as session:
            return all_site_units(session)

    @property
    def site_name(self) -> str | None:
        """The current site: the only one, or the one chosen last; None where there is none."""
        with self._reading() as session:
            site = sites.current_site(session)
            return site.name if site else None

    def plan(self) -> HousePlan:
        """Return the current site's plan, its schedule as it stands now."""
        with self._reading() as session:
            return rebuilt_plan(session)

    def save_line(self, line: PlannedUnit, *, why: str) -> None:
        """Add a line of the schedule, or replace the one of its label.

        Raises:
            PlanError: no such room, or the serial stands on another line.
        """
        with self._writing() as session:
            lines.put_line(session, line, self._clock.now())
            detail = {"label": line.label, "room": line.room, "why": why}
            self._account(session, "line-saved", line.serial or line.label, detail)

    def save_planned_item(
        self, serial: str, key: str, value: Value | None, *, why: str, by: str
    ) -> None:
        """Keep a person's decision that one item is planned otherwise; None takes it away."""
        with self._writing() as session:
            now = self._clock.now()
            lines.put_planned_item(session, serial, key, value, why=why, by=by, now=now)
            detail = {"item": key, "value": value, "why": why, "by": by}
            self._account(session, "planned-item-decided", serial, detail)

    def planned_overrides(self) -> Mapping[str, Mapping[str, Value | None]]:
        """Return serial → item → value that a person decided."""
        with self._reading() as session:
            return lines.planned_items(session)

    def planned_decisions(self) -> Mapping[str, Mapping[str, Decision]]:
        """Return serial → item → what a person decided, with who and why."""
        with self._reading() as session:
            return templates.all_decisions(session)

    def save_template(self, template: Template, *, why: str, by: str) -> None:
        """Keep a room template of the current site; it replaces the one of its level and subject.

        Raises:
            PlanError: no such room, or nobody stands for it.
        """
        with self._writing() as session:
            kept = templates.kept_now(template, by=by, why=why, now=self._clock.now())
            templates.put_template(session, kept)
            detail = {"template": msgspec.to_builtins(template), "why": why, "by": by}
            self._account(session, "template-set", templates.name_of(template), detail)

    def drop_template(self, level: Level, subject: str, *, why: str, by: str) -> None:
        """Take a room template of the current site away.

        Raises:
            PlanError: there is none, or nobody stands for it.
        """
        with self._writing() as session:
            dropped = templates.drop_template(session, level, subject)
            templates.kept_now(dropped, by=by, why=why, now=self._clock.now())
            detail = {"template": msgspec.to_builtins(dropped), "why": why, "by": by}
            self._account(session, "template-dropped", templates.name_of(dropped), detail)

    def templates(self) -> tuple[KeptTemplate, ...]:
        """Return the current site's room templates, the farthest level first."""
        with self._reading() as session:
            return templates.all_templates(session)

    # What was heard, read and left

    def save_sighting(self, serial: str, sighting: Sighting) -> None:
        """Keep where a unit was last heard."""
        with self._writing() as session:
            sheets.put_sighting(session, serial, sighting)
            detail = {"url": sighting.url, "heard_at": to_rfc3339(sighting.heard_at)}
            self._account(session, "sighted", serial, detail)

    def sightings(self) -> Mapping[str, Sighting]:
        """Return serial → where it was last heard."""
        with self._reading() as session:
            return sheets.all_sightings(session)

    def save_reading(self, reading: Reading) -> None:
        """Keep a reading beside the older ones."""
        with self._writing() as session:
            sheets.add_reading(session, reading)
            detail = {"url": reading.url, "sheet_sha256": sha256_of(reading.sheet)}
            detail["read_at"] = to_rfc3339(reading.read_at)
            self._account(session, "read", reading.serial, detail)

    def readings(self) -> Mapping[str, Reading]:
        """Return serial → the reading that came in last."""
        with self._reading() as session:
            return sheets.latest_readings(session)

    def save_as_left(self, serial: str, sheet: Sheet, at: datetime, *, why: str) -> None:
        """Keep the sheet that a unit was left with."""
        with self._writing() as session:
            site_id = sites.needed_site(session).id
            kind = sheets.AS_LEFT
            left = SheetRow(site_id=site_id, kind=kind, serial=serial, at=at, why=why)
            sheets.add_sheet(session, sheet, left)
            detail = {"at": to_rfc3339(at), "sheet_sha256": sha256_of(sheet), "why": why}
            self._account(session, "left", serial, detail)

    def as_left(self) -> Mapping[str, tuple[Sheet, datetime]]:
        """Return serial → the sheet that it was left with last, this visit or before, and when."""
        with self._reading() as session:
            return sheets.latest_left(session)

    # How units are reached

    def pin_for(self, key: str) -> Pin | None:
        """Return the certificate that is trusted under a key, or None."""
        with self._reading() as session:
            return access.pin_of(session, key)

    def keep(self, pin: Pin) -> None:
        """Trust a certificate from now on."""
        with self._writing() as session:
            access.put_pin(session, pin)
            self._account(session, "certificate-trusted", pin.key, {"sha256": pin.sha256})

    def forget_pin(self, key: str, *, why: str, by: str) -> None:
        """Trust the certificate under a key no longer; the next one seen is trusted."""
        with self._writing() as session:
            access.drop_pin(session, key)
            self._account(session, "certificate-forgotten", key, {"why": why, "by": by})

    def save_broker(self, url: str) -> None:
        """Keep a broker of the current site.

        Raises:
            PlanError: there is no site yet.
        """
        with self._writing() as session:
            access.put_broker(session, url, self._clock.now())
            self._account(session, "broker-added", url, {})

    def brokers(self) -> tuple[str, ...]:
        """Return the brokers of the current site."""
        with self._reading() as session:
            return access.broker_urls(session)

    # What people did, and what was shown

    def save_tick(self, room: str, item: str, *, by: str, said: str) -> None:
        """Keep that a person did an item of a room's checklist.

        Raises:
            PlanError: there is no such room.
        """
        with self._writing() as session:
            marks.put_tick(session, room, item, Tick(by, self._clock.now(), said))
            self._account(session, "ticked", room, {"item": item, "by": by, "said": said})

    def ticks(self) -> Mapping[str, Mapping[str, Tick]]:
        """Return room → item → its tick."""
        with self._reading() as session:
            return marks.all_ticks(session)

    def save_signature(self, room: str, signature: Signature) -> None:
        """Keep that a person accepted a room this visit.

        Raises:
            PlanError: there is no such room.
        """
        with self._writing() as session:
            marks.add_signature(session, room, signature)
            detail = {"name": signature.name, "role": signature.role}
            excepted = {"exceptions": dict(signature.exceptions)}
            self._account(session, "signed", room, detail | excepted)

    def signatures(self) -> Mapping[str, Signature]:
        """Return room → its last signature of this visit."""
        with self._reading() as session:
            return marks.all_signatures(session)

    def save_evidence(self, kind: str, subject: str, document: Mapping[str, Any]) -> str:
        """Keep a document of evidence; return the SHA-256 of its canonical JSON, hex."""
        with self._writing() as session:
            digest = marks.add_evidence(session, kind, subject, document, self._clock.now())
            self._account(session, "evidence-kept", subject, {"kind": kind, "sha256": digest})
            return digest

    def evidence(self, kind: str) -> Mapping[str, Mapping[str, Any]]:
        """Return subject → the document of that kind that was taken last."""
        with self._reading() as session:
            return marks.latest_evidence(session, kind)

    @property
    def campaigns(self) -> Campaigns:
        """The firmware campaigns of the current site."""
        return Campaigns(self._reading, self._writing, self._account, self._clock)

    @property
    def swaps(self) -> Swaps:
        """Swaps of units and modules in the current site."""
        return Swaps(self._writing, self._account, self._clock)

    # The account

    def append(self, what: str, subject: str, detail: Mapping[str, Any]) -> JournalRow:
        """Add a row to the journal; return it."""
        with self._writing() as session:
            return self._account(session, what, subject, detail)

    def journal(self) -> tuple[JournalRow, ...]:
        """Return the whole journal, oldest first."""
        with self._reading() as session:
            return journal.all_rows(session)

    def journal_of(self, *what: str) -> tuple[JournalRow, ...]:
        """Return the journal's rows of some kinds, oldest first."""
        with self._reading() as session:
            return journal.rows_of(session, what)

    def first_broken_row(self) -> int | None:
        """Return the number of the first row that doesn't follow from the one before; None if all do."""
        return journal.first_broken(self.journal())

    def unaccounted(self) -> tuple[str, ...]:
        """Say what is kept that no row of the journal accounts for, a sentence each."""
        with self._reading() as session:
            return journal.unaccounted(session)

    def intend(self, step: WriteStep, more: Mapping[str, Any] | None = None) -> str:
        """Keep, on the disk, what is about to be written to a unit; return the key to conclude it.

        Args:
            step: the write.
            more: what else the journal says of it: who, why.
        """
        with self._writing() as session:
            return steps.add_intent(session, step, self._clock.now(), more)

    def conclude(
        self, key: str, state: StepState, said: str, more: Mapping[str, Any] | None = None
    ) -> None:
        """Keep what a read-back showed of a step; one still in doubt stays open.

        Args:
            key: the step's.
            state, said: how far it got, and the same in words.
            more: what else the journal says of it: each item's outcome.

        Raises:
            InventoryError: there is no such step, or its outcome is known already.
        """
        with self._writing() as session:
            steps.add_outcome(session, key, state, said, self._clock.now(), more)

    def open_steps(self) -> tuple[OpenStep, ...]:
        """Return the steps whose outcome isn't known, oldest first."""
        with self._reading() as session:
            return steps.steps_in_doubt(session)

    def unfinished_steps(self) -> tuple[OpenStep, ...]:
        """Return the steps that are known to be partly done and wait for a person, oldest first."""
        with self._reading() as session:
            return steps.unfinished_steps(session)

    def sheets_of_unit(self, serial: str) -> tuple[KeptSheet, ...]:
        """Return every sheet that is kept of a unit, oldest first."""
        with self._reading() as session:
            return kept_sheets_of(session, serial)

    def _account(
        self, session: Session, what: str, subject: str, detail: Mapping[str, Any]
    ) -> JournalRow:
        return journal.append_row(session, self._clock.now(), what, subject, detail)

    @contextmanager
    def _writing(self) -> Iterator[Session]:
        if self.read_only:
            raise InventoryError(
                f"nothing can be written: {self.read_only_because}.",
                subject=str(self.path),
                stands="It is open to read alone.",
                next_step="Close the other program, then start this one again.",
            )
        self._refuse_closed()
        with (
            translated(self.path, "Nothing of this was stored."),
            Session(self._file.engine, expire_on_commit=False) as session,
            session.begin(),
        ):
            yield session

    @contextmanager
    def _reading(self) -> Iterator[Session]:
        self._refuse_closed()
        with (
            translated(self.path, "Nothing was changed."),
            Session(self._file.engine) as session,
        ):
            yield session

    def _refuse_closed(self) -> None:
        """The engine would quietly connect again, without the right to write."""
        if self._closed:
            raise InventoryError(
                "it is closed.",
                subject=str(self.path),
                stands="Nothing was changed.",
                next_step="Open it again.",
            )
