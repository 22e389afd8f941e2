"""What to practise next: evidence, limits, readiness, the plan. Pure."""
