"""What things are: frozen values and their rules. No input or output, no clock of its own."""
