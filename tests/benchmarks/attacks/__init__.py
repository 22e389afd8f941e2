"""Hostile and odd input by the thousand: command lines, files and logs, each drawn by seed and number."""
