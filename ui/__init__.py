"""The workbench: the window on a house, over the same engine as the command line."""
