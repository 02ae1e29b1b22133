"""A campaign before it begins: images of a shelf, which units may take part, and in which waves."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from fleet.engine.campaign_plan import CampaignPlan
from fleet.jobs.gates import would_prove
from fleet.jobs.install_rules import RefusalKind
from fleet.jobs.update_time import campaign_left_s, duration
from fleet.jobs.update_words import disruption, support
from fleet.jobs.waves import key_of
from fleet.model.firmware import Campaign, CampaignState, Image, ImageLine, Wave
from fleet.model.snapshot import HouseState, ItemState
from ui.presenters.said_parts import Said, Section, section
from ui.presenters.words import breakable, count_words, sentence

_RULES = {
    Wave.BENCH: "units on the bench, one after another; where none lies there, the one missed least",
    Wave.ONE_A_KEY: (
        "of each kind (hardware revision, module type, module firmware) the one missed least, one after "
        "another: what was never tried on a kind is tried on one of it first"
    ),
    Wave.QUARTER: "a quarter of what is left, one at least",
    Wave.REST: "all others",
}
ROOMS_RULE = (
    "Never two units of one room at the same time, so that no room goes blind. Missed least is a rule of "
    "thumb of ours: a room with another unit first, then garage and office; stairs and halls last."
)
_KIB = 1024
_FOR_A_PERSON = (RefusalKind.UNKNOWN, RefusalKind.UNSAID)
_BACKWARDS = (RefusalKind.SEQUENCE, RefusalKind.ORDER_UNKNOWN)
OLDER_MEANT = "I mean the older build"


@dataclass(frozen=True, slots=True)
class UnitChoice:
    """A unit that may take part: what stands in its row, and whether it is ticked to begin with."""

    serial: str
    label: str
    cells: tuple[str, ...]
    ticked: bool


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A unit that was wanted and isn't updated.

    Attributes:
        label, why: which, and in words why.
        key: its kind, for a person's word on the match.
        may_vouch: that word would let it take part.
        may_go_back: a person's word that the older build is meant would.
    """

    label: str
    why: str
    key: str
    may_vouch: bool
    may_go_back: bool = False


UNIT_HEADINGS = ("Unit", "Room", "Runs", "On the bench")


def image_text(line: ImageLine) -> str:
    """Say an image in a row of the shelf: "2.1.3 · TR-2.1.3+b7 · tracking · signed, trusted"."""
    image = line.image
    modules = ", ".join(image.module_types) or "no module named"
    trust = "signed, trusted" if line.trusted else "NOT TRUSTED"
    return f"{image.version} · {modules} · {', '.join(image.hardware_revisions)} · {trust}"


def trust_state(line: ImageLine) -> ItemState:
    """Return the glyph that stands before an image."""
    return ItemState.SHOWN if line.trusted else ItemState.WRONG


def image_sections(line: ImageLine, today: date, *, at_once: int) -> tuple[Section, ...]:
    """Return all that a person should know of an image before anything is sent.

    Args:
        line: the image on its shelf.
        today: by the house's clock.
        at_once: how many units would be away at the same time.
    """
    image = line.image
    ended = image.support_ends is not None and image.support_ends < today
    known = ItemState.NOT_TESTED if image.support_ends is None else ItemState.SHOWN
    facts = (
        f"Build {image.build_id}, sequence {image.sequence}, {image.size_bytes / _KIB:,.0f} KiB.",
        _goes_with(image),
        f"Fingerprint of the image: {grouped(image.sha256)}",
    )
    signed = (
        f"Fingerprint of the key: {grouped(line.fingerprint)}"
        if line.fingerprint
        else "No signature fits."
    )
    return (
        Section(
            "Signature", (Said(breakable(line.said), trust_state(line)), Said(breakable(signed)))
        ),
        section("Image", facts, None, ""),
        Section("Support", (Said(support(image, today), ItemState.LOOK if ended else known),)),
        section("Notes of its maker", [image.notes] if image.notes else [], None, "None."),
        Section("What it disrupts", (Said(disruption(at_once=at_once), ItemState.LOOK),)),
    )


def grouped(fingerprint: str) -> str:
    """Return a fingerprint in groups of four, so that it can be read out and go over lines."""
    plain = fingerprint.replace(" ", "")
    return " ".join(plain[at : at + 4] for at in range(0, len(plain), 4))


