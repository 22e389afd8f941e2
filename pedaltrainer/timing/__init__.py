"""Timing: the beat grid, the click's sounds, the audio stream and the map between its clock and ours."""
