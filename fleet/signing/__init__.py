"""What is signed and how: canonical JSON, Ed25519, fingerprints; pure, below all that signs or checks."""
