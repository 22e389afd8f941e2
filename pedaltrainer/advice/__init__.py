"""Advice: what the neck finds, as a player reads it: in words, in boxes of letters, as plain data. Pure."""
