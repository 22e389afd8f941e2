"""Home: its pages as rows, and a walk through them as a view. Pure."""
