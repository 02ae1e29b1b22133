"""What should stand in a unit once everything that is settled has been done, and what stays open.

For each item, by how it stands (see `comparing`) and by what a person chose:

1. A person's choice wins: what was found, what is planned, or another value that was typed.
2. *Same* and *unknown*: what was found stands.
3. *To apply*: what is planned stands. So does a planned area that the unit doesn't hold and wasn't left
   with: an area can be given to a unit, a setting that it lacks can't.
4. *Changed on site*, *conflict*: open; what was found stands meanwhile.
5. *Unreadable*: open where the plan wants it, and absent meanwhile.

Hardware, module, build and mount follow the same rules, although they are changed by other means than a
write: the sheet says what should be fitted or installed then.

Laws, held by tests over any sheets: merging what was merged changes nothing; once everything is chosen,
comparing after the apply and the sign-off gives only *same*; an item that was found is gone afterwards
only where a person chose so.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.jobs.comparing import compare
from fleet.model.errors import PlanError
from fleet.model.sheets import Choice, Comparison, Sheet, Standing, Take, Value

_FOUND_STANDS = (Standing.SAME, Standing.UNKNOWN)
_WAITS = (Standing.CHANGED_ON_SITE, Standing.CONFLICT)


@dataclass(frozen=True, slots=True)
class Merged:
    """What three sheets and a person's choices come to.

    Attributes:
        sheet: what should stand in the unit.
        planned: the plan afterwards; it differs where a person kept what was found, or typed a value.
        open: items that wait for a person.
        without_outline: ids of areas that would stand without their outline; nothing of them can be
            written until all of their items are chosen alike.
    """

    sheet: Sheet
    planned: Sheet
    open: tuple[Comparison, ...]
    without_outline: tuple[str, ...] = ()


def merge(
    planned: Sheet,
    found: Sheet | None,
    as_left: Sheet | None,
    choices: Mapping[str, Choice] | None = None,
) -> Merged:
    """Put three sheets and a person's choices together.

    Args:
        planned, found, as_left: as for `compare`.
        choices: item → what a person chose.

    Raises:
        PlanError: a choice is unfit (see `refuse_unfit_choice`), or no sheet has its item.
    """
    choices, items = choices or {}, compare(planned, found, as_left)
    _refuse_strangers(choices, items)
    sheet = _without_none({item.key: stands_after(item, choices.get(item.key)) for item in items})
    afterwards = {item.key: planned_after(item, choices.get(item.key)) for item in items}
    still_open = tuple(item for item in items if item.key not in choices and is_open(item))
    return Merged(sheet, _without_none(afterwards), still_open, _without_outline(sheet))


def is_open(item: Comparison) -> bool:
    """Say whether an item waits for a person as long as nothing is chosen about it."""
    if item.standing is Standing.UNREADABLE:
        return item.planned is not None and not _can_be_given(item)
    return item.standing in _WAITS


def stands_after(item: Comparison, choice: Choice | None = None) -> Value | None:
    """Return what should stand in the unit; None for nothing.

    Raises:
        PlanError: the choice is unfit.
    """
    if choice is not None:
        refuse_unfit_choice(item, choice)
        return {
            Take.FOUND: item.found,
            Take.PLANNED: item.planned,
            Take.TYPED: choice.value,
        }[choice.take]
    if item.standing in _FOUND_STANDS or item.standing in _WAITS:
        return item.found
    if item.standing is Standing.TO_APPLY or _can_be_given(item):
        return item.planned
    return None


def planned_after(item: Comparison, choice: Choice | None = None) -> Value | None:
    """Return what is planned once a choice was made; None for nothing."""
    if choice is None or choice.take is Take.PLANNED:
        return item.planned
    return item.found if choice.take is Take.FOUND else choice.value


def refuse_unfit_choice(item: Comparison, choice: Choice) -> None:
    """Refuse a choice that nobody stands for, or that can't be carried out.

    Raises:
        PlanError: name, reason or value is missing; a setting that the unit doesn't hold would be
            written; the value is no number, word or switch as the item's others are; or the plan
            would be followed where it says nothing.
    """
    writes = choice.take is not Take.FOUND
    is_setting = item.key.startswith("setting.")
    if not choice.by.strip() or not choice.why.strip():
        raise _unfit(item, "who chooses it, and why, has to be said")
    if (choice.take is Take.TYPED) != (choice.value is not None):
        raise _unfit(item, "a value belongs to a choice of another value, and to no other")
    if choice.value is not None and not _is_of_its_kind(item, choice.value):
        raise _unfit(item, f"{choice.value!r} is of another kind than its values so far")
    if writes and is_setting and item.found is None:
        raise _unfit(item, "it wasn't read from the unit, so it can't be written to it")
    if choice.take is Take.PLANNED and item.planned is None and not item.key.startswith("areas."):
        raise _unfit(item, "the plan says nothing of it, and it can't be taken away")


def _is_of_its_kind(item: Comparison, value: Value) -> bool:
    return type(value) in {type(one) for one in (item.planned, item.found, item.as_left)}


def _unfit(item: Comparison, reason: str) -> PlanError:
    return PlanError(
        f"{reason}.",
        subject=item.key,
        stands="The item stays open.",
        next_step="Choose again: keep what was found, take the plan's, or type another value.",
    )


def _refuse_strangers(choices: Mapping[str, Choice], items: tuple[Comparison, ...]) -> None:
    strangers = sorted(set(choices) - {item.key for item in items})
    if strangers:
        raise PlanError(
            "no sheet has this item.", subject=strangers[0], stands="Nothing was chosen for it."
        )


def _can_be_given(item: Comparison) -> bool:
    """An area that the unit doesn't hold can be given to it; one that it was left with, somebody took."""
    return (
        item.found is None
        and item.planned is not None
        and item.as_left is None
        and item.key.startswith("areas.")
    )


def _without_none(items: Mapping[str, Value | None]) -> Sheet:
    return {key: value for key, value in items.items() if value is not None}


def _without_outline(sheet: Sheet) -> tuple[str, ...]:
    keys = {key.rsplit(".", 1)[0] for key in sheet if key.startswith("areas.")}
    lacking = sorted(key for key in keys if f"{key}.outline" not in sheet)
    return tuple(key.removeprefix("areas.") for key in lacking)
