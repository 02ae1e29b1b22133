"""The hand-over record: content, layout, signing, checking and exports."""
