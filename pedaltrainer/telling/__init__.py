"""Advice: what neck, songs and plan have found, as a player reads it: in words, letters, plain data. Pure."""
