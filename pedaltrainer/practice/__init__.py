"""Practice: drills, takes and ladders. Pure."""
