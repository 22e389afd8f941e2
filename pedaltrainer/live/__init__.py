"""Where threads, devices, the clock and the log meet."""
