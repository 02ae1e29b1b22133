"""Cautions that stand in every record, in the order in which they are read."""

CAUTIONS: tuple[str, ...] = (
    "This is not a life-safety, intruder-alarm, medical or fall-alert system.",
    "Local codes, the maker's instructions and licensed practice come before anything written here.",
    "Mains work, and where a unit may be fixed in a bathroom, are for a qualified person only.",
    "Ladders: light work, short, three points of contact, and somebody told where you are.",
    "People who live, work or stay here are to be told what is sensed, and where.",
    "Movements and breathing can reveal habits and health: none of their recordings is in this record.",
    "Recordings are for commissioning only, and are purged after 30 days or at sign-off.",
)
