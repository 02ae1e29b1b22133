"""Invented houses for tests: the demo house's values, and a maker of other houses."""
