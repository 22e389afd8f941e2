"""A session: `step(state, event) -> (state, effects)`, and what it is made of. Pure."""
