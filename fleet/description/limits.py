"""How much of a stranger's input is read at all.

A full description of a rich unit is about 20 KiB with some 20 affordances and nests about 14 deep;
the limits leave an order of magnitude and stop what could only be an accident or an attack.
"""

MAX_DOCUMENT_BYTES = 256 * 1024
"""The longest description or property value, bytes."""

MAX_DEPTH = 64
"""How deep arrays and objects may nest."""

MAX_INTEGER_DIGITS = 20
"""Digits of the longest integer: an unsigned 64-bit value has 20."""

MAX_AFFORDANCES = 512
"""Properties, actions and events of one description, taken together."""

MAX_FORMS = 64
"""Forms of one affordance; a general-purpose server repeats each for every interface it has."""

MAX_HREF_CHARS = 2048
"""The longest address of a form."""

MAX_TEMPLATE_VARIABLES = 16
"""Variables in one URI template."""

MAX_SECURITY_OPTIONS = 16
"""Ways to be let in that one description may offer."""

MAX_SECURITY_NESTING = 2
"""How deep `combo` may name further `combo`; each level multiplies what has to be looked at."""

MAX_COMPLAINTS = 32
"""Complaints kept of one description; the rest would say the same."""

MAX_PATTERN_CHARS = 128
"""The longest regular expression of a schema that is checked here."""

MAX_FACTOR = 1e9
"""The largest `pres:factor`, and the largest divisor: nanometres would be one."""

MAX_WORDS = 64
"""Words of one schema that mean something to us."""

MAX_WORD_CHARS = 64
"""The longest such word."""

MAX_PARTS = 256
"""Parts of one property that is put together: 30 areas of 8 numbers each are 240."""

MAX_POINTER_CHARS = 256
"""The longest JSON pointer to where a part goes."""

MAX_LIST_PLACES = 64
"""Entries of a list that is put together."""

MAX_SAID = 2000
"""Single values of one property that are worded; the rest are counted."""

MAX_SAID_CHARS = 2000
"""The longest such value in words: a text is kept at length here, and cut where it is shown."""

MAX_TEXT_CHARS = 200
"""The longest text of a unit that is shown to a person."""

MAX_REPORT_BYTES = 64 * 1024
"""The longest report, bytes."""

MAX_TARGETS = 64
"""Targets in one report where the description names no number of its own."""

MAX_AREAS = 256
"""Areas in one occupancy report."""

MAX_EVENT_BYTES = 128 * 1024
"""The longest event of a stream, bytes, its field names and line ends included."""

MAX_RETRY_DIGITS = 9
"""Digits of the longest reconnection time, ms, that is believed: eleven days."""

MAX_VERTICES = 256
"""Corners of one area."""

MAX_PLACE_MM = 100_000
"""How far off a target may be: a report from 100 m away is no presence radar's."""

MAX_ANGLE_MDEG = 360_000
"""How far to either side a target's bearing may be written: -90° and 270° are the same."""

MAX_SPEED_MM_S = 100_000
"""How fast a target may be: 100 m/s."""

MAX_REPORT_NUMBER = 2**53 - 1
"""The largest report number that every JSON parser carries exactly."""

MAX_TOPIC_BYTES = 1024
"""The longest topic of a broker; the protocol allows 65,535, and nobody names a unit at such length."""

MAX_PLACEHOLDERS = 64
"""Placeholders of one unit profile."""

MAX_PLACEHOLDER_CHARS = 200
"""The longest value that a unit may put into a placeholder."""
