"""From the log to what is known: of each drill, for today, for a report."""
