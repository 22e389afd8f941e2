"""Made-up players, and hands that learn. Pure but for the thread that presses."""
