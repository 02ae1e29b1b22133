"""What is left to do, pure: comparison, build drift and waves, changes, area sets, checklists."""
