"""The log looked after: merged, checked, repaired, exported and imported."""
