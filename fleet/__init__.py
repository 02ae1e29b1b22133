"""The fleet of presence units of a property, without a screen: model, engine and command line."""
