"""Home on the stage: the house, the table of its places, and who ushers through it."""
