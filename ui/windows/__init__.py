"""The workbench window and its dialogs."""
