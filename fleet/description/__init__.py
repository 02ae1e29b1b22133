"""The open unit interface without input or output.

Theory of operation
===================

1. A unit describes itself in a W3C Thing Description 1.1 (TD). The bytes come from a stranger:
   `documents` bounds and parses them, `reading` turns them into a `things.Thing`.
2. Nothing is found by name. Affordances and nested fields are found by their expanded `@type`
   (`expansion`, `vocabulary`); a context is never fetched, so only inline prefixes count.
3. Every request address is built on the description's own origin (`forms`). A form that points
   elsewhere has its path and query put there, and says where it pointed; it can't leave. A broker is
   spoken to only if a person named it, or the unit came by it (`origins`, `topics`).
4. A schema is copied keyword by keyword (`schemas`), so what is left can be validated without a
   fetch, a crash or an endless search. Values cross into our integers in `units` and `values`.
5. What arrives on a stream goes through `event_stream` (WHATWG) and `frames` (reports), which
   count nonsense as complaints and never fail on it.
6. A property may be put together from others, reading by reading or setting by setting (`parts`,
   `assembly`, `gathering`), and is written part by part in an order that does no harm (`edges`,
   `write_order`). Whatever a unit says, known or not, can be worded (`everything`).
7. `requests` makes requests as values, `publications` messages to a broker; whoever sends them lives
   elsewhere.
8. A unit without a description gets one by a profile (`profiles`): a Thing Model filled with what it
   says (`matching`, `filling`) and read like any other. A person wrote it, so `profile_check` answers
   each mistake with its line.
9. Whatever a person will read has passed `texts.plain_text`.
"""
