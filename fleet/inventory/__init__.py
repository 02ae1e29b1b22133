"""What is kept: tables, unit of work, journal, recordings, backup and upgrade."""
