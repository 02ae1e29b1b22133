"""House tree, plan canvas, target plot, compare table, checklist and progress."""
