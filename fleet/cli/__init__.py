"""The command line: one module a verb, and `main`, which picks one."""