def unit_choices(house: HouseState, wanted: Iterable[str] = ()) -> tuple[UnitChoice, ...]:
    """Return the units of the schedule; those of `wanted` serials are ticked, or all for none."""
    names = {room.key: room.name for room in house.plan.rooms}
    ticked = set(wanted)
    return tuple(
        UnitChoice(
            unit.line.serial,
            unit.line.label,
            (unit.line.label, names.get(unit.line.room, ""), _runs(house, unit.line.serial)),
            ticked=not ticked or unit.line.serial in ticked,
        )
        for unit in house.units.values()
        if unit.line.serial
    )


def wave_sections(house: HouseState, plan: CampaignPlan) -> tuple[Section, ...]:
    """Return the waves of a plan, each with its rule and its units."""
    names = {room.key: room.name for room in house.plan.rooms}
    sections = []
    for wave in Wave:
        members = [update for update in plan.updates if update.wave is wave]
        if members:
            units = ", ".join(
                f"{one.label} ({names.get(one.room, 'on the bench')})" for one in members
            )
            title = f"{wave.value.capitalize()}: {count_words(len(members), 'unit')}"
            rule, proof = f"Rule: {_RULES[wave]}.", f"Then a gate: {would_prove(len(members))}."
            lines = (Said(breakable(units), ItemState.TO_DO), Said(rule), Said(proof))
            sections.append(Section(title, lines))
    return tuple(sections)


def plan_note(plan: CampaignPlan) -> str:
    """Say how many units take part, how many at once, and how long it may take."""
    if not plan.updates:
        return "No unit takes part: there is nothing to start."
    left = campaign_left_s(
        Campaign(0, plan.image, CampaignState.PAUSED, plan.updates, "", "", plan.terms)
    )
    return (
        f"{count_words(len(plan.updates), 'unit')} to {plan.image.version}, {plan.terms.at_once} at once, "
        f"each watched for {duration(plan.terms.dwell_s)} afterwards: about {duration(left)}. {ROOMS_RULE}"
    )


def downgrade_said(house: HouseState, plan: CampaignPlan) -> str:
    """Say what it means to send an older build, and which units would go back."""
    back = [row.label for row in left_out_rows(house, plan) if row.may_go_back]
    runs = {unit.line.label: _runs(house, serial) for serial, unit in house.units.items()}
    units = ", ".join(f"{label} (runs {runs.get(label, 'an unknown build')})" for label in back)
    return (
        f"Back to {plan.image.version}: {units}. With an older build mended faults come back, security "
        "holes too. Settings that only the newer build knows may be lost. A unit may refuse it, and then "
        "stays as it is. Your reason stands in the journal."
    )


def downgrade_note(plan: CampaignPlan) -> str:
    """Say that units go back on purpose, and why; "" where none may."""
    if not plan.terms.allow_downgrade:
        return ""
    why = sentence(plan.terms.downgrade_why) or "None is written down."
    return f"CAUTION: units go back to an older build here. Reason: {why}"


def left_out_rows(house: HouseState, plan: CampaignPlan) -> tuple[LeftOut, ...]:
    """Return who is left out and why, and which of it a person's word would change."""
    found = {unit.line.label: unit.found for unit in house.units.values() if unit.found is not None}
    return tuple(
        LeftOut(
            label,
            why,
            key_of(found[label].sheet) if label in found else "",
            may_vouch=plan.refusals.get(label) in _FOR_A_PERSON,
            may_go_back=plan.refusals.get(label) in _BACKWARDS,
        )
        for label, why in plan.left_out.items()
    )


def _goes_with(image: Image) -> str:
    hardware = ", ".join(image.hardware_revisions) or "none"
    modules = ", ".join(image.module_types) or "no"
    tried = ", ".join(image.module_firmwares) or "that nobody names"
    return f"For hardware {hardware} with {modules} modules, tried with module firmware {tried}."


def _runs(house: HouseState, serial: str) -> str:
    unit = house.units.get(serial)
    if unit is None or unit.found is None:
        return "never read"
    return str(unit.found.sheet.get("build.version", "unknown"))
