"""The one door between the engine's thread and Qt."""
