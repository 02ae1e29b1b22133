"""The cautions of the trade, as they stand where units are planned and placed, and with the record."""

from fleet.record.cautions import CAUTIONS

PURPOSE = (
    "Presence units are no life-safety, intruder-alarm, medical or fall-alert system. "
    "Local codes, the maker's instructions and licensed practice win."
)
PLACING = (
    "Mains work and the place of a unit in a bathroom: only by a qualified person.",
    "Ladder: light work, short, three points of contact, and somebody knows where you are.",
    "The people who live, work or stay here are told what is sensed.",
)
VITAL_SIGN = (
    "Breathing data can reveal habits and health: a vital-sign module is no medical equipment."
)


def placing_cautions(module_type: str) -> tuple[str, ...]:
    """Return what is shown where a unit of a module type is placed."""
    vital = (VITAL_SIGN,) if module_type == "vital-sign" else ()
    return (PURPOSE, *PLACING, *vital)


def record_cautions() -> tuple[str, ...]:
    """Return what is shown where a record is issued: what the record itself will say."""
    return CAUTIONS
