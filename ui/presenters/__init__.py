"""What a screen shows, as plain Python; no widgets."""
