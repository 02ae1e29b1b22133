"""The running visit: the loop, the live state and every apply; the only place where parts meet."""
