"""Walk, still, soak and bleed-through: a recording in, a verdict with its bound out."""
