"""A room, a floor or a unit's view as plain primitives in mm with hatch names."""
