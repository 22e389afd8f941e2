"""Notes, chord symbols, their spelling, tunings. Pure."""
