"""What the rest needs of the system: files written whole, libraries kept quiet."""
